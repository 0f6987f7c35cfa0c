"""The broker, its certificates, and rehearsals of a dry rig that has a radio."""

import json
import re
import sys

import pytest
from network import Broker, certificates, keys_for
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal.engines import STANDINS
from potreeve_tools.rehearsal.rehearse import make_session, run
from potreeve_tools.settings import judge
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

sys.path.insert(0, str(STANDINS))


@pytest.fixture(scope="session")
def broker(tmp_path_factory):
    with Broker(tmp_path_factory.mktemp("broker")) as broker:
        yield broker


@pytest.fixture(scope="session")
def secured(tmp_path_factory):
    """A broker with TLS; `ca`: the authority's certificate."""
    folder = tmp_path_factory.mktemp("secured")
    ca, *own = certificates(folder)
    with Broker(folder, tls=own) as broker:
        broker.ca = ca
        yield broker


class Room:
    """The reading room with dry pots, and rehearsals of it. plain(board, days): without a radio, made once."""

    def __init__(self, folder):
        text = re.sub(r"^plant = (.*)$", r"plant = \1\nstart_pm = 700", DEFAULT_RIG.read_text(), flags=re.M)
        path = folder / "dry.toml"
        path.write_text(text)
        self.rig = load_rig(path)
        self.kept = {}

    def settings(self, board):
        if board not in self.kept:
            self.kept[board] = commission.make_settings(self.rig, boards.load(board).device_dict(), 1)
        return self.kept[board]

    def plain(self, board, days, interpreter="micropython"):
        key = board, days, interpreter
        if key not in self.kept:
            self.kept[key] = run(self._session(board, days, self.settings(board)), interpreter)
        return self.kept[key]

    def with_radio(self, board, days, port, interpreter="micropython", air=None, ca=b"", on_day=None, **keys):
        settings, faults = judge.check(
            {**json.loads(json.dumps(self.settings(board))), "radio": keys_for(port, **keys)}
        )
        assert not faults, faults
        return run(
            self._session(board, days, settings, air={} if air is None else air, ca=ca, on_day=on_day), interpreter
        )

    def _session(self, board, days, settings, **more):
        return make_session(self.rig, boards.load(board).device_dict(), days, 1, settings=settings, **more)


@pytest.fixture(scope="session")
def room(tmp_path_factory):
    return Room(tmp_path_factory.mktemp("room"))
