"""A dry rig and one finished rehearsal of it, shared by the tests of the tool."""

import re

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.rehearsal.rehearse import make_session, run
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

DAYS = 4


@pytest.fixture(scope="session")
def dry_rig_path(tmp_path_factory):
    """The reading room with pots that start dry enough to be watered soon."""
    text = DEFAULT_RIG.read_text()
    text = re.sub(r"^plant = (.*)$", r"plant = \1\nstart_pm = 700", text, flags=re.M)
    path = tmp_path_factory.mktemp("rig") / "dry.toml"
    path.write_text(text)
    return path


@pytest.fixture(scope="session")
def finished(dry_rig_path):
    """A finished Session of DAYS days."""
    session = make_session(load_rig(dry_rig_path), boards.load("rp2040_wifi").device_dict(), DAYS, seed=3)
    return run(session, "cpython")


@pytest.fixture(scope="session")
def outcome(finished):
    return definitions.make_outcome(finished, ("cpython", "3.x"))


@pytest.fixture(autouse=True)
def own_state_folder(tmp_path, monkeypatch):
    """Whatever a test makes the tool write down stays in the test's folder."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
