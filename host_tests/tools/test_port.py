"""The conversation with a board: every way it begins, goes wrong and ends, each with a plain sentence and the next
step."""

import errno
import math
import os
import shutil
import socket
import time
from types import SimpleNamespace

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link import faults, find
from potreeve_tools.link.port import Board, open_board
from potreeve_tools.owner import commission
from potreeve_tools.terminal import exits
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.rigfile import load_rig

STEPPED = {"awake": 0, "asleep": math.inf}


@pytest.fixture(scope="session")
def ready_image(tmp_path_factory):
    """An image with firmware, board file and settings."""
    board = boards.load("rp2040_wifi").device_dict()
    path = tmp_path_factory.mktemp("ready") / "ready.img"
    imagefile.install(path, board, commission.make_settings(load_rig(), board, 1))
    return path


@pytest.fixture
def start(tmp_path, ready_image):
    """start(ready=False, **options) -> a running VirtualBoard."""
    made = []

    def make(ready=False, **options):
        image = tmp_path / f"{len(made)}.img"
        if ready:
            shutil.copy(ready_image, image)
        made.append(VirtualBoard(image=image, **options))
        return made[-1].start()

    yield make
    for board in made:
        board.stop()


def stopped(code, call, *args, **options):
    """The text of the Stop that call raises; it has the code, and a sentence and a next step."""
    with pytest.raises(exits.Stop) as stop:
        call(*args, **options)
    assert stop.value.code == code and len(stop.value.lines) >= 2
    text = str(stop.value)
    assert "Traceback" not in text and "Errno" not in text
    return text


# ---- before there is a connection


def ports(*numbers):
    return [
        SimpleNamespace(device=f"/dev/ttyACM{n}", vid=vid, pid=5, serial_number=f"S{n}", description="thing")
        for n, vid in enumerate(numbers)
    ]


def test_the_only_board_is_found_and_a_choice_is_shown():
    assert find.find_port(ports(0x2E8A)) == "/dev/ttyACM0"
    assert find.find_port(ports(None, 0x046D, 0x303A)) == "/dev/ttyACM2"
    none = stopped(exits.NO_DEVICE, find.find_port, ports(None, 0x046D))
    assert "no board found" in none and "virtual-board" in none
    two = stopped(exits.NO_DEVICE, find.find_port, ports(0x1A86, 0x2E8A))
    assert "2 boards" in two and "--port /dev/ttyACM1" in two and "S0" in two
    assert two.index("ttyACM1") < two.index("ttyACM0")
    assert find.device_of("S1", ports(0x2E8A, 0x2E8A)) == "/dev/ttyACM1" and find.device_of(None, ports(1)) is None


def test_a_port_that_is_not_there():
    assert "no such port" in stopped(exits.NO_DEVICE, open_board, "/dev/nothing_of_that_name")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        number = free.getsockname()[1]
    assert "nothing listens" in stopped(exits.NO_DEVICE, open_board, f"socket://127.0.0.1:{number}")
    assert "can't be opened" in stopped(exits.NO_DEVICE, open_board, "gopher://x")


@pytest.mark.parametrize(
    "number, words", [(errno.EACCES, "no permission"), (errno.EBUSY, "another program"), (errno.ENOENT, "no such port")]
)
def test_each_refusal_of_the_system_has_its_own_words(number, words):
    fault = faults.cannot_open("/dev/x", OSError(number, os.strerror(number)))
    assert fault.code == exits.NO_DEVICE and words in fault.lines[0] and len(fault.lines) == 2


def test_another_program_on_the_port(start):
    board = start(**STEPPED)
    with open_board(board.port):
        assert "another program holds the port" in stopped(exits.NO_DEVICE, open_board, board.port)


def test_nobody_answers(start):
    master, slave = os.openpty()
    said = []
    began = time.monotonic()
    text = stopped(exits.NO_ANSWER, open_board, os.ttyname(slave), say=said.append, wait_s=1.5)
    assert "no answer" in text and "button" in text and 1.4 < time.monotonic() - began < 6
    assert len(said) == 1 and "asleep or busy" in said[0]
    os.close(master)
    os.close(slave)


# ---- a blank board


@pytest.mark.parametrize("tcp", [None, 0])
def test_a_blank_board_says_what_it_is(start, tcp):
    board = start(tcp=tcp, **STEPPED)
    with open_board(board.port) as link:
        assert (
            link.info["version"] == [1, 29, 0] and link.info["build"] == "RPI_PICO_W" and link.info["platform"] == "rp2"
        )
        assert not link.info["firmware"] and not link.info["serving"] and link.info["board"] is None
        assert bytes.fromhex(link.info["id"]).decode() == board.serial
        assert link.run("answer = a + b", a=40, b=2) == 42 and link.run("print('words')") is None
    assert board.log == ["power on"]


