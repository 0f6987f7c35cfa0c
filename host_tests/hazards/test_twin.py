"""The rig without its mishap: run once for all scenarios that leave it alike, and the same as if each ran its own."""

from dataclasses import replace

import pytest
from judged import DAY_S, bench, found
from potreeve_tools.mishaps import deaths, trial, twin
from potreeve_tools.mishaps.evidence import Evidence
from potreeve_tools.rehearsal import rehearse


@pytest.fixture
def runs(monkeypatch):
    """The days of each rig that is really run."""
    monkeypatch.setattr(twin, "_run", {})
    seen = []
    run = rehearse.run

    def counted(session, interpreter):
        seen.append(session.days)
        return run(session, interpreter)

    monkeypatch.setattr(rehearse, "run", counted)
    return seen


def lasting(name, days, **changes):
    return replace(found(name), days=days, **changes)


def test_scenarios_that_leave_the_rig_alike_share_one_run(runs):
    for name in ("clock_lost", "probe_out", "caps_cut"):
        twin.died(lasting(name, 0.2), bench(), 1)
    assert runs == [0.2]
    # A shorter one is asked of the longer, a longer one is run.
    twin.died(lasting("settings_bad", 0.1), bench(), 1)
    assert runs == [0.2]
    twin.died(lasting("settings_bad", 0.3), bench(), 1)
    assert runs == [0.2, 0.3]


@pytest.mark.parametrize(
    "changes",
    [
        {"seed": 2},
        {"rig": {"tray.area_cm2": 800.0}},
        {"start": "2026-07-01"},
        {"broker": True},
        {"board": "rp2350_wifi"},
        {"persons": found("swapped").persons + found("tube_off_tray").persons},
    ],
    ids=str,
)
def test_whatever_changes_the_rig_is_run_by_itself(runs, changes):
    seed = changes.pop("seed", 1)
    twin.died(lasting("clock_lost", 0.1), bench(), 1)
    twin.died(lasting("clock_lost", 0.1, **changes), bench(), seed)
    assert runs == [0.1, 0.1]


def test_a_death_after_the_scenarios_end_is_none_of_it(runs, monkeypatch):
    monkeypatch.setattr(deaths, "of_baseline", lambda ev: {0: 0.05 * DAY_S, 2: 0.15 * DAY_S})
    assert twin.died(lasting("probe_out", 0.2), bench(), 1) == {0: 0.05 * DAY_S, 2: 0.15 * DAY_S}
    assert twin.died(lasting("clock_lost", 0.1), bench(), 1) == {0: 0.05 * DAY_S}
    assert runs == [0.2]


def test_a_longer_run_begins_as_a_shorter_one(runs):
    """Else a death in the one would say nothing of the other."""
    short, long = (trial.run(lasting("probe_out", days), bench(), 1, faultless=True) for days in (1.0, 1.5))
    assert long.records[: len(short.records)] == short.records
    count = len(short.samples) - 1
    assert [repr(one) for one in long.samples[:count]] == [repr(one) for one in short.samples[:count]]
    assert Evidence(short, found("probe_out")).end_s < Evidence(long, found("probe_out")).end_s
