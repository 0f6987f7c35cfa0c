"""The wall clock from the network: taken from a station that speaks now, where it can be believed."""

import time

import pytest
from listener import Listener
from test_power_cut import Sill, fresh

NOW = 1_795_000_000


@pytest.fixture(scope="module")
def board(room):
    from potreeve_tools.boards import boardfile

    return boardfile.load("esp32").device_dict()


def heard(listener):
    """The rig's last message may be under way yet when it sleeps."""
    until = time.monotonic() + 10
    while not listener.reports:
        assert time.monotonic() < until
        time.sleep(0.01)


def told(room, broker, board, time_s, before_s=0):
    """The rig after one wake in which a station said what time it is; before_s: what its clock said."""
    from potreeve import app

    rig = Sill(fresh(room, broker.port), board)
    rig.set, rig.utc_s = [], before_s
    plain = rig.set_utc

    def set_utc(unix_s):
        rig.set.append(unix_s)
        plain(unix_s)

    rig.set_utc = set_utc
    rig.clock.set_utc = set_utc
    with Listener(broker.port, time_s=time_s) as listener:
        session = app.Session(rig)
        session.sleep(session.wake())
        heard(listener)
    return rig


@pytest.mark.parametrize("before_s", [0, NOW - 3 * 86400, NOW + 90, NOW + 40 * 365 * 86400])
def test_a_clock_that_is_off_is_set(room, broker, board, before_s):
    assert told(room, broker, board, NOW, before_s).utc_s == NOW


@pytest.mark.parametrize("before_s", [NOW - 2, NOW, NOW + 2])
def test_a_clock_that_is_right_is_left_alone(room, broker, board, before_s):
    rig = told(room, broker, board, NOW, before_s)
    assert rig.set == [] and rig.utc_s == before_s


@pytest.mark.parametrize("time_s", [0, -1, 1, 946_684_800, 4_294_967_295, 2**40, True, None, "1795000000", 1.795e9])
def test_a_time_that_can_not_be_believed_is_not_taken(room, broker, board, time_s):
    rig = told(room, broker, board, time_s)
    assert rig.set == [] and rig.utc_s == 0


def test_what_a_broker_has_kept_from_before_says_nothing_of_now(room, broker, board):
    """The station's word is retained: its time is of when it was said."""
    from potreeve import app

    files = fresh(room, broker.port)
    with Listener(broker.port) as listener:
        first = Sill(files, board)
        session = app.Session(first)
        session.sleep(session.wake())
        heard(listener)
    later = Sill(files, board)
    later.utc_s = NOW + 86400
    session = app.Session(later)
    session.sleep(session.wake())
    assert later.utc_s == NOW + 86400
