"""The virtual board's cable: pulled, put back, held by one client at a time."""

import contextlib
import os
import time

import pytest
from mpremote.transport_serial import SerialTransport
from serial import SerialException


@pytest.mark.parametrize("power_too", [False, True])
def test_the_cable_pulled_in_mid_transfer_takes_the_port_and_leaves_the_old_file(start, talk, power_too):
    board = start(files={"kept.txt": b"old"})
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    board.unplug(after_bytes=700, power_too=power_too)
    with pytest.raises(Exception) as fault:  # noqa: PT011 - what a vanished port raises depends on the moment
        link.exec("f = open('kept.txt', 'wb')\nw = f.write")
        for _ in range(50):
            link.exec("w(" + repr(b"new" * 60) + ")")
    assert not isinstance(fault.value, AssertionError) and board.port is None
    board.plug()
    again = talk(board)
    again.enter_raw_repl(soft_reset=False)
    assert again.fs_readfile("kept.txt") == b"old" if power_too else again.eval("1") == 1
    assert board.log[:2] == ["power on", "unplugged"]


def test_a_link_keeps_its_name_while_the_terminal_changes(start, tmp_path):
    link = tmp_path / "board"
    board = start(link=link)
    assert os.readlink(link) == board.port
    board.unplug()
    assert not link.is_symlink()
    holder = os.openpty()  # so that the number is taken
    board.plug()
    assert os.readlink(link) == board.port
    for fd in holder:
        os.close(fd)


def test_the_bootloader_takes_the_port_away_until_a_reset(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    # The port may be gone before its answer is read, as on a real cable.
    with contextlib.suppress(SerialException):
        link.exec_raw_no_follow("import machine\nmachine.bootloader()")
    assert board.wait(lambda: board.port is None) and board.log[-1] == "bootloader"
    board.plug()
    again = talk(board)
    again.enter_raw_repl(soft_reset=False)
    assert again.eval("1") == 1


def test_only_one_client_at_a_time(start, talk):
    for tcp in (None, 0):
        board = start(tcp=tcp)
        first = talk(board)
        first.enter_raw_repl(soft_reset=False)
        if tcp is None:
            from mpremote.transport import TransportError

            with pytest.raises(TransportError):
                SerialTransport(board.port, timeout=1)
        else:
            second = talk(board)
            time.sleep(0.1)
            with pytest.raises(OSError, match="disconnected"):
                second.serial.read(1)
        assert first.eval("1") == 1
