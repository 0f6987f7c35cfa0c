"""Service mode on the virtual board, in MicroPython: when it begins, when it ends, what a person may pump."""

import math
import shutil
import time

import pytest
import serial
from potreeve.logic import commanded, ledger, limits, reasons, timekeep
from potreeve.logic import settings as settings_logic
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link.port import open_board
from potreeve_tools.owner import commission
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.rigfile import load_rig
from service_kit import rested

BOARD = boards.load("rp2040_wifi").device_dict()


@pytest.fixture(scope="module")
def ready_image(tmp_path_factory):
    path = tmp_path_factory.mktemp("ready") / "ready.img"
    imagefile.install(path, BOARD, commission.make_settings(load_rig(), BOARD, 1))
    return path


@pytest.fixture
def start(tmp_path, ready_image):
    made = []

    def make(files=None, **options):
        image = tmp_path / f"{len(made)}.img"
        shutil.copy(ready_image, image)
        if files:
            with imagefile.Image(image, BOARD["flash"]) as opened:
                for name, data in files.items():
                    opened.write(name, data)
        made.append(VirtualBoard(image=image, **options))
        return made[-1].start()

    yield make
    for board in made:
        board.stop()


def mark_of(board):
    board.stop()
    with imagefile.Image(board.image, BOARD["flash"]) as image:
        return image.read("data/service")


def tends(board, timeout_s=20):
    """The app's watchdog runs, no timer feeds it, and that lasts: service that ends stops its timer just before it
    restarts."""

    def seen():
        return board.chip.wdt_ms == BOARD["wdt_max_ms"] and not board.chip.timers

    until = time.monotonic() + timeout_s
    while board.wait(seen, until - time.monotonic()):
        starts = len(board.log)
        if not board.wait(lambda: len(board.log) > starts or not seen(), 0.5):
            return True
    return False


def serves(board, timeout_s=10):
    """Both LEDs blink together, and a timer feeds the watchdog."""
    return board.wait(
        lambda: board.wiring.led("ok") and board.wiring.led("warn") and board.chip.timers and board.chip.wdt_ms,
        timeout_s,
    )


class Console:
    """What the board prints, gathered while nobody talks to it."""

    def __init__(self, board):
        self.port = serial.Serial(board.port, timeout=0.05)
        self.text = b""

    def shows(self, words, times=1, timeout_s=10):
        until = time.monotonic() + timeout_s
        while self.text.count(words) < times and time.monotonic() < until:
            self.text += self.port.read(4096)
        return self.text.count(words) == times


# Time passes only in its sleeps, and those are over at once.
STEPPED = {"awake": 0, "asleep": math.inf}


def test_usb_at_boot_means_service_for_a_while_and_then_tending(start):
    board = start(**STEPPED)
    console = Console(board)
    assert tends(board) and console.shows(b"service mode, pumps are off")
    assert board.log[:2] == ["power on", "reset"] and 300 <= board.time.now_us() / 1e6
    board.hard_reset()
    assert tends(board) and console.shows(b"service mode, pumps are off"), "called again though USB was never absent"
    assert board.log == ["power on", "reset", "reset"] and mark_of(board) == b"left"


def causes_of(board):
    """What each record of the board's log says its wake began with."""
    from potreeve.logic import record, recorded, segments

    with imagefile.Image(board.image, BOARD["flash"]) as image:
        data = image.files()["data/" + segments.name(1)]
    lines = data[segments.HEAD_BYTES :]
    return [
        recorded.decode(lines[at : at + record.RECORD_BYTES])[0]["cause"]
        for at in range(0, len(lines), record.RECORD_BYTES)
    ]


@pytest.mark.parametrize("files, cause", [({}, timekeep.POWER_ON), ({"data/service": b"leaving"}, timekeep.BUTTON)])
def test_the_start_that_ends_service_is_not_held_against_the_board(start, files, cause):
    """Else a person who talks to it a few times in an afternoon would find it held for starting over too often."""
    board = start(files, usb=False, awake=0, asleep=600.0)
    assert tends(board) and board.wait(lambda: board.asleep)
    board.stop()
    assert causes_of(board)[0] == cause


