"""The sensor in the tray against the same water without it: what it stops, and that the judge of it can fail."""

import tomllib

import pytest
from judged import bench
from potreeve.logic import reasons, recorded
from potreeve_tools.mishaps import judge, run, scenario, trial
from potreeve_tools.rehearsal import rehearse

DOWN = {"kind": "tray_float_down", "start_h": 1.0}


def _changed(name, faults=(), **expects):
    data = tomllib.loads((scenario.HAZARDS / f"{name}.toml").read_text())
    data["fault"] = [*data["fault"], *faults]
    data["expects"] = {**data.get("expects", {}), **expects}
    return scenario.check(data, f"{name}.toml")


def _codes(verdict):
    return {finding.code for finding in verdict.broken}


@pytest.mark.parametrize("name", ["wet_tube_off", "wet_siphon"])
def test_with_a_blind_sensor_the_judge_sees_water_pumped_into_water(name):
    sound = run.one(_changed(name), bench(), 1)
    assert sound.verdict == judge.HOLDS, sound
    blind = run.one(_changed(name, [DOWN], ends="either"), bench(), 1)
    assert "pumped_into_water" in _codes(blind)


def test_water_that_never_reaches_the_wires_shows_nothing():
    dry = run.one(_changed("wet_condensation", stops_at_water=True), bench(), 1)
    assert "never_wet" in _codes(dry)


def test_a_wrong_press_is_contradicted_and_said():
    session = trial.make(_changed("wet_weeping_pressed"), bench(), 1)
    rehearse.run(session, "cpython")
    told = [(t_s, recorded.decode(line)[0]) for t_s, line in zip(session.record_s, session.records, strict=True)]
    denied = [t_s for t_s, head in told if head["hold"] == reasons.WET_DENIED]
    assert denied and 84 * 3600 < denied[0] < 85 * 3600
    assert all(head["alarm"] == 2 for t_s, head in told if head["hold"] in (reasons.WET_TRAY, reasons.WET_DENIED))
    # The account is not what the press claimed.
    assert all(head["tray_ml"] > 100 for t_s, head in told if head["hold"] == reasons.WET_DENIED)
