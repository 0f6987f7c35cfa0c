"""W4, shown what breaks it: rows of pulses that nothing shows, and what a held pot tries."""

import copy
from bisect import bisect_left

import pytest
from judged import DAY_S, broken, codes, evidence
from potreeve_tools.mishaps import laws


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
    own.update(holds_ml=holds_ml, unproven_max=unproven_max, prime_ms=0, pump_ul_s=1000, pump_cal_mv=0)
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


SINCE_85238 = (911, 917, 922, 932, 932, 930, 929)


@pytest.mark.parametrize(
    "readings, drank_pm, at",
    [
        (SINCE_85238, 6, None),
        ((*SINCE_85238, 928), 6, None),
        ((*SINCE_85238, 928, 927), 0, 8),  # the third to fifth may share eight per mille, and three more follow
        ((600, 610, 610, 610, 610, 610, 610), 0, 6),  # three may share a rise, and three more follow it
        ((600, 616, 616, 616, 616), 0, 4),  # one that shows by itself is the first pulse's alone
        ((600, 607, 607, 607), 0, 3),
        ((600, 594, 610, 610, 610, 610), 0, 5),  # from where it dried to
    ],
)
def test_w4_a_rise_that_creeps_is_of_one_pulse_or_of_several(readings, drank_pm, at):
    ev, tended = unseen(60, 1000, 3)
    ev.pulses = ev.pulses[: len(readings)]
    times = [p.t_s + 60 for p in ev.pulses]
    ev.pm = lambda row, channel: readings[min(bisect_left(times, row[0]), len(readings) - 1)]
    ev.drank_pm = lambda channel, from_s, to_s: drank_pm * (bisect_left(times, to_s) - bisect_left(times, from_s))
    found = laws.not_without_end(ev)
    assert [(one.code, one.t_s) for one in found] == ([] if at is None else [("unproven_without_end", tended[at].t_s)])


@pytest.mark.parametrize("ladder, seen", [(0, []), (1, ["unproven_without_end"])])
def test_w4_what_follows_a_ration_is_to_rise_from_there(ladder, seen):
    ev, _ = unseen(60, 1000, 3)
    ev.pulses = ev.pulses[:5]
    state = copy.deepcopy(ev.pulses[1].state)
    state.pots[0].ladder = ladder
    ev.pulses[1] = ev.pulses[1]._replace(state=state)
    times = [p.t_s + 60 for p in ev.pulses]
    ev.drank_pm = lambda *_: 0
    ev.pm = lambda row, channel: (600, 604, 604, 609, 609, 609)[bisect_left(times, row[0])]
    assert codes(laws.not_without_end(ev)) == seen


def test_w4_a_reading_that_falls_lags_behind_its_average():
    """The board counts from its average, so the last reading before a pulse may lie lower (swarm 85822)."""
    ev, _ = unseen(60, 1000, 3)
    ev.drank_pm = lambda *_: 0
    first = ev.pulses[0]
    ev.pulses = [first._replace(t_s=4 * DAY_S + n * 7200) for n in range(5)]
    ev.rows = [(4 * DAY_S + n * 1800.0, *ev.rows[0][1:]) for n in range(-4, 17)]
    ev.row_s = [row[0] for row in ev.rows]
    for before_pm, seen in ((924, []), (910, ["unproven_without_end"])):
        ev.pm = lambda row, channel: (before_pm, 910, 928)[(row[0] >= 4 * DAY_S) + (row[0] > 4 * DAY_S)]
        assert codes(laws.not_without_end(ev)) == seen


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


@pytest.mark.parametrize("full_h, longer_ms, seen", [(0, 0, ["trials_too_many"]), (48, 60_000, [])])
def test_w4_a_trial_is_counted_without_what_fills_its_tube(full_h, longer_ms, seen):
    """Three of 65 ml are a whole trial; but not where the first of them only filled its tube (swarm 78091)."""
    ev, tended = unseen(65, 1000, 5)
    ev.settings["channels"][0].update(tube_full_h=full_h, prime_ms=longer_ms)
    held = copy.deepcopy(tended[3].state)
    held.pots[0].ladder = 2
    ev.pulses = [tended[3]._replace(t_s=5 * DAY_S + n * 1800, state=held, actual_ms=65_000) for n in range(4)]
    assert codes(laws.not_without_end(ev)) == seen


def test_w4_counts_less_water_where_the_battery_has_sunk():
    ev, tended = unseen(65, 1000, 5)
    held = copy.deepcopy(tended[3].state)
    held.pots[0].ladder = 2
    ev.pulses = [tended[3]._replace(t_s=5 * DAY_S + n * 1800, state=held, actual_ms=65_000) for n in range(4)]
    ev.settings["channels"][0]["pump_cal_mv"] = held.rig.rest_mv
    assert codes(laws.not_without_end(ev)) == ["trials_too_many"]
    ev.settings["channels"][0]["pump_cal_mv"] = held.rig.rest_mv * 10 // 9
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
