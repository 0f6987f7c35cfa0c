"""`potreeve bench days-left`: when watering ended, what is set against it, what it prints and returns."""

import json
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from potreeve.logic import reasons, record
from potreeve_tools.bench import daysleft
from potreeve_tools.cli import cli
from potreeve_tools.terminal import exits

DAY_S = 86400


def a_run(refused_d, pumped_d, told, left_pct, end_d=40, dead_d=()):
    """A finished session, as far as the bench looks at it: a wake at each noon, told and left_pct by day."""

    def line(day):
        reason = reasons.BATTERY if day in refused_d else reasons.NONE
        head = (
            1,
            0,
            0,
            0,
            0,
            0,
            6,
            0,
            3900,
            2100,
            450,
            record.light_field(800),
            0,
            1800,
            0,
            0,
            0,
            500,
            told(day),
            0,
            0,
        )
        return record.encode(head, [(20000, 40, record.NOT_RUN, 0, 700, 0, reason, 0, 0)])

    days = range(end_d)
    return SimpleNamespace(
        records=[line(day) for day in days],
        record_s=[(day + 0.5) * DAY_S for day in days],
        samples=[{"t_s": (day + 0.5) * DAY_S, "battery_left_mah": 10.0 * left_pct(day)} for day in days],
        pulses=[SimpleNamespace(t_s=day * DAY_S, brownout=False) for day in pumped_d],
        dead_s=[day * DAY_S for day in dead_d],
        world=SimpleNamespace(now_s=end_d * DAY_S, battery=SimpleNamespace(capacity_mah=1000.0)),
    )


def test_watering_ends_with_the_refusal_that_lasts():
    steady = dict(told=lambda day: 9, left_pct=lambda day: 50)
    assert daysleft.watering_ended_s(a_run({20, 21, 22}, range(1, 20), **steady)) == 20.5 * DAY_S
    # A cold night's refusal, with water the morning after.
    assert daysleft.watering_ended_s(a_run({10, 20, 21}, range(1, 20), **steady)) == 20.5 * DAY_S
    assert daysleft.watering_ended_s(a_run(set(), range(1, 20), **steady, dead_d=[25, 26])) == 25 * DAY_S
    assert daysleft.watering_ended_s(a_run(set(), range(1, 40), **steady)) is None
    # The run's last hours can't tell.
    assert daysleft.watering_ended_s(a_run({39}, range(1, 39), **steady)) is None


CASE = {"board": "esp32", "chemistry": "nimh", "cells": 3, "capacity_mah": 1000, "start_pct": 100, "seed": 1}


@pytest.mark.parametrize(("told_of_75", "good"), [(15, True), (20, True), (21, False), (9, False)])
def test_what_was_told_is_set_against_what_came(monkeypatch, told_of_75, good):
    """75 % are left at noon of day 5, so 15 days before the end: fifteen per cent or five days either way."""
    session = a_run({20, 21}, range(1, 20), lambda day: told_of_75 if day == 5 else 0, lambda day: 100 - 5 * day)
    monkeypatch.setattr(daysleft, "_tended", lambda case: session)
    rows = daysleft.judge(CASE)
    assert [row["mark_pct"] for row in rows] == [75, 50, 25]
    assert (rows[0]["told_days"], rows[0]["real_days"], rows[0]["good"]) == (told_of_75, 15.0, good)
    assert rows[0]["error_days"] == told_of_75 - 15
    assert (rows[1]["real_days"], rows[1]["good"]) == (10.0, False)


@pytest.mark.parametrize(("later_pct", "knowing", "good"), [(5, 15.0, True), (3, 9.0, False)])
def test_who_knows_all_but_what_is_to_come_goes_by_the_last_two_days(monkeypatch, later_pct, knowing, good):
    """75 % are left at noon of day 5 of 20, 5 % having gone each day; later as much, or less."""
    left_pct = lambda day: 100 - 5 * day if day <= 5 else 75 - later_pct * (day - 5)  # noqa: E731
    session = a_run({20, 21}, range(1, 20), lambda day: 15, left_pct)
    monkeypatch.setattr(daysleft, "_tended", lambda case: session)
    rows = daysleft.judge(CASE)
    assert (rows[0]["real_days"], rows[0]["knowing_days"], rows[0]["knowing_good"]) == (15.0, knowing, good)
    assert daysleft.report(rows)["knowing_good"] == sum(bool(row["knowing_good"]) for row in rows)


def test_after_the_end_nought_is_to_be_told(monkeypatch):
    session = a_run({4, 5}, range(1, 4), lambda day: 6, lambda day: 100 - 5 * day)
    monkeypatch.setattr(daysleft, "_tended", lambda case: session)
    rows = daysleft.judge(CASE)
    assert [(row["real_days"], row["good"]) for row in rows] == [(0.0, False)] * 3


def test_the_call_is_the_first_wake_that_tells_of_a_week(monkeypatch):
    session = a_run({20, 21}, range(1, 20), lambda day: 8 if day < 14 else 7, lambda day: 100 - 5 * day)
    monkeypatch.setattr(daysleft, "_tended", lambda case: session)
    assert {row["called_days"] for row in daysleft.judge(CASE)} == {6.0}


def test_a_run_without_an_end_is_not_judged(monkeypatch):
    session = a_run(set(), range(1, 40), lambda day: 6, lambda day: 100 - 5 * day)
    monkeypatch.setattr(daysleft, "_tended", lambda case: session)
    rows = daysleft.judge(CASE)
    assert all(row["good"] is None for row in rows)
    assert daysleft.report(rows)["judged"] == 0


def test_the_cases_of_a_seed_are_the_same_each_time_and_unlike_the_next():
    one, again, other = (daysleft.cases(("latched",), seeds=(seed,)) for seed in (6, 6, 7))
    assert one == again != other
    assert all(-15 <= case["label_off_pct"] <= 15 for case in one)
    assert all(case["label_off_pct"] is None for case in daysleft.cases(("latched",), seeds=(6,), labelled=False))


def test_a_small_battery_as_json():
    """A real run: what is told of a small latched pack stands."""
    said = CliRunner().invoke(cli, ["bench", "days-left", "--board", "latched", "--chemistry", "alkaline", "--json"])
    assert said.exit_code == exits.OK, said.output
    found = json.loads(said.output)
    assert found["schema"] == "potreeve-days-left/1"
    assert (found["judged"], found["good"]) == (3, 3)
