"""A judge that can't fail is no judge: every law is shown what breaks it."""

import copy
import dataclasses
import json

import pytest
from judged import DAY_S, bench, evidence, finished, found
from potreeve.logic import dosing, errors, limits, moisture, reasons, segments, watch
from potreeve_tools.mishaps import fate, judge, laws, liveness, run, scenario, story, wording
from potreeve_tools.mishaps.evidence import day_text
from potreeve_tools.mishaps.findings import Finding
from potreeve_tools.terminal.faultlist import BadInput


def broken(ev):
    return {finding.law for finding in laws.judge(ev)}


def codes(findings):
    return [finding.code for finding in findings]


@pytest.mark.parametrize("name", ["probe_out", "brown_out", "settings_half_written", "memory_lost"])
def test_what_holds_is_not_complained_of(name):
    assert broken(evidence(name)) == set()
    assert liveness.judge(evidence(name)) == []


def test_w1_a_pulse_too_long():
    ev = evidence()
    ev.pulses[5] = ev.pulses[5]._replace(actual_ms=ev.pulses[5].actual_ms + 30_000)
    assert broken(ev) == {"W1"}
    ev = evidence()
    limit_ms = ev.settings["channels"][ev.pulses[5].channel]["pulse_max_ms"]
    ev.pulses[5] = ev.pulses[5]._replace(ms=limit_ms + 1)
    assert "W1" in broken(ev)


def test_w2_water_beyond_the_day():
    ev = evidence()
    cap_ml = ev.settings["channels"][0]["day_ml"]
    ev.tubes = sorted([*ev.tubes, (3 * DAY_S, 0, 0, cap_ml / 2, "pulse"), (3.9 * DAY_S, 0, 0, cap_ml / 2 + 5, "pulse")])
    assert "W2" in broken(ev)
    ev.tubes = [(2 * DAY_S, 0, 0, cap_ml, "pulse"), (3 * DAY_S, 0, 0, cap_ml, "pulse")]
    assert "over_day" not in codes(laws.day_caps(ev))
    ev.tubes = [(2 * DAY_S, c, c, ev.settings["rig_day_ml"] / 3 + 5, "pulse") for c in range(3)]
    assert [(f.code, f.channel) for f in laws.day_caps(ev) if f.channel < 0] == [("over_day", -1)]


def test_w2_a_ledger_that_forgets():
    ev = evidence()
    late = next(i for i, p in enumerate(ev.pulses) if p.channel == 0 and i > 6)
    state = copy.deepcopy(ev.pulses[late].state)
    state.pots[0].spent = [0] * limits.BUCKETS
    ev.pulses[late] = ev.pulses[late]._replace(state=state)
    assert "undercounted" in codes(laws.day_caps(ev))


def test_w2_a_tray_beyond_its_headroom():
    ev = evidence()
    ev.samples[-1]["tray_peak_ml"] = ev.settings["tray_headroom_ml"] + 2.0
    assert broken(ev) == {"W2"}


@pytest.mark.parametrize("stored", ["nothing", "no intent", "too short an intent"])
def test_w3_a_pulse_before_its_intent(stored):
    ev = evidence()
    state = None if stored == "nothing" else copy.deepcopy(ev.pulses[4].state)
    if state:
        state.pots[ev.pulses[4].channel].intent_ms = 0 if stored == "no intent" else ev.pulses[4].ms - 1
    ev.pulses[4] = ev.pulses[4]._replace(state=state)
    assert "W3" in broken(ev)


def at_rest(ev, channel):
    """Tamper with a pot: its probe never moves and its plant drinks nothing, for what it drank belongs to a rise."""
    for _, _, pots in ev.rows:
        pots[channel]["raw"] = 35_000
    for sample in ev.samples:
        sample["pots"][channel]["transpired_ml"] = 0.0


def test_w4_pulses_without_end():
    ev = evidence()
    at_rest(ev, 0)
    assert "W4" in broken(ev)
    pressed = [(p.t_s - 60, p.t_s - 59) for p in ev.pulses]
    ev.world.presses = pressed
    assert "W4" not in broken(ev)