def test_usb_that_comes_while_it_tends_leads_into_service_at_the_next_wake(start):
    board = start(usb=False, awake=0, asleep=600.0)
    console = Console(board)
    assert (
        tends(board)
        and board.wait(lambda: board.asleep)
        and not console.shows(b"service mode, pumps are off", timeout_s=0)
    )
    began_us = board.time.now_us()
    board.do(setattr, board.wiring, "usb", True)
    assert console.shows(b"service mode, pumps are off"), board.log
    # The cable ends the sleep; the service that follows lasts five minutes.
    assert board.time.now_us() - began_us < 400e6
    assert board.wait(lambda: board.log == ["power on", "reset", "reset"]), board.log
    assert tends(board) and mark_of(board) == b"left"


def test_usb_that_goes_and_comes_again_is_a_new_call(start):
    board = start({"data/service": b"left"}, awake=0, asleep=3600.0)
    console = Console(board)
    assert tends(board) and not console.shows(b"service mode, pumps are off", timeout_s=0)
    board.do(setattr, board.wiring, "usb", False)
    began_us = board.time.now_us()
    # Two wakes, to be sure of one whole one without USB.
    assert board.wait(lambda: board.time.now_us() - began_us > 7200e6, 90)
    board.do(setattr, board.wiring, "usb", True)
    assert console.shows(b"service mode, pumps are off"), board.log


def test_the_button_held_at_boot_means_service_and_a_short_press_does_not(start):
    board = start(usb=False, awake=5.0)
    board.press(60_000)
    board.hard_reset()
    assert serves(board)
    other = start(usb=False, awake=5.0)
    other.press(400)
    other.hard_reset()
    assert tends(other)


def test_a_mark_asks_for_service_once(start):
    board = start({"data/service": b"asked"}, usb=False, **STEPPED)
    console = Console(board)
    assert console.shows(b"service mode, pumps are off")
    assert tends(board) and 900 <= board.time.now_us() / 1e6
    # So soon after the start USB need not be seen yet, so that it was left may still stand there.
    assert mark_of(board) in (None, b"left")


def test_at_the_prompt_the_countdown_goes_on_and_whoever_talks_sets_it_back(start):
    board = start(awake=1.0)
    assert serves(board)
    with open_board(board.port) as link:
        assert link.run("from potreeve import service\nanswer = service._running.left_s") > 800
        link.run("service._running.left_s = 2")
        link.touch()
        assert link.run("answer = service._running.left_s") > 800
        link.run("service._running.left_s = 3")
    assert board.wait(lambda: not board.running) and board.log == ["power on"]
    assert tends(board, 10) and board.log == ["power on", "reset"]


def pump(link, *args):
    return link.run(f"from potreeve import service\nanswer = service.pump({', '.join(map(str, args))})", timeout_s=20)


def test_a_board_new_to_its_settings_pumps_only_into_a_cup_and_only_after_a_press(start):
    board = start(awake=8.0)
    with open_board(board.port) as link:
        assert pump(link, 0, 3000)["ms"] == 0 and pump(link, 0, 3000, 1)["reason"] in (reasons.POT_DAY, reasons.RIG_DAY)
        assert board.wiring.pulses == []
        board.press(300)
        assert board.wait(lambda: link.run("answer = service._running.cup_left_ms[0]") == commanded.CUP_MS)
        done = pump(link, 0, 3000, 1)
        assert done["reason"] == 0 and done["cup"] == 1 and 2990 <= done["ms"] <= 3500 and done["sag_mv"] > 3000
        assert len(board.wiring.pulses) == 1 and board.wiring.pulses[0][0] == 0
        total_ms = sum(pump(link, 0, 3000, 1)["ms"] for _ in range(6)) + done["ms"]
        assert total_ms <= commanded.CUP_MS + 1500 and pump(link, 9, 100)["reason"] == reasons.NO_SETTINGS


