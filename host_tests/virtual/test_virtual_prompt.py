"""The virtual board's prompt, files and resets, seen through mpremote's own transport."""

import time

import pytest
from mpremote.transport import TransportExecError
from potreeve_tools.virtual import imagefile
from virtual_kit import heard

# Every byte value, and more than one block of flash.
AWKWARD = bytes(range(256)) * 20


@pytest.mark.parametrize("tcp", [None, 0])
def test_every_call_of_mpremotes_transport_works(start, talk, tcp):
    link = talk(start(tcp=tcp))
    link.enter_raw_repl(soft_reset=True)
    assert link.exec("print(6 * 7)") == b"42\r\n" and link.eval("[1, 'a', None]") == [1, "a", None]
    with pytest.raises(TransportExecError) as fault:
        link.exec("print('before')\n1 / 0")
    assert "ZeroDivisionError" in fault.value.error_output and "virtual" not in fault.value.error_output
    link.fs_mkdir("folder")
    link.fs_writefile("folder/x.bin", AWKWARD)
    assert link.fs_readfile("folder/x.bin") == AWKWARD and link.fs_stat("folder/x.bin").st_size == len(AWKWARD)
    assert link.fs_hashfile("folder/x.bin", "sha256").hex() == __import__("hashlib").sha256(AWKWARD).hexdigest()
    assert [entry.name for entry in link.fs_listdir("/")] == ["folder"]
    assert link.fs_isdir("folder") and link.fs_exists("folder/x.bin") and not link.fs_exists("nothing")
    link.fs_touchfile("y")
    link.fs_rmfile("y")
    with pytest.raises(FileNotFoundError):
        link.fs_readfile("y")
    link.fs_rmfile("folder/x.bin")
    link.fs_rmdir("folder")
    assert link.fs_listdir("/") == []
    link.exit_raw_repl()
    link.enter_raw_repl(soft_reset=False)
    assert link.eval("1") == 1


def test_without_raw_paste_the_plain_raw_prompt_works(start, talk):
    link = talk(start())
    link.use_raw_paste = False
    link.enter_raw_repl(soft_reset=False)
    assert link.exec("print('x' * 3)") == b"xxx\r\n"


def test_a_blank_board_shows_nothing_of_the_machine_it_runs_on(start, talk):
    link = talk(start())
    link.enter_raw_repl(soft_reset=False)
    assert link.eval("__import__('os').listdir('/')") == []
    assert link.eval("__import__('sys').platform") == "rp2"
    assert link.eval("[x for x in ('getenv', 'system', 'VfsPosix') if hasattr(__import__('os'), x)]") == []
    assert link.eval("__import__('sys').path") == ["", ".frozen", "/lib"]
    stat = link.eval("__import__('os').statvfs('/')")
    assert stat[0] == 4096 and stat[2] == 212
    with pytest.raises(TransportExecError):
        link.exec("open('/etc/passwd')")


def test_it_claims_the_version_and_the_modules_it_is_told_to(start, talk):
    link = talk(start(version=(1, 25, 0), radio=False))
    link.enter_raw_repl(soft_reset=False)
    link.exec("import sys, os")
    assert link.eval("tuple(sys.implementation.version)[:2]") == (1, 25) and link.eval("os.uname().release") == "1.25.0"
    with pytest.raises(TransportExecError):
        link.exec("import network")
    other = talk(start(radio=True))
    other.enter_raw_repl(soft_reset=False)
    assert (
        other.exec("import network\nw = network.WLAN(network.WLAN.IF_STA)\nw.active(True)\nprint(w.isconnected())")
        == b"False\r\n"
    )


def test_a_soft_reset_keeps_pins_and_runs_main_only_from_the_friendly_prompt(start, talk):
    board = start(files={"boot.py": b"print('boot ran')\n", "main.py": b"print('main ran')\n"})
    link = talk(board)
    heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    link.exec("from machine import Pin\nPin(10, Pin.OUT, value=1)\nx = 1")
    link.serial.write(b"\x04")
    said = heard(link, b"raw REPL; CTRL-B to exit\r\n>")
    assert b"MPY: soft reboot\r\nboot ran\r\n" in said and b"main ran" not in said and board.wiring.levels[10] == 1
    link.serial.write(b"\x02")
    heard(link, b">>> ")
    link.serial.write(b"\x04")
    said = heard(link, b">>> ")
    assert b"MPY: soft reboot\r\nboot ran\r\nmain ran\r\n" in said and board.wiring.levels[10] == 1
    link.serial.write(b"x\r")
    assert b"NameError" in heard(link, b">>> ")


def test_a_hard_reset_releases_pins_shows_the_banner_and_starts_main(start, talk):
    board = start(files={"main.py": b"print('main ran')\n"})
    link = talk(board)
    heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    link.exec("from machine import Pin, mem32\nPin(10, Pin.OUT, value=1)")
    link.exec_raw_no_follow("import machine\nmachine.reset()")
    said = heard(link, b">>> ")
    assert b"main ran" in said and b"MicroPython v1.29.0" in said and board.wiring.levels == {}
    assert board.log == ["power on", "reset"]


def test_ctrl_c_interrupts_what_runs_and_leads_to_the_prompt(start, talk):
    board = start(files={"main.py": b"n = 0\nwhile True:\n    n += 1\n"})
    link = talk(board)
    assert board.wait(lambda: board.running)
    time.sleep(0.1)
    link.serial.write(b"\x03")
    assert b"KeyboardInterrupt" in heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    assert link.eval("n > 0")
    link.exec_raw_no_follow("while True: pass")
    time.sleep(0.1)
    link.serial.write(b"\x03")
    assert b"KeyboardInterrupt" in link.follow(5)[1]


def test_files_outlive_power_and_can_be_read_from_the_image(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.fs_writefile("a.txt", b"1")
    board.power_cycle()
    link.enter_raw_repl(soft_reset=False)
    assert link.fs_readfile("a.txt") == b"1"
    board.stop()
    with imagefile.Image(board.image, board.board["flash"]) as image:
        assert image.files() == {"a.txt": b"1"}