def test_files_go_there_and_back_in_few_round_trips(start):
    data = os.urandom(50_000)
    with open_board(start(**STEPPED).port) as link:
        seen, before = [], link.traffic.round_trips
        link.write_file("deep/er/x.bin", data, progress=lambda done, of: seen.append((done, of)))
        assert link.traffic.round_trips - before == math.ceil(len(data) / 2048)
        assert seen[-1] == (len(data), len(data)) and seen == sorted(seen)
        before = link.traffic.round_trips
        assert (
            link.read_file("deep/er/x.bin") == data
            and link.read_file("deep/er/x.bin", 49_990, 4) == data[49_990:49_994]
        )
        assert link.read_file("none") is None and link.traffic.round_trips - before == 3
        link.write_file("empty", b"")
        before = link.traffic.round_trips
        digests = link.hashes(["deep/er/x.bin", "empty", "none"])
        assert link.traffic.round_trips - before == 1 and digests["none"] is None
        assert digests["deep/er/x.bin"] == __import__("hashlib").sha256(data).hexdigest()
        assert link.list_files() == {"deep/er/x.bin": len(data), "empty": 0}
        assert link.remove("empty") is True and link.remove("empty") is False
        assert (
            link.traffic.bytes_out > len(data) and link.traffic.bytes_in > len(data) and 0 < link.traffic.seconds < 30
        )


def test_what_does_not_arrive_whole_is_not_put_in_place(start):
    with open_board(start(**STEPPED).port) as link:
        link.write_file("x", b"old")
        link.run("_true = _hash\n_hash = lambda n: 'damaged'")
        assert "did not arrive" in stopped(exits.NOT_VERIFIED, link.write_file, "x", b"new")
        link.run("_hash = _true")
        assert link.read_file("x") == b"old"


def test_a_fault_of_the_board_is_told_and_its_details_are_kept(start, tmp_path):
    with open_board(start(**STEPPED).port) as link:
        with pytest.raises(faults.DeviceFault) as fault:
            link.run("1 / 0", doing="dividing")
        assert (
            fault.value.kind == "ZeroDivisionError"
            and "while dividing" in str(fault.value)
            and fault.value.code == exits.FAILED
        )
        details = next((tmp_path / "state").rglob("board-*.txt"))
        assert str(details) in str(fault.value) and "Traceback" in details.read_text()
        link.run("f = open('fill', 'wb')\nfor _ in range(200): f.write(bytes(4096))\nf.close()", timeout_s=30)
        text = stopped(exits.FAILED, link.write_file, "big", bytes(60_000))
        assert "file system is full" in text
        assert link.list_files() == {"fill": 200 * 4096} and link.run("answer = os.statvfs('/')[3]") >= 6


@pytest.mark.parametrize("power_too", [False, True])
def test_the_cable_out_in_mid_file_leaves_the_old_one_and_it_can_be_done_again(start, power_too):
    board = start(**STEPPED)
    with open_board(board.port) as link:
        link.write_file("x", b"old")
        board.unplug(after_bytes=9_000, power_too=power_too)
        assert "broke off" in stopped(exits.NO_ANSWER, link.write_file, "x", bytes(20_000))
    board.plug()
    with open_board(board.port) as link:
        assert link.read_file("x") == b"old"
        link.write_file("x", bytes(20_000))
        assert link.read_file("x") == bytes(20_000) and link.list_files() == {"x": 20_000}


def test_a_board_that_hangs_is_given_up(start):
    with open_board(start(**STEPPED).port) as link:
        assert "stopped answering while hanging" in stopped(
            exits.NO_ANSWER, link.run, "while True: pass", doing="hanging", timeout_s=0.3
        )


# ---- a board with firmware


def outlasts_a_watchdog(link, board):
    """True when none bites in longer than any of them waits."""
    before = board.log.count("watchdog")
    link.run("import time\ntime.sleep(9)", timeout_s=30)
    return board.log.count("watchdog") == before


def test_a_board_in_service_stays_there_and_no_watchdog_bites(start):
    board = start(ready=True, awake=5.0)
    assert board.wait(lambda: board.wiring.led("warn") and board.wiring.led("ok"))
    with open_board(board.port) as link:
        assert link.info["serving"] and link.found_serving and link.info["board"] == "rp2040_wifi"
        assert outlasts_a_watchdog(link, board)
    assert board.log == ["power on"]
    with open_board(board.port) as link:
        assert link.found_serving and link.run("from potreeve import service\nanswer = service.active()")
    assert board.log == ["power on"]


def test_a_board_that_tends_is_taken_into_service_and_left_tending(start):
    board = start(ready=True, usb=False, asleep=3.0)
    assert board.wait(lambda: board.chip.wdt_ms)
    said = []
    with open_board(board.port, say=said.append) as link:
        assert link.info["serving"] and not link.found_serving
        assert board.log[-1] == "reset" and outlasts_a_watchdog(link, board)
        link.write_file("x", bytes(5_000))
    assert board.wait(lambda: board.log.count("reset") >= 2 and board.chip.wdt_ms)
    assert "service" not in [name for name in board.log]


def test_a_board_asleep_is_waited_for_and_the_button_helps(start):
    board = start(ready=True, usb=False, asleep=1.0)
    assert board.wait(lambda: board.asleep, 15)
    said = []

    def press_when_asked(text):
        said.append(text)
        board.press(100)

    with open_board(board.port, say=press_when_asked, wait_s=15) as link:
        assert link.info["serving"]
    assert "button" in said[0]