def unseen(ml, holds_ml, unproven_max):
    """A pot at rest, and what its first pulses bring, in ml each."""
    ev = evidence()
    ev.settings = copy.deepcopy(ev.settings)
    own = ev.settings["channels"][0]
    own.update(holds_ml=holds_ml, unproven_max=unproven_max, prime_ms=0, pump_ul_s=1000)
    at_rest(ev, 0)
    tended = ev.tended_pulses(0)
    ev.pulses = [p._replace(actual_ms=ml * 1000) for p in tended]
    ev.world.presses = []
    return ev, tended


def test_w4_counts_water_where_pulses_are_too_small_to_be_seen():
    """60 per mille of 1,000 ml, by a probe that shows 65 % of it, are 93 ml, and 102 with what a pump may bring less:
    with 20 ml a pulse that is six, with 10 ml eleven, and with 60 ml two, but never fewer than allowed."""
    for ml, allowed in ((20, 6), (10, 11), (60, 3)):
        ev, tended = unseen(ml, 1000, 3)
        found = [one for one in laws.not_without_end(ev) if one.code == "unproven_without_end"]
        assert len(tended) > allowed
        assert [(one.channel, one.figures["pulses"]) for one in found] == [(0, allowed + 1)]
        assert found[0].t_s == tended[allowed].t_s


@pytest.mark.parametrize("alive, found", [(3, []), (4, ["unproven_without_end"])])
def test_w4_a_row_ends_with_its_plant(alive, found):
    """Three pulses are allowed; the fourth counts only if the plant still lives at it."""
    ev, tended = unseen(60, 1000, 3)
    assert len(tended) > 6 and tended[alive].t_s - tended[alive - 1].t_s > 60
    died_s = tended[alive - 1].t_s + 30
    ev.died_s = lambda channel: died_s if channel == 0 else None
    assert codes(laws.not_without_end(ev)) == found


@pytest.mark.parametrize(
    "ml, apart_s, seen",
    [
        (190, DAY_S, []),
        (190, DAY_S - 3600, ["trials_too_many"]),  # 123 per mille by a probe that shows 65 %: one is a whole trial
        (180, DAY_S - 3600, []),  # 117 per mille are not, so another may follow
        (65, 7 * 3600, ["trials_too_many"]),  # three in a row are a whole one, the fourth is too many
        (65, 8 * 3600, []),
    ],
)
def test_w4_a_held_pot_tries_once_a_day_and_no_more(ml, apart_s, seen):
    ev, tended = unseen(ml, 1000, 5)
    held = copy.deepcopy(tended[3].state)
    held.pots[0].ladder = 2
    ev.pulses = [tended[3]._replace(t_s=5 * DAY_S + n * apart_s, state=held, actual_ms=ml * 1000) for n in range(4)]
    assert codes(laws.not_without_end(ev)) == seen
    ev.world.presses = [(p.t_s - 60, p.t_s - 59) for p in ev.pulses]
    assert codes(laws.not_without_end(ev)) == []


@pytest.mark.parametrize("rise_pm, seen", [(0, ["trials_too_many"]), (7, ["trials_too_many"]), (8, [])])
def test_w4_a_trial_that_showed_counts_against_no_later_one(rise_pm, seen):
    ev, tended = unseen(190, 1000, 5)
    held = copy.deepcopy(tended[3].state)
    held.pots[0].ladder = 2
    ev.pulses = [tended[3]._replace(t_s=5 * DAY_S + n * 7 * 3600, state=held, actual_ms=190_000) for n in range(2)]
    ev.drank_pm = lambda *_: 0
    ev.pm = lambda row, channel: 600 + (rise_pm if 5 * DAY_S + 3600 < row[0] < 5 * DAY_S + 6 * 3600 else 0)
    assert codes(laws.not_without_end(ev)) == seen


def test_w5_steered_by_a_probe_in_the_air():
    ev = evidence()
    place = next(i for i, p in enumerate(ev.pulses) if p.channel == 2 and 90 * 3600 < p.t_s < 200 * 3600)
    state = copy.deepcopy(ev.pulses[place].state)
    state.pots[2].ladder = 0
    ev.pulses[place] = ev.pulses[place]._replace(state=state)
    assert "W5" in broken(ev)


