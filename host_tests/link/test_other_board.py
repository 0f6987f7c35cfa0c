"""A port at which, all at once, another board answers."""

import os

import pytest
from potreeve_tools.link import find
from potreeve_tools.link.port import open_board
from potreeve_tools.terminal import exits


def test_after_a_restart_another_board_answers_at_the_port(plug, monkeypatch):
    one, two = plug(seed=1), plug(seed=2)
    with open_board(one.port) as board:
        monkeypatch.setattr(find, "device_of", lambda number: two.port)
        with pytest.raises(exits.Stop) as stop:
            board.restart()
    assert stop.value.code == exits.NO_ANSWER and "another board answers" in str(stop.value)


def test_the_name_of_a_pulled_port_goes_to_no_other_board(plug):
    one = plug()
    name = one.port
    one.unplug()
    two = plug()
    assert not os.path.exists(name) and two.port != name
    one.plug()
    one.stop()
    assert plug().port != two.port
