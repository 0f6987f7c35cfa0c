"""Service mode: when it begins, when it ends, and that it gives no water the caps do not allow.

The decisions alone in CPython and in MicroPython; the whole of it on the virtual
board, in MicroPython.
"""

import math
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
import serial
from potreeve.logic import commanded, ledger, limits, reasons, servicing, timekeep
from potreeve.logic import settings as settings_logic
from potreeve.logic.state import HELD, fresh
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link.port import open_board
from potreeve_tools.owner import commission
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.rigfile import load_rig

FIRMWARE = Path(__file__).resolve().parents[2] / "firmware"
BOARD = boards.load("rp2040_wifi").device_dict()
SETTINGS = {
    "tray_headroom_ml": 300,
    "tray_area_cm2": 400,
    "rig_day_ml": 200,
    "battery_kind": "lithium",
    "battery_cells": 1,
    "battery_stop_mv": 3200,
    "channels": [
        {
            "name": name,
            "pot_ml": 1000,
            "holds_ml": 400,
            "pump_ul_s": 10000,
            "pump_spread_pm": 100,
            "pulse_ml": 40,
            "day_ml": 120,
            "pulse_max_ms": 6000,
            "dose_ml": 80,
            "curve": [[50000, 0], [20000, 1000]],
        }
        for name in ("mint", "strawberry", "tomato")
    ],
}
"""Invented."""

# (what, expected) read by both interpreters.
DECISIONS = """
from potreeve.logic import servicing as s, timekeep as t
said = []
for mark in ("", "asked", "usb", "leaving", "left", "nonsense"):
    for held in (0, 1):
        for usb in (0, 1):
            after = s.mark_for_tending(mark, usb, held)
            said.append((mark, held, usb, s.enter(mark, held, usb), after, s.calls(usb, mark)))
said.append([s.idle_s(why) for why in (s.ASKED, s.BUTTON, s.USB)])
said.append([s.cause_of(mark, t.OTHER_RESET) for mark in ("leaving", "left")])
said.append([cause for cause in range(7) if not s.watches_button(cause)])
print(said)
"""


def whole(settings=None):
    clean, found = settings_logic.check(settings or SETTINGS)
    assert not found
    return clean


def rested():
    """A state whose memory is whole."""
    state = fresh(3)
    state.rig.memory = 0
    return state


def test_both_interpreters_decide_alike():
    here, there = (
        subprocess.run([*command, "-c", DECISIONS], capture_output=True, text=True, cwd=FIRMWARE, timeout=60)
        for command in ([sys.executable], [Path(sys.executable).with_name("micropython")])
    )
    assert here.stdout and here.stdout == there.stdout, there.stderr


@pytest.mark.parametrize(
    "mark, held, usb, why",
    [
        ("", 0, 0, servicing.NO),
        ("", 1, 0, servicing.BUTTON),
        ("", 0, 1, servicing.USB),
        ("asked", 0, 0, servicing.ASKED),
        ("leaving", 0, 1, servicing.NO),
        ("left", 0, 1, servicing.NO),
        ("left", 1, 1, servicing.BUTTON),
        ("usb", 0, 1, servicing.USB),
        ("usb", 0, 0, servicing.USB),
    ],
)
def test_what_leads_into_service(mark, held, usb, why):
    assert servicing.enter(mark, held, usb) == why


def test_a_rig_that_lives_from_usb_is_called_once_and_then_tends():
    """Left by time, it is not called again until USB was absent once."""
    mark = servicing.MARK_LEAVING
    for _ in range(3):
        assert servicing.enter(mark, 0, 1) == servicing.NO
        mark = servicing.mark_for_tending(mark, 1, 0)
        assert mark == servicing.MARK_LEFT and not servicing.calls(1, mark)
    # So soon after a reset it need not be seen yet: that is not absent.
    assert servicing.mark_for_tending(mark, 0, 1) == servicing.MARK_LEFT
    mark = servicing.mark_for_tending(mark, 0, 0)
    assert servicing.calls(1, mark) and servicing.enter(mark, 0, 1) == servicing.USB
    assert servicing.idle_s(servicing.USB) < servicing.idle_s(servicing.ASKED)
    assert not servicing.watches_button(timekeep.BUTTON) and servicing.watches_button(timekeep.POWER_ON)


def test_a_pulse_on_command_is_charged_before_it_runs():
    before = rested()
    state, ms, reason, cup = commanded.open_pulse(before, 1, 2000, whole(), 4000, 0)
    assert (ms, reason, cup) == (2000, reasons.NONE, 0) and before.pots[1].intent_ms == 0
    assert state.pots[1].intent_ms == 2000 and limits.spent_ul(state.pots[1]) >= 22_000 and state.rig.tray_ul >= 22_000
    assert commanded.open_pulse(before, 1, 60_000, whole(), 4000, 0)[1] == 6000


@pytest.mark.parametrize(
    "change, reason",
    [
        (lambda s: limits.spend(s.pots[0], 110_000), reasons.POT_DAY),
        (lambda s: (limits.spend(s.pots[1], 100_000), limits.spend(s.pots[2], 90_000)), reasons.RIG_DAY),
        (lambda s: setattr(s.rig, "tray_ul", 290_000), reasons.TRAY),
        (lambda s: setattr(s.rig, "hold", reasons.OWNER), reasons.OWNER),
        (lambda s: setattr(s.rig, "hold", reasons.DAMAGED), reasons.DAMAGED),
        (
            lambda s: (setattr(s.pots[0], "ladder", HELD), setattr(s.pots[0], "reason", reasons.NO_RISE)),
            reasons.NO_RISE,
        ),
        # A lost memory counts every cap as reached.
        (lambda s: setattr(s.rig, "memory", 2), reasons.RIG_DAY),
    ],
)
def test_what_refuses_a_pulse_says_so_and_charges_nothing(change, reason):
    before = rested()
    change(before)
    spent = sum(limits.spent_ul(pot) for pot in before.pots)
    state, ms, why, _ = commanded.open_pulse(before, 0, 3000, whole(), 4000, 0)
    assert (ms, why) == (0, reason) and state.pots[0].intent_ms == 0
    assert before.rig.memory == 2 or sum(limits.spent_ul(pot) for pot in state.pots) == spent