def test_w5_rations_too_large_and_none_at_all():
    ev = evidence()
    rations = [p for p in ev.pulses if p.channel == 2 and p.state.pots[2].ladder == 1]
    ev.pulses += [p._replace(t_s=p.t_s + 100.0 * n) for p in rations for n in range(1, 9)]
    ev.pulses.sort(key=lambda p: p.t_s)
    ev.tubes += [(p.t_s + 100.0 * n, 2, 2, 45.0, "pulse") for p in rations for n in range(1, 9)]
    assert "rations_too_large" in codes(laws.only_on_belief(ev))
    ev = evidence()
    ev.pulses = [p for p in ev.pulses if p.channel != 2]
    assert "ration_starved" in codes(laws.only_on_belief(ev))
    for sample in ev.samples:
        sample["pots"][2]["alive"] = False
    assert codes(laws.only_on_belief(ev)) == []


def test_w6_pumping_on_a_flat_battery_and_into_brown_outs():
    ev = evidence()
    state = copy.deepcopy(ev.pulses[3].state)
    state.rig.rest_mv = ev.settings["battery_stop_mv"] - 1
    ev.pulses[3] = ev.pulses[3]._replace(state=state)
    assert broken(ev) == {"W6"}
    ev = evidence()
    ev.pulses[:5] = [p._replace(brownout=True) for p in ev.pulses[:5]]
    assert broken(ev) == {"W6"}


@pytest.mark.parametrize(("every_d", "holds"), [(2.0, True), (1.0, False)])
def test_w6_a_refused_battery_may_be_tried_again_but_not_daily(every_d, holds):
    ev = evidence()
    first = ev.pulses[0]
    cuts = [first._replace(t_s=first.t_s + 10.0 * n, brownout=True) for n in range(4)]
    cuts += [first._replace(t_s=cuts[0].t_s + every_d * n * 86400.0, brownout=True) for n in range(1, 6)]
    ev.pulses = cuts
    assert (laws.never_on_low_battery(ev) == []) is holds


def test_w7_bad_settings_passed_over_in_silence():
    ev = evidence("settings_half_written")
    for _, head, _ in ev.rows:
        head["errors"] &= ~errors.SETTINGS
    assert broken(ev) == {"W7"}
    for silenced in ("errors", "alarm"):
        ev = evidence("settings_half_written")
        bad = [row for row in ev.rows if row[1]["errors"] & errors.SETTINGS]
        assert len(bad) > 20
        bad[15][1][silenced] = 0
        assert broken(ev) == {"W7"}


def test_w8_a_broker_hears_what_was_written_and_in_order():
    assert laws.nothing_by_radio(evidence()) == []
    ev = evidence("broker_back")
    assert broken(ev) == set()
    ev.heard = [*ev.heard, ev.heard[-1]._replace(line=b"water the mint")]
    assert broken(ev) == {"W8"}
    ev = evidence("broker_back")
    early, late = ev.heard[3], ev.heard[40]
    ev.heard = [early._replace(line=late.line), *ev.heard[:3], *ev.heard[4:]]
    assert broken(ev) == {"W8"}


def test_a_queue_that_is_not_sent_or_never_was_one():
    ev = evidence("broker_back")
    assert fate.queue(ev) == ([], [])
    gone = {ev.heard[5].line, ev.heard[6].line}
    ev.heard = [one for one in ev.heard if one.line not in gone]
    (lost,), idle = fate.queue(ev)
    assert (lost.code, lost.figures) == ("never_sent", {"lost": 2, "records": len(ev.rows)}) and idle == []
    ev = evidence("broker_back")
    ev.row_s = [ev.end_s] * len(ev.row_s)
    assert [codes(part) for part in fate.queue(ev)] == [[], ["never_waited"]]
    assert fate.queue(evidence()) == ([], [])


def test_firmware_that_believes_a_broker_is_found_out(monkeypatch):
    monkeypatch.setattr(segments, "taken_bytes", lambda count, size: size)
    assert "never_sent" in codes(run.one(found("broker_back"), bench(), 1).broken)


def test_w9_generous_after_a_lost_memory():
    ev = evidence("memory_lost")
    lost_s = ev.mishaps[0].start_s
    ev.pulses.append(ev.pulses[0]._replace(t_s=lost_s + 3600))
    assert "W9" in broken(ev)
    ev = evidence()
    ev.rows[0][1]["memory"], ev.rows[0][1]["cause"] = 0, 0
    assert "W9" in broken(ev)


# ---- besides the laws ----------------------------------------------------------------------


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


# ---- files, results ------------------------------------------------------------------------


GOOD = {
    "name": "xy",
    "title": "some mishap",
    "about": "what happens then",
    "days": 3,
    "fault": [{"kind": "probe_out", "channel": 0, "start_h": 10.0}],
}


