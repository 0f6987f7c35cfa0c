"""Silence within a minute of the broken promise and never else."""

import random

import pytest
from house_kit import DAY, HOUR
from potreeve_tools.station import hearing, watch


def test_a_year_with_jitter_outages_and_restarts_has_no_false_alarm():
    """Every minute of a year: rigs that keep their promise as a board can, a broker that goes, a station that is
    restarted."""
    rng = random.Random(11)
    heard = hearing.Hearing()
    heard.connected(0)
    outages = []
    at = 0
    while at < 365 * DAY:
        at += rng.randint(2 * HOUR, 9 * DAY)
        outages.append((at, at + rng.choice((20, 50, 90, 600, 4 * HOUR, 30 * HOUR))))
        at = outages[-1][1]
    due = 3 * HOUR + 600
    next_at = {f"rig-{n}": rng.randint(0, HOUR) for n in range(3)}
    tries = dict.fromkeys(next_at, 0)
    coming = [(start, heard.disconnected) for start, _ in outages] + [(end, heard.connected) for _, end in outages]
    coming.sort(key=lambda one: one[0])
    reports = 0
    for minute in range(365 * 24 * 60):
        now = minute * 60
        while coming and coming[0][0] <= now:
            when, what = coming.pop(0)
            what(when)
        for rig, when in next_at.items():
            if when > now:
                continue
            if heard.deaf_since is None:
                heard.promise(rig, when, due)
                reports += 1
                tries[rig] = 0
                # A report an hour, each a little late; now and then two tries fail.
                lost = rng.random() < 0.05
                next_at[rig] = when + HOUR * (3 if lost else 1) + rng.randint(0, 300)
            else:
                tries[rig] += 1
                next_at[rig] = when + min(3 * HOUR, 900 * 2 ** tries[rig])
        for rig in next_at:
            assert heard.overdue_s(rig, now) is None, (rig, now, outages)
    assert reports > 20_000


@pytest.mark.parametrize("seed", range(20))
def test_a_rig_that_falls_silent_is_noticed_within_a_minute(seed):
    rng = random.Random(seed)
    heard = hearing.Hearing()
    heard.connected(0)
    last, due = rng.randint(0, 5 * DAY), rng.choice((60, 600, HOUR, DAY))
    heard.promise("sill", last, due)
    noticed = next(
        now for now in range(last, last + due + 600, watch.LOOK_S) if heard.overdue_s("sill", now) is not None
    )
    assert 0 < noticed - (last + due) <= 60


def test_silence_in_an_outage_is_judged_after_it_and_only_once_more():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.promise("sill", 1000, HOUR)
    heard.disconnected(2000)
    assert heard.overdue_s("sill", 9000) is None
    heard.connected(9000)
    assert heard.overdue_s("sill", 9000 + HOUR - 1) is None
    assert heard.overdue_s("sill", 9000 + HOUR + 31) is not None


def test_a_line_that_breaks_all_the_time_does_not_put_the_alarm_off_for_ever():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.promise("sill", 0, 2 * HOUR)
    now = 0
    while heard.overdue_s("sill", now) is None:
        now += 1500
        heard.disconnected(now)
        now += 100
        heard.connected(now)
        assert now < 5 * HOUR
    assert now > 2 * HOUR


def test_a_blip_gives_nobody_more_time():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.promise("sill", 0, HOUR)
    heard.disconnected(3500)
    heard.connected(3530)
    assert heard.overdue_s("sill", 3640) is not None


def test_the_outage_of_long_ago_gives_nobody_more_time():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.disconnected(100)
    heard.connected(900)
    heard.promise("sill", 1000, HOUR)
    assert heard.overdue_s("sill", 1000 + HOUR + 31) is not None