@pytest.mark.parametrize("battery_mv", [0, 3000])
def test_a_battery_that_is_low_or_unknown_refuses(battery_mv):
    assert commanded.open_pulse(rested(), 0, 3000, whole(), battery_mv, 0)[1:3] == (0, reasons.BATTERY)


def test_no_run_of_commands_exceeds_a_cap():
    state, given_ul = rested(), [0, 0, 0]
    for n in range(200):
        state, ms, _, _ = commanded.open_pulse(state, n % 3, 700 + 137 * n % 5000, whole(), 4000, 0)
        # The fastest this pump may be.
        given_ul[n % 3] += ms * 11
        state.pots[n % 3].intent_ms = 0
    assert max(given_ul) <= 120_000 and sum(given_ul) <= 200_000 and state.rig.tray_ul <= 300_000
    assert sum(given_ul) > 150_000


def test_a_cup_takes_what_the_caps_leave_no_room_for_but_no_more_than_a_press_allows():
    state = rested()
    limits.spend(state.pots[0], 120_000)
    assert commanded.open_pulse(state, 0, 5000, whole(), 4000, 4000)[1:3] == (0, reasons.POT_DAY)
    after, ms, _, cup = commanded.open_pulse(state, 0, 5000, whole(), 4000, 5000)
    assert (ms, cup) == (5000, 1) and after.rig.tray_ul == state.rig.tray_ul
    assert limits.spent_ul(after.pots[0]) > limits.spent_ul(state.pots[0])
    assert commanded.open_pulse(state, 0, 5000, whole(), 0, 5000)[2] == reasons.BATTERY
    # Where the caps have room, they are what is used.
    assert commanded.open_pulse(rested(), 0, 2000, whole(), 4000, 5000)[3] == 0


# ---- on the virtual board


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
    from potreeve.logic import record, segments

    with imagefile.Image(board.image, BOARD["flash"]) as image:
        data = image.files()["data/" + segments.name(1)]
    lines = data[segments.HEAD_BYTES :]
    return [
        record.decode(lines[at : at + record.RECORD_BYTES])[0]["cause"]
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
    board = start({"data/service": b"left"}, awake=0, asleep=600.0)
    console = Console(board)
    assert tends(board) and not console.shows(b"service mode, pumps are off", timeout_s=0)
    board.do(setattr, board.wiring, "usb", False)
    began_us = board.time.now_us()
    # Two wakes, to be sure of one whole one without USB.
    assert board.wait(lambda: board.time.now_us() - began_us > 7200e6, 20)
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


def test_first_drops_stay_within_half_of_the_trays_headroom_however_often_somebody_presses():
    """The day counts as given; every drop is charged to pot and tray before it runs."""
    state, given_ul, clean = rested(), 0, whole()
    limits.fill_day(state.pots, clean)
    for n in range(200):
        state, ms, reason, cup = commanded.open_pulse(
            state, n % 3, 300 + 137 * n % 3000, clean, 4000, commanded.CUP_MS, 1
        )
        assert not cup and (ms or reason in (reasons.TRAY, reasons.POT_DAY, reasons.RIG_DAY))
        given_ul += ms * 11
        state.pots[n % 3].intent_ms = 0
    assert 100_000 < given_ul <= 150_000 == clean["tray_headroom_ml"] * 500
    assert state.rig.tray_ul >= given_ul


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


def test_usb_that_is_seen_late_after_a_reset_is_no_loop(start):
    """A restart for it is wanted: it leads into service, once, and is not held against the rig."""
    rig_power = {"cause": timekeep.OTHER_RESET}
    assert servicing.cause_of(servicing.MARK_USB, rig_power["cause"]) not in timekeep.UNPLANNED
    mark = servicing.MARK_USB
    assert servicing.enter(mark, 0, 0) == servicing.USB
    # Service ends by itself, and again the port is not seen at the start, but at the first wake's end.
    mark = servicing.mark_for_tending(servicing.MARK_LEAVING, 0, 1)
    assert not servicing.calls(1, mark)


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


def test_a_computer_that_comes_back_after_the_reset_hears_soon_that_it_serves(monkeypatch):
    from types import ModuleType, SimpleNamespace

    from potreeve import service

    rests = []

    def sleep_ms(ms):
        rests.append(ms)
        if len(rests) == 3:
            raise KeyboardInterrupt

    serving = ModuleType("potreeve.serving")
    serving.Service = lambda rig, why, mark: SimpleNamespace(left_s=900)
    monkeypatch.setitem(sys.modules, "potreeve.serving", serving)
    monkeypatch.setattr("potreeve.serving", serving, raising=False)
    monkeypatch.setattr(service, "_running", None)
    rig = SimpleNamespace(
        pumps=SimpleNamespace(all_off=lambda: None),
        power=SimpleNamespace(start_watchdog=lambda ms: None),
        clock=SimpleNamespace(sleep_ms=sleep_ms),
        board={"wdt_max_ms": 8388},
    )
    with pytest.raises(KeyboardInterrupt):
        service.serve(rig, 1)
    # A port is open again within a fraction of a second; later on nobody wants to read it more often.
    assert rests[0] <= 250 and rests[1] == rests[2] >= 2000
