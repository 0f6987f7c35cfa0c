"""The definitions behind `rehearse --json`, on samples made by hand and on a real run."""

import pytest
from potreeve.logic import dosing, record
from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.rehearsal import verdict


def samples(*levels, step_s=3600):
    return [{"t_s": index * step_s, "pots": [{"moisture_pm": pm}]} for index, pm in enumerate(levels)]


def test_hours_take_the_value_at_the_end_of_an_interval():
    found = definitions.hours(samples(900, 500, 900, 900), 0, lambda pm: pm > 600)
    assert found == (2.0, 3.0)


def test_hours_are_weighted_by_time():
    uneven = samples(900, 900, 100)
    uneven[2]["t_s"] = 3600 * 5
    assert definitions.hours(uneven, 0, lambda pm: pm > 600) == (1.0, 5.0)


def test_hours_from_the_middle_of_an_interval():
    assert definitions.hours(samples(900, 900, 900), 0, lambda pm: True, from_s=1800) == (1.5, 1.5)
    assert definitions.hours(samples(900, 900), 0, lambda pm: True, from_s=9999) == (0.0, 0.0)


def test_doses_are_told_apart_by_two_hours_and_the_soak():
    soak = 1800
    near, far = 7200 + soak - 1, 7200 + soak
    assert definitions.count_doses([], soak) == 0
    assert definitions.count_doses([100], soak) == 1
    assert definitions.count_doses([0, near, 2 * near], soak) == 1
    assert definitions.count_doses([0, far, far + 10], soak) == 2


def test_band_follows_from_the_settings():
    channel = {"wilting_pm": 250, "depletion_pm": 400}
    # FAO-56 eq. 83: p of what lies between capacity and wilting: 1000 - 0.4 * 750.
    assert dosing.refill_point_pm(channel) == 700
    assert definitions.band(channel) == (640, 1020)


def test_pulses_of_truth_and_of_the_records_agree(finished, outcome):
    rows = definitions.decoded(finished)
    for index, pot in enumerate(outcome["pots"]):
        reported = sum(pots[index]["done_ms"] not in (0, record.NOT_RUN) for _, _, pots in rows)
        unreported = 1 if rows[-1][2][index]["pulse_ms"] else 0
        assert pot["pulses"] == reported + unreported > 0
        assert 0 < pot["doses"] <= pot["pulses"]


def test_water_is_accounted_for(finished, outcome):
    """What a pot gained is what it was given and drew up from the tray, less what left it."""
    for index, pot in enumerate(outcome["pots"]):
        first, last = (finished.samples[at]["pots"][index]["water_ml"] for at in (0, -1))
        left = pot["transpired_ml"] + pot["evaporated_ml"] + pot["leachate_ml"]
        came = pot["given_ml"] + finished.world.channels[index].pot.uptake_ml
        assert last - first == pytest.approx(came - left, abs=1.0)


def test_shares_and_hours_are_possible(outcome):
    for pot in outcome["pots"]:
        assert 0 <= pot["in_band_pct"] <= 100
        assert 0 <= pot["dry_h"] + pot["soaked_h"] <= 24 * outcome["days"] + 2
        assert pot["state"] in ("tended", "rationed", "held") and pot["alive"] is True


def test_settings_digest_sees_every_change(finished):
    before = definitions.settings_digest(finished.checked)
    assert before == definitions.settings_digest(dict(finished.checked))
    assert before != definitions.settings_digest({**finished.checked, "wake_s": finished.checked["wake_s"] + 1})


def changed(outcome, pot=None, **rig):
    pots = [{**outcome["pots"][0], **(pot or {})}, *outcome["pots"][1:]]
    calm = [
        {**p, "in_band_pct": 99.0, "dry_h": 0.0, "soaked_h": 0.0, **(pot or {} if i == 0 else {})}
        for i, p in enumerate(pots)
    ]
    return {**outcome, "pots": calm, "rig": {**outcome["rig"], **rig}}


def test_verdicts(outcome):
    assert verdict.judge(changed(outcome))[0] == verdict.GOOD
    for change in ({"floods": 1}, {"electronics_wet": 1}):
        assert verdict.judge(changed(outcome, **change))[0] == verdict.BAD
    assert verdict.judge(changed(outcome, pot={"alive": False}))[0] == verdict.BAD
    for pot in ({"in_band_pct": 94.9}, {"state": "held"}, {"state": "rationed"}):
        assert verdict.judge(changed(outcome, pot=pot))[0] == verdict.MIND
    assert verdict.judge(changed(outcome, reservoir_left_ml=0.0))[0] == verdict.MIND
    assert verdict.judge(changed(outcome, battery_days_left=3))[0] == verdict.MIND


def test_a_run_too_short_to_count_has_no_share(outcome):
    grade, _, _ = verdict.judge(changed(outcome, pot={"in_band_pct": None}))
    assert grade == verdict.GOOD
