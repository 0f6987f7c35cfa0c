"""What is judged beside the laws: floods, waiting, promises of a scenario; and firmware with faults planted."""

import copy
import dataclasses

import pytest
from judged import DAY_S, bench, codes, evidence, finished, found
from potreeve.logic import dosing, limits, moisture, reasons, watch
from potreeve_tools.mishaps import fate, judge, run, wording


def test_floods_and_wet_electronics():
    ev = evidence()
    assert fate.safety(ev) == []
    ev.last.update(floods=1, floods_by_hand=1)
    assert fate.safety(ev) == []
    ev.last.update(floods=2, electronics_wet=1)
    assert len(fate.safety(ev)) == 2


def test_waiting_without_a_reason_an_alarm_or_a_light():
    ev = evidence()
    _, head, pots = ev.rows[-1]
    pots[1]["ladder"], pots[1]["reason"], head["alarm"] = 2, 0, 2
    assert {"waits_unsaid", "no_light"} <= set(codes(fate.recovery(ev)))
    ev = evidence()
    _, head, pots = ev.rows[-1]
    pots[1]["ladder"], pots[1]["reason"], head["alarm"] = 2, reasons.NO_RISE, 0
    assert "waits_unsaid" in codes(fate.recovery(ev))


def test_ending_otherwise_than_promised():
    ev = evidence()
    ev.rows[-1][2][2]["ladder"] = 1
    (finding,) = [one for one in fate.recovery(ev) if one.code == "ends_otherwise"]
    assert (finding.pot, finding.figures) == ("cherry tomato", {"state": "rationed", "wanted": "tended"})
    assert wording.say(finding).endswith("cherry tomato: it is rationed, not tended")
    ev.rows[-1][1]["hold"] = reasons.OWNER
    assert ("cherry tomato", "held") in [(one.pot, one.figures.get("state")) for one in fate.recovery(ev)]


def bound_row(ev):
    """Index of the first record after the recovery bound."""
    return len(ev.rows) - len(ev.rows_from(ev.fault_end_s() + ev.scenario.recovery_h * 3600))


def test_recovery_is_asked_for_at_its_bound_not_at_the_end():
    ev = evidence()
    at = bound_row(ev)
    assert 0 < at < len(ev.rows) - 50
    ev.rows[at - 1][2][2]["ladder"] = 1
    assert fate.recovery(ev) == []
    ev.rows[at][2][2].update(ladder=1, reason=reasons.OUT_OF_SOIL)
    ev.rows[at][1]["alarm"] = 1
    assert "ends_otherwise" in codes(fate.recovery(ev))
    ev = evidence()
    for _, head, pots in ev.rows[at:-1]:
        pots[0].update(ladder=2, reason=0)
    assert "waits_unsaid" in codes(fate.recovery(ev))


def test_a_board_that_stops_waking_or_stops_telling():
    ev = evidence()
    middle_s = 7 * DAY_S
    ev.panels = [one for one in ev.panels if one[0] < middle_s]
    assert "no_wake" in codes(fate.recovery(ev))
    ev.session = copy.copy(ev.session)
    ev.session.dead_s = [middle_s + 3600]
    assert "no_wake" not in codes(fate.recovery(ev))
    ev = evidence()
    ev.rows = [row for row in ev.rows if row[0] < middle_s]
    ev.row_s = [row[0] for row in ev.rows]
    assert "wakes_untold" in codes(fate.recovery(ev))
    ev.panels = [(t_s, shown | fate.WARNED) for t_s, shown in ev.panels]
    assert "wakes_untold" not in codes(fate.recovery(ev))


def test_caps_are_judged_beside_water_that_runs_by_itself(monkeypatch):
    monkeypatch.setattr(limits, "room_ul", lambda *args: (10**7, limits.POT_DAY))
    one = found("siphon")
    thirsty = dataclasses.replace(
        one,
        rig={**one.rig, "pot.1.start_pm": 150},
        settings={
            **one.settings,
            "insist": True,
            "channels.1.day_ml": 20,
            "channels.1.dose_ml": 20,
            "channels.1.pulse_ml": 10,
            "channels.1.ration_ml": 10,
        },
    )
    assert "W2" in {one.law for one in run.one(thirsty, bench(), 1).broken}


def test_water_beyond_need():
    ev = evidence()
    through_ml = ev.last["pots"][0]["leachate_ml"]  # ran through in the run itself, and was drawn up again
    assert fate.beyond_need_ml(ev) == pytest.approx(0.0, abs=0.5)
    ev.tubes = [*ev.tubes, (DAY_S, 0, -1, 80.0, "pulse"), (DAY_S, 0, 0, 50.0, "pulse")]
    assert fate.beyond_need_ml(ev) == pytest.approx(80.0, abs=1.0)
    ev.last["pots"][0].update(leachate_ml=ev.last["pots"][0]["leachate_ml"] + 30.0)
    assert fate.beyond_need_ml(ev) == pytest.approx(110.0, abs=1.0)
    ev.last["pots"][0].update(by_hand_ml=1000.0)
    assert fate.beyond_need_ml(ev) == pytest.approx(80.0 - through_ml, abs=1.0)


def test_a_mishap_that_never_bit_is_not_shown():
    one = found("brown_out")
    session = copy.copy(finished("brown_out"))
    assert judge.judge(session, one, None).verdict == judge.HOLDS
    idle = copy.copy(session.mishaps[0])
    idle.bit = 0
    session.mishaps = [idle]
    assert judge.judge(session, one, None).verdict == judge.NOT_SHOWN


# ---- faults planted in the firmware itself -------------------------------------------------


def test_firmware_that_believes_every_probe_is_found_out(monkeypatch):
    monkeypatch.setattr(watch, "_AIR_PM", -600)
    monkeypatch.setattr(moisture, "complaint", lambda raw, spread, pot: reasons.NONE)
    monkeypatch.setattr(watch, "_FALL_SPARE_PM", 2000)
    one = found("probe_out")
    at_once = dataclasses.replace(one, expects={**one.expects, "believed_h": 0.0})
    finding = run.one(at_once, bench(), 1)
    assert finding.verdict == judge.BROKEN and "W5" in {one.law for one in finding.broken}


def test_firmware_that_takes_every_pulse_for_proven_is_found_out(monkeypatch):
    monkeypatch.setattr(dosing, "proof_pm", lambda *args: -2000)
    finding = run.one(found("tube_off_floor"), bench(), 1)
    assert finding.verdict == judge.BROKEN and "W4" in {one.law for one in finding.broken}


def test_firmware_without_caps_floods_and_is_found_out(monkeypatch):
    monkeypatch.setattr(watch, "_AIR_PM", -600)
    monkeypatch.setattr(moisture, "complaint", lambda raw, spread, pot: reasons.NONE)
    monkeypatch.setattr(watch, "_FALL_SPARE_PM", 3000)
    monkeypatch.setattr(dosing, "proof_pm", lambda *args: -2000)
    monkeypatch.setattr(limits, "room_ul", lambda *args: (10**6, limits.TRAY))
    finding = run.one(found("probe_out"), bench(), 1)
    assert {"W2", "W4", "W5"} <= {one.law for one in finding.broken}
    assert "flooded" in codes(finding.broken)


def test_firmware_that_breaks_off_is_broken(monkeypatch):
    def fall(*args):
        raise ZeroDivisionError("planted")

    monkeypatch.setattr(limits, "roll", fall)
    finding = run.one(found("probe_out"), bench(), 1)
    assert finding.verdict == judge.BROKEN and codes(finding.broken) == ["broke_off"]