def test_one_drop_a_pot_for_a_press(start):
    board = start(awake=4.0)
    memory = rested()
    with open_board(board.port) as link:
        settings = settings_of(board)
        limits.fill_day(memory.pots, settings)
        link.write_file("data/ledger.a", ledger.encode(7, memory))
        link.remove("data/ledger.b")
        ms = settings["channels"][0]["prime_ms"] + 800
        assert pump(link, 0, ms, 2)["reason"] in (reasons.POT_DAY, reasons.RIG_DAY), "nobody has pressed"
        board.press(300)
        assert board.wait(lambda: link.run("answer = service._running.cup_left_ms[0]") == commanded.CUP_MS)
        assert pump(link, 0, ms, 2)["ms"] >= ms and pump(link, 0, ms, 2)["ms"] == 0
        assert pump(link, 1, settings["channels"][1]["prime_ms"] + 800, 2)["ms"] > 0
        stored = ledger.choose(link.read_file("data/ledger.a"), link.read_file("data/ledger.b"))[0]
    assert len(board.wiring.pulses) == 2 and stored.rig.tray_ul > 5000 * 2


def settings_of(board):
    import json

    with imagefile.Image(shutil.copy(board.image, f"{board.image}.copy"), BOARD["flash"]) as image:
        return settings_logic.check(json.loads(image.read("data/settings.json")))[0]


def test_a_pulse_cut_short_by_a_power_failure_counts_in_full(start):
    board = start()
    memory = rested()
    with open_board(board.port) as link:
        link.write_file("data/ledger.a", ledger.encode(7, memory))
        link.remove("data/ledger.b")
        link._no_answer("from potreeve import service\nservice.pump(0, 2000)")
        assert board.wait(lambda: board.wiring.running == [0])
        board.unplug(power_too=True)
        link.drop()
    board.stop()
    assert board.wiring.pulses[0][1] < 2000
    with imagefile.Image(board.image, BOARD["flash"]) as image:
        stored = ledger.choose(image.read("data/ledger.a"), image.read("data/ledger.b"))[0]
    assert stored.pots[0].intent_ms == 2000 and limits.spent_ul(stored.pots[0]) > 5000 and stored.rig.tray_ul > 5000


def test_without_settings_nothing_is_pumped(start):
    board = start({"data/settings.json": b"{"})
    with open_board(board.port) as link:
        board.press(300)
        assert (
            pump(link, 0, 1000, 1) == {"ms": 0, "reason": reasons.NO_SETTINGS, "sag_mv": 0, "cup": 0}
            and board.wiring.pulses == []
        )


def test_a_full_ledger_refuses_before_anything_runs(start):
    board = start()
    with open_board(board.port) as link:
        board.press(300)
        link.run("from potreeve import keep\nkeep.Ledger.save = lambda self, state: False")
        assert pump(link, 0, 1000, 1)["ms"] == 0 and board.wiring.pulses == []


@pytest.mark.parametrize("name", ["esp32", "latched"])
def test_service_ends_in_tending_on_boards_that_forget(tmp_path, name):
    device = boards.load(name).device_dict()
    image = tmp_path / "x.img"
    imagefile.install(image, device, commission.make_settings(load_rig(), device, 1), {"data/service": b"asked"})
    with VirtualBoard(name, image=image, usb=False, **STEPPED) as board:
        assert board.wait(lambda: board.log.count("woke") >= 3, 30), board.log
        assert 900 <= board.time.now_us() / 1e6 and "watchdog" not in board.log and "fault" not in board.log


def test_a_latched_board_serves_longer_than_its_watchdog_would_wait(start):
    """The watchdog of the wake before survives the soft reset that begins service, and bit while a person typed."""
    board = start({"data/service": b"asked"}, board="latched", awake=0)
    assert serves(board)
    began_us = board.time.now_us()
    assert board.wait(lambda: board.time.now_us() - began_us > 60e6, 20)
    assert serves(board) and "watchdog" not in board.log


def test_the_wall_clock_outlives_the_restart_that_ends_service(start):
    """machine.reset() sets an RP2's clock back to 2021; the first record after service had no date."""
    board = start(awake=1.0)
    assert serves(board)
    with open_board(board.port, leave="tend"):
        assert board.world.clock.known
    assert tends(board) and board.log == ["power on", "reset"], board.log
    off_s = board.do(lambda: board.world.clock.utc_s(board.wiring.follow())) - time.time()
    assert abs(off_s) < 60, off_s
    # It is handed on once: a reset nobody planned hours later must not take it for now.
    board.skip(30)
    board.hard_reset()
    assert board.wait(lambda: len(board.log) > 2)
    board.wait(lambda: False, 2)
    assert not board.do(lambda: board.world.clock.utc_s(board.wiring.follow()))
