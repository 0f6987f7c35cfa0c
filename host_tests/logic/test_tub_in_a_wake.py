"""The tub in whole wakes: what its floats say reaches the record, holds the rig, and lets it go again."""

import kit
import pytest
from potreeve.logic import cycle, extra, reasons, record, recorded, signals

TUB = {"mark1_ml": 500, "mark2_ml": 2000, "full_ml": 8000}


def thirsty(mark, **changes):
    """Readings of two pots that are due."""
    return kit.make_readings((600, 600), tub_mark=mark, **changes)


class Sill:
    """Wakes of half an hour, one after the other."""

    def __init__(self, settings=None, extras=True):
        self.settings = settings or kit.make_settings(2, tub=TUB)
        self.state = kit.make_state(2)
        self.state.extra = extra.fresh() if extras else None

    def wake(self, readings):
        """(head of the record, pulses) after one."""
        self.state, actions, line = cycle.step(self.state, readings, self.settings, kit.ENERGY)
        done = [ms or record.NOT_RUN for ms in actions.pulse_ms]
        self.state = cycle.settle(self.state, done, [3700] * len(done))
        return recorded.decode(line)[0], actions.pulse_ms


def test_days_and_mark_stand_in_the_record_once_two_wakes_agree():
    sill = Sill()
    head, _ = sill.wake(thirsty(3))
    assert (head["version"], head["tub_mark"], head["tub_days"]) == (2, 3, 255)
    head, _ = sill.wake(thirsty(3))
    assert head["tub_mark"] == 3 and 100 < head["tub_days"] < 255 and head["tub_note"] == 0


@pytest.mark.parametrize("extras", [False, True])
def test_without_floats_or_without_their_table_nothing_is_decided_by_them(extras):
    plain = Sill(kit.make_settings(2), extras)
    other = Sill(kit.make_settings(2), False)
    for mark in (1, 1, 15, 15, 1):
        head, pulses = plain.wake(thirsty(mark))
        same, wanted = other.wake(thirsty(0))
        assert pulses == wanted and head["hold"] == 0 and head["alarm"] == same["alarm"]


def test_an_empty_tub_holds_every_pump_and_calls_until_it_is_filled():
    sill = Sill()
    sill.wake(thirsty(1))
    head, pulses = sill.wake(thirsty(1))
    assert head["hold"] == reasons.TUB_EMPTY and head["alarm"] == signals.CALL and pulses == [0, 0]
    for _ in range(20):
        head, pulses = sill.wake(thirsty(1))
        assert pulses == [0, 0] and head["hold"] == reasons.TUB_EMPTY
    sill.wake(thirsty(3))
    head, pulses = sill.wake(thirsty(3))
    assert head["hold"] == 0 and any(pulses)


def test_half_a_day_later_one_pot_alone_is_tried():
    sill = Sill()
    pulsed = []
    for _ in range(2 + 24 + 16):
        _, pulses = sill.wake(thirsty(1))
        pulsed.append([index for index, ms in enumerate(pulses) if ms])
    # The first wake does not believe a single look yet.
    tried = [wake for wake, pots in enumerate(pulsed) if pots and wake]
    assert tried[0] == 1 + 24 and len({pulsed[wake][0] for wake in tried}) == 1
    assert sill.state.rig.hold == reasons.TUB_EMPTY and len(tried) <= 4


def test_a_press_has_the_tub_tried_at_once():
    sill = Sill()
    for _ in range(3):
        sill.wake(thirsty(1))
    _, pulses = sill.wake(thirsty(1, button=1))
    assert any(pulses) and sill.state.rig.hold == reasons.TUB_EMPTY


def test_floats_that_were_taken_away_hold_nothing():
    sill = Sill()
    for _ in range(3):
        sill.wake(thirsty(1))
    assert sill.state.rig.hold == reasons.TUB_EMPTY
    gone = Sill(kit.make_settings(2))
    gone.state = sill.state
    head, pulses = gone.wake(thirsty(0))
    assert head["hold"] == 0 and any(pulses)
    sill.wake(thirsty(0))
    head, _ = sill.wake(thirsty(0))
    assert head["hold"] == 0


def test_another_hold_is_louder_and_stays():
    sill = Sill()
    sill.wake(thirsty(1, button=2))
    head, _ = sill.wake(thirsty(1))
    assert head["hold"] == reasons.OWNER
