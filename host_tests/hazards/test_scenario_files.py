"""Slips in a scenario's file, and how the verdicts of several seeds come together."""

import json

import pytest
from judged import DAY_S, bench, evidence, found
from potreeve.logic import reasons
from potreeve_tools.mishaps import judge, run, scenario, story
from potreeve_tools.mishaps.evidence import day_text
from potreeve_tools.mishaps.findings import Finding
from potreeve_tools.terminal.faultlist import BadInput

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
    assert all(reason in story.SHORT for name, reason in vars(reasons).items() if name.isupper() and name != "NONE")
    assert day_text(3.5 * DAY_S + 60) == "d4 12:01"
