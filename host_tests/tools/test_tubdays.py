"""`potreeve bench tub-days`: what is judged, counted, printed and returned; and one rig in earnest."""

import json

import pytest
from click.testing import CliRunner
from potreeve.logic import reasons
from potreeve_tools.bench import tubdays
from potreeve_tools.cli import cli
from potreeve_tools.terminal import exits

DAY_S = 86400


def rows(days, end_d=20, **head):
    """A wake at each hour of so many days; days: what is told on a day."""
    return [
        (hour * 3600.0, {"tub_days": days(hour // 24), "tub_mark": 2, "hold": 0, "tub_note": 0, **head})
        for hour in range(end_d * 24)
    ]


def test_each_day_of_the_last_week_is_judged_against_what_came():
    found = tubdays._last_week(rows(lambda day: 19 - day), 0.0, [20.0 * DAY_S], [])
    assert found["told"] == {before: (before - 1, before) for before in range(1, 8)} and found["worst_d"] == 1.0
    found = tubdays._last_week(rows(lambda day: 9), 0.0, [], [20.0 * DAY_S])
    assert found["worst_d"] == 8.0 and found["by_hold"]
    found = tubdays._last_week(rows(lambda day: 255 if day == 15 else 19 - day), 0.0, [20.0 * DAY_S], [])
    assert found["worst_d"] > 900  # not to know counts as wrong


def test_days_before_it_was_filled_are_not_judged_and_the_first_to_come_ends_it():
    found = tubdays._last_week(rows(lambda day: 3), 16.5 * DAY_S, [20.0 * DAY_S], [19.0 * DAY_S])
    assert found["ended_d"] == 19.0 and sorted(found["told"]) == [1]


def told(seed, worst_d, floats=2, leak_d=None, notes=None):
    tub = {"ended_d": 20.0, "by_hold": worst_d < 5, "told": {1: (1, 1.0), 2: (2 + worst_d, 2.0)}, "worst_d": worst_d}
    tub["knew"] = {1: (1, 1.0), 2: (5, 2.0)}
    return tubdays.Told(seed, "esp32", floats, tubs=[tub], notes=notes or {}, leak_d=leak_d, leak_ml_h=20.0)


def test_the_report_counts_tubs_days_and_notes():
    found = tubdays.report([told(1, 1.0), told(2, 6.0, 1), tubdays.Told(3, refused="no")], False)
    assert found["all"]["tubs"] == 2 and found["all"]["good"] == 1 and found["all"]["days_good"] == 3
    assert found["by_floats"]["1"]["good"] == 0 and found["refused"] == 1 and found["ran_dry_before_held"] == 1
    found = tubdays.report([told(1, 1.0, leak_d=5.0, notes={"leak": 7.0}), told(2, 1.0, leak_d=5.0)], True)
    assert (found["leaks"], found["leaks_told"], found["leak_told_after_d_median"]) == (2, 1, 2.0)
    assert [one["seed"] for one in found["leaks_not_told"]] == [2]
    # One that was told before there was any is no leak that was told.
    assert tubdays.report([told(1, 1.0, leak_d=5.0, notes={"leak": 3.0})], True)["leaks_told"] == 0


def test_beside_it_stands_what_one_would_tell_who_knew_all_but_the_weather():
    """200 ml a day for ten days, then 400: with 2000 ml left five days came, and ten would have been told."""
    samples = [
        {"t_s": day * DAY_S, "reservoir_usable_ml": 4100.0 - lost, "pots_lost_ml": lost}
        for day in range(16)
        for lost in [200.0 * day + 200.0 * max(0, day - 10)]
    ]
    assert tubdays._known_days(samples, 10.0 * DAY_S, 15.0 * DAY_S) == 10
    assert tubdays._known_days(samples, 5.0 * DAY_S, 10.0 * DAY_S) == 5
    # 400 ml left, and a week of three days at 200 and four at 400: 314 a day.
    assert tubdays._known_days(samples[1:], 14.0 * DAY_S, 15.0 * DAY_S) == 1
    found = tubdays.report([told(1, 1.0)], False)
    assert found["knowing"]["good"] == 0 and found["knowing"]["days_good"] == 1 and found["all"]["good"] == 1


@pytest.mark.parametrize(
    ("results", "code"),
    [
        ([told(1, 2.0)], exits.OK),
        ([told(1, 2.1)], exits.FAILED),
        ([told(1, 1.0, notes={"leak": 3.0})], exits.FAILED),
        ([tubdays.Told(1, broke="ValueError: x")], exits.FAILED),
    ],
)
def test_the_command_says_whether_all_were_good(monkeypatch, results, code):
    monkeypatch.setattr(tubdays, "run", lambda *args: results)
    done = CliRunner().invoke(cli, ["bench", "tub-days", "--rigs", "1"])
    assert done.exit_code == code, done.output
    as_json = CliRunner().invoke(cli, ["bench", "tub-days", "--json"])
    assert json.loads(as_json.stdout)["schema"] == tubdays.SCHEMA and as_json.exit_code == code


def test_a_rig_in_earnest_and_its_crack():
    sound, leaky = tubdays.one((10009, 3, False, False)), tubdays.one((10009, 3, True, False))
    assert not sound.broke and not leaky.broke
    assert sound.tubs[0]["worst_d"] <= 2.0 and sound.notes == {} and sound.low_d
    assert sound.tubs[0]["knew"].keys() == sound.tubs[0]["told"].keys()
    assert all(abs(said - came) < 5 for said, came in sound.tubs[0]["knew"].values())
    assert leaky.leak_d and leaky.tubs[0]["ended_d"] < sound.tubs[0]["ended_d"]


def test_a_rig_with_a_strip_in_earnest():
    """Its water stands at a mark for a day: a reading that scatters is no jug that somebody poured in."""
    one = tubdays.one((10009, None, False, True))
    assert not one.broke and len(one.tubs) == 2 and one.floats == 4
    assert all(tub["worst_d"] <= 2.0 for tub in one.tubs) and one.notes == {} and one.low_d


def test_notes_that_count_are_known_to_the_firmware():
    assert set(tubdays.NOTES) == {reasons.TUB_LEAK, reasons.TUB_STAYS, reasons.TUB_FLOAT}