@pytest.mark.parametrize(
    "change, words",
    [
        ({"days": "3"}, "xy.toml: days"),
        ({"colour": 1}, "colour = 1: unknown key"),
        ({"name": "zz"}, "not the file's name"),
        ({"start": "2026-13-01"}, "not a date"),
        ({"fault": []}, "has 0 items"),
        ({"fault": [{"kind": "probe_out", "channel": 0, "start_h": 100.0}]}, "would begin after the run's end"),
        ({"fault": [{"kind": "probe_outt", "channel": 0, "start_h": 1.0}]}, 'did you mean "probe_out"'),
        ({"expects": {"ends": "fine"}}, "[expects]: ends"),
        ({"expects": {"may_dye": []}}, 'did you mean "may_die"'),
    ],
)
def test_slips_in_a_file(change, words):
    with pytest.raises(BadInput) as caught:
        scenario.check({**GOOD, **change}, "xy.toml")
    assert words in str(caught.value)


def test_all_slips_of_a_file_at_once():
    with pytest.raises(BadInput) as caught:
        scenario.check({**GOOD, "days": -1, "name": "zz", "colour": 1}, "xy.toml")
    assert len(caught.value.faults) == 3


@pytest.mark.parametrize(
    "change, words",
    [
        ({"rig": {"tray.wall": 3}}, "unknown key"),
        ({"rig": {"pots.0.name": "x"}}, 'did you mean "pot"'),
        ({"fault": [{"kind": "probe_out", "channel": 5, "start_h": 1.0}]}, "has 3 pots"),
    ],
)
def test_slips_that_show_on_the_rig(change, words):
    with pytest.raises(BadInput) as caught:
        scenario.the_rig(scenario.check({**GOOD, **change}, "xy.toml"), bench().rig_data, "reading_room.toml")
    assert words in str(caught.value)


def test_settings_that_do_not_pass():
    one = scenario.check({**GOOD, "settings": {"channels.0.day_ml": 10**6}}, "xy.toml")
    rig = scenario.the_rig(one, bench().rig_data, "reading_room.toml")
    with pytest.raises(BadInput) as caught:
        scenario.the_settings(one, rig, bench().board, 1)
    assert "xy.toml [settings]: channels[0].day_ml" in str(caught.value)


MUCH = Finding("W2", "over_day", 0, "mint", 3600.0, {"ml": 210.04, "cap_ml": 200})


def test_seeds_come_together_with_the_worst_in_front():
    good = judge.Verdict(
        "probe_out",
        1,
        judge.HOLDS,
        did=["fine"],
        beyond_ml=1.0,
        tray_peak_ml=5.0,
        tray_headroom_ml=90.0,
        plants={"mint": "alive"},
    )
    bad = judge.Verdict(
        "probe_out",
        2,
        judge.BROKEN,
        broken=[MUCH],
        beyond_ml=3.0,
        tray_peak_ml=2.0,
        tray_headroom_ml=80.0,
        plants={"mint": "dead"},
    )
    row = run.together(found("probe_out"), [good, bad], lambda name, seed: f"{name} {seed}")
    assert row == {
        "name": "probe_out",
        "verdict": "broken",
        "seeds": 2,
        "water_beyond_need_ml": 3.0,
        "tray_peak_ml": 5.0,
        "tray_headroom_ml": 80.0,
        "plants": {"mint": "dead"},
        "what_it_did": ["does not hold: W2: d1 01:00 mint: 210 ml within 24 h, cap 200 ml"],
        "findings": [
            {"law": "W2", "code": "over_day", "pot": "mint", "t_s": 3600, "figures": {"ml": 210.0, "cap_ml": 200}}
        ],
        "deaths": [],
        "rerun": "probe_out 2",
    }
    assert json.loads(json.dumps(run.result([row])))["schema"] == run.SCHEMA
    assert run.tally([row]) == {"holds": 0, "broken": 1, "not shown": 0}


def test_the_story_in_the_trades_words():
    told = [line.split("cherry tomato rationed: ") for line in story.tell(evidence())]
    assert [line[1] for line in told if len(line) > 1][0] in ("dry as air", "beyond its calibration")
    assert all(
        reason in story.SHORT
        for name, reason in vars(reasons).items()
        if name.isupper() and name not in ("NONE", "RETURNS")
    )
    assert day_text(3.5 * DAY_S + 60) == "d4 12:01"
