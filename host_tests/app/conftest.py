"""Lets these tests use the logic tests' kit and the stand-ins; one program for one seed."""

import sys
from pathlib import Path

import pytest
from potreeve_tools.rehearsal.engines import STANDINS

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "logic"))
sys.path.insert(0, str(STANDINS))


@pytest.fixture
def same_programs(monkeypatch):
    """A seed of the state machine leads to the same programs alone and among all tests.

    Hypothesis tries numbers, too, that stand in any module of this folder it finds loaded, in those of other tests as
    well. Here it is given those of the machine and of its model, and no others.
    """
    import machine
    import model
    from hypothesis.internal.conjecture import providers
    from hypothesis.internal.constants_ast import Constants, constants_from_module
    from sortedcontainers import SortedSet

    found = constants_from_module(machine) | constants_from_module(model)
    own = Constants(
        integers=SortedSet(found.integers),
        floats=SortedSet(found.floats, key=providers.float_to_int),
        bytes=SortedSet(found.bytes),
        strings=SortedSet(found.strings),
    )
    monkeypatch.setattr(providers, "_get_local_constants", lambda: own)
    providers.CONSTANTS_CACHE.cache.clear()
    yield
    providers.CONSTANTS_CACHE.cache.clear()
