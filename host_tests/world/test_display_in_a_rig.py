"""A display beside the simulated rig: gone, no drop changes; lit, its charge is in the books; one brain for all."""

import copy
from functools import cache

import pytest
from potreeve.logic import debounce, errors, face, recorded, timekeep
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

DAYS, SEED, PRESSES = 3, 2, 9
BOARD = boards.load("esp32_full").device_dict()


@cache
def lived(display=True, gone=False, presses=PRESSES, interpreter="cpython", ua=None):
    """A rehearsal with so many short presses, one every six hours."""
    board = copy.deepcopy(BOARD)
    if not display:
        board["extras"]["display"] = "none"
    if ua is not None:
        board["energy"]["display_ua"] = ua
    rig = load_rig(DEFAULT_RIG)
    faults = [make_fault("button", 20_000.0, hold_ms=250.0, times=presses, every_s=21_611.0)] if presses else []
    if gone:
        faults.append(make_fault("display_gone", 10.0))
    settings = commission.make_settings(rig, BOARD, SEED)
    wakes_s = []
    session = rehearse.make_session(rig, board, DAYS, SEED, settings, faults, on_wake=wakes_s.append)
    session.wakes_s = wakes_s
    return rehearse.run(session, interpreter)


def heads(session):
    return [recorded.decode(line)[0] for line in session.records]


def test_gone_in_mid_write_every_pulse_is_as_without_a_display():
    without, gone = lived(display=False), lived(gone=True)
    assert len(without.pulses) > 5 and gone.world.flags["display_gone"].bit >= PRESSES
    # A wake more at each press is a reading more: a pot may be due some looks before or after, its dose be given in a
    # pulse more or less.
    for channel in range(3):
        one, other = ([pulse for pulse in session.pulses if pulse.channel == channel] for session in (gone, without))
        assert abs(len(one) - len(other)) <= 1 and abs(one[0].t_s - other[0].t_s) < 6 * 3600
    given = [sum(pulse.ms for pulse in session.pulses) for session in (gone, without)]
    assert given[0] == pytest.approx(given[1], rel=0.05)
    assert gone.lit_ms == 0
    said = [head["button"] for head in heads(gone)]
    assert said.count(debounce.SHORT) == [head["button"] for head in heads(without)].count(debounce.SHORT) == PRESSES
    assert all(head["errors"] & errors.PANEL for head in heads(gone) if head["button"] == debounce.SHORT)


def test_lit_a_press_says_nothing_and_each_costs_half_a_minute():
    lit = lived()
    assert [head["button"] for head in heads(lit)].count(debounce.SHORT) == 0
    # Two long presses of the owner's at the beginning light it, too.
    assert lit.lit_ms >= (PRESSES + 2) * face.LIT_MS and lit.lit_ms < (PRESSES + 3) * (face.LIT_MS + 1000)
    assert not any(head["errors"] & errors.PANEL for head in heads(lit))


def test_wakes_come_when_they_would_have_come_without():
    lit = lived()
    told = [recorded.decode(line) for line in lit.records]
    begun_s = [0.0, *lit.wakes_s]
    assert len(begun_s) == len(told)
    late_s = [
        after_s - before_s - head["sleep_s"]
        for (head, pots), (then, _), before_s, after_s in zip(told, told[1:], begun_s, begun_s[1:], strict=False)
        if then["cause"] == timekeep.TIMER and not any(pot["pulse_ms"] for pot in pots)
    ]
    assert len(late_s) > 100 and max(late_s) < 2.0 and min(late_s) > -2.0


def told_ms(session):
    return sum(head["awake_ms"] for head in heads(session))


def test_the_boards_books_hold_what_the_display_drew():
    """The awake time that records tell, against what was truly drawn: being awake, and the display on top."""
    lit, dark, hungry = lived(), lived(presses=0), lived(ua=40_000)
    energy = BOARD["energy"]
    awake_ua = energy["active_ua"] + energy["probe_ua"]
    true_ms = (lit.lit_ms - dark.lit_ms) * (1 + energy["display_ua"] / awake_ua)
    # Each press is a wake of its own as well, and a pulse may be one more or less.
    assert told_ms(lit) - told_ms(dark) == pytest.approx(true_ms, abs=PRESSES * 3000)
    more_ms = lit.lit_ms * (40_000 - energy["display_ua"]) / awake_ua
    assert told_ms(hungry) - told_ms(lit) == pytest.approx(more_ms, rel=0.2)
    charge = [session.samples[-1]["battery_soc"] for session in (dark, lit, hungry)]
    assert charge[0] > charge[1] > charge[2]


@pytest.mark.parametrize("gone", [False, True])
@pytest.mark.parametrize("interpreter", ["micropython", "micropython32"])
def test_every_interpreter_gives_the_same(interpreter, gone):
    assert lived(gone=gone, interpreter=interpreter).digest == lived(gone=gone).digest