def test_a_pump_that_runs_is_off_before_anything_else(start):
    board = start(ready=True)
    with open_board(board.port) as link:
        link._no_answer(
            "rig = service_rig = __import__('potreeve.service').service._running.rig\nrig.pumps.pulse(1, 30000, "
            "rig.power.feed)"
        )
        assert board.wait(lambda: board.wiring.running == [1])
        link.drop()
    with open_board(board.port) as link:
        assert board.wiring.running == []
        link.run("from machine import Pin\nPin(10, Pin.OUT, value=1)\nPin(8, Pin.OUT, value=1)")
        assert board.wiring.running == [2]
        link.drop()
    with open_board(board.port) as link:
        assert board.wiring.running == []


def test_damaged_firmware_can_still_be_talked_to(start, tmp_path):
    board = start(ready=True, **STEPPED)
    with open_board(board.port) as link:
        link.write_file("potreeve/service.mpy", b"damaged")
    board.hard_reset()
    with open_board(board.port) as link:
        assert not link.info["serving"] and outlasts_a_watchdog(link, board)


def test_a_restart_comes_back_into_service(start):
    board = start(ready=True)
    with open_board(board.port) as link:
        link.run("kept = 1")
        link.restart()
        assert link.info["serving"] and link.run("answer = 'kept' in globals()") is False
        link.close("tend")
    assert board.wait(lambda: board.chip.wdt_ms, 15)


@pytest.mark.parametrize("moment", ["between", "while it runs", "while it is sent", "while it answers"])
def test_ctrl_c_lets_the_board_go_within_two_seconds(start, moment):
    """A push took 12.7 s to end: the board was asked to leave while it was in the middle of something."""
    board = start(ready=True)
    with pytest.raises(KeyboardInterrupt), open_board(board.port, wait_s=20) as link:
        serial = link._transport.serial
        if moment == "while it runs":
            link._transport.exec_raw_no_follow("import time\nwhile 1: time.sleep_ms(50)")
        elif moment == "while it is sent":
            serial.write(b"\x05A\x01answer = 1\nfor _ in")
        elif moment == "while it answers":
            link._transport.exec_raw_no_follow("for n in range(100000): print('x' * 100)")
        starts, began = board.started, time.monotonic()
        raise KeyboardInterrupt
    assert time.monotonic() - began < 2.0
    assert not board.wiring.running
    if moment != "while it answers":
        # It tends again; one that does not listen ends its service by itself.
        assert board.wait(lambda: board.started > starts, 5), board.log


# ---- the wall clock


def board_time(link):
    return link.run("import time\nanswer=time.time()")


def test_a_board_gets_the_desks_time(start):
    with open_board(start(ready=True).port) as link:
        assert abs(board_time(link) - time.time()) < 5 and link.clock_off_s is None


def test_a_clock_that_was_wrong_is_set_and_that_is_said(start):
    said = []
    board = start(ready=True)
    with open_board(board.port, leave="stay") as link:
        link.run("import potreeve.service as s\ns._running.rig.clock.set_utc(1767300000)")
    with open_board(board.port, said.append) as link:
        assert abs(board_time(link) - time.time()) < 5
        assert abs(link.clock_off_s - (1767300000 - time.time())) < 60
    assert any("clock was" in text and "off; it has" in text for text in said)


@pytest.mark.parametrize("wrong_s", [0, 946684800, 4102444800])
def test_a_desk_with_a_clock_that_can_not_be_right_sets_none(start, monkeypatch, wrong_s):
    board = start(ready=True)
    monkeypatch.setattr("potreeve_tools.link.port.time.time", lambda: wrong_s)
    with open_board(board.port) as link:
        assert abs(board_time(link) - wrong_s) > 1000


# ---- a slow link


class Late(Board):
    """A board that is in service only after so many restarts: on a slow link a Ctrl-C came too early."""

    def __init__(self, restarts, refuses=""):
        super().__init__("slow://", print)
        self.left, self.refuses = restarts, refuses
        self.info = {"serving": False, "refuses": ""}

    def restart(self, wait_s=20.0):
        self.left -= 1
        self.info = {"serving": self.left <= 0 and not self.refuses, "refuses": self.refuses}

    def run(self, code, doing="", timeout_s=0, **given):
        return "1.2.3"


@pytest.mark.parametrize("restarts", [1, 2, 3])
def test_a_flash_that_went_well_does_not_end_with_5_because_the_link_is_slow(restarts):
    from potreeve_tools.link.flash import work

    assert work.start_anew(Late(restarts)) == "1.2.3"


@pytest.mark.parametrize("link", [Late(9), Late(1, "damaged: potreeve/app.mpy")], ids=["never serves", "refuses"])
def test_a_flash_after_which_it_does_not_start_does(link):
    from potreeve_tools.link.flash import work

    with pytest.raises(exits.Stop) as stop:
        work.start_anew(link)
    assert stop.value.code == exits.NOT_VERIFIED and link.left >= 0
