"""Readings that warmth has shifted."""

import kit
from potreeve.logic import reasons, watch


def test_a_warm_reading_is_averaged_by_what_is_left_without_the_warmth():
    """6 pm of change in a pot that reads 60 pm too wet for warmth is little, and a third of it is taken."""
    channel = kit.make_settings(1, {"warmth_pm_10c": 60, "cal_temp_cdeg": 2000})["channels"][0]
    made = kit.make_state(1)
    pot = made.pots[0]
    pot.known, pot.pm, pot.model_pm, pot.fell_pm = 1, 800, 800, 800
    pot.filtered = 16 * kit.raw_at(860)
    clock = (made.rig.up_s, 1800, 0)
    assert watch.observe(pot, channel, (kit.raw_at(866), 40, 3000), clock) == reasons.NONE
    assert pot.pm == 802
