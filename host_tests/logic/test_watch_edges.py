"""Readings that warmth has shifted, a time in the dark, or water that nobody gave."""

import kit
import pytest
from potreeve.logic import cycle, reasons, timekeep, watch
from potreeve.logic.state import HELD, TENDED


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


@pytest.mark.parametrize("cause", [timekeep.POWER_ON, timekeep.WATCHDOG, timekeep.OTHER_RESET, timekeep.BROWN_OUT])
@pytest.mark.parametrize("ladder, doubts", [(TENDED, 0), (HELD, 2)])
def test_what_a_pot_lost_while_the_board_lay_without_power_is_no_fault_of_its_probe(cause, ladder, doubts):
    """Ten days in the dark count as none. Found by a drawn rig: its battery was changed, and its plant died on rations
    that no probe could see."""
    settings = kit.make_settings(1)
    made = kit.make_state(1)
    pot = made.pots[0]
    pot.ladder, pot.reason = ladder, reasons.NO_RISE if ladder else reasons.NONE
    pot.known, pot.pm, pot.model_pm, pot.fell_pm = 1, 800, 800, 800
    pot.filtered = 16 * kit.raw_at(800)
    seen = kit.make_readings([400], cause=cause, elapsed_s=0)
    after, _, _ = cycle.step(made, seen, settings, kit.ENERGY)
    assert after.pots[0].doubt == doubts
    after, _, _ = cycle.step(made, kit.make_readings([400], cause=timekeep.TIMER), settings, kit.ENERGY)
    assert after.pots[0].doubt == 2, "a fall that time does not excuse"


def full(pm, **changes):
    """Changes to a pot that reads pm, and that rose to it with nothing given."""
    return {"known": 1, "pm": pm, "model_pm": pm, "low_pm": pm - 100, "filtered": 16 * kit.raw_at(pm), **changes}


@pytest.mark.parametrize("low_pm, hold", [(880, reasons.RISING), (975, reasons.NONE)])
def test_a_pot_held_for_water_that_runs_by_itself_does_not_keep_quiet_what_the_others_show(low_pm, hold):
    """A siphon through one pot fills the tray, and the others drink from below: that is the whole rig's matter."""
    made = kit.make_state(3)
    pots = [full(1200, low_pm=1190, ladder=HELD, reason=reasons.RUNS_ON), full(980), full(980, low_pm=low_pm)]
    for pot, changes in zip(made.pots, pots, strict=True):
        for name, value in changes.items():
            setattr(pot, name, value)
    after, _, _ = cycle.step(made, kit.make_readings([1200, 980, 980]), kit.make_settings(3), kit.ENERGY)
    assert after.rig.hold == hold


@pytest.mark.parametrize("pm, hold", [(1100, reasons.RISING), (600, reasons.NONE)])
def test_pots_held_for_water_that_ran_by_itself_hold_the_rig_only_while_they_are_full(pm, hold):
    """Two pots had been struck by a siphon; day after day the rig was held anew, until both were dead (swarm 74036)."""
    made = kit.make_state(2)
    for pot in made.pots:
        for name, value in full(pm, low_pm=pm, ladder=HELD, reason=reasons.RUNS_ON).items():
            setattr(pot, name, value)
    after, _, _ = cycle.step(made, kit.make_readings([pm, pm]), kit.make_settings(2), kit.ENERGY)
    assert after.rig.hold == hold


@pytest.mark.parametrize(
    "changes, more_pm, called",
    [
        ({}, 12, True),  # rises by itself, bit by bit
        ({}, 0, True),  # only stays, though its plant should have drunk
        ({"pm": 730}, 0, False),  # as before, but not full
        ({"pulsed": 1, "pulse_s": 0}, 12, False),  # its own water still spreads
        ({}, -8, False),  # falls as it should, and a little less
        ({}, 65, False),  # a can: at once
    ],
)
def test_a_full_pot_that_stands_ever_higher_than_its_thirst_explains_is_kept_full(changes, more_pm, called):
    """Found by a drawn rig with one pot, into whose tray water wept for four days: no other pot could tell."""
    settings = kit.make_settings(1, {"warmth_pm_10c": 0})
    channel = settings["channels"][0]
    made = kit.make_state(1)
    pot = made.pots[0]
    start_pm = changes.get("pm", 930)
    for name, value in {**full(start_pm), **changes}.items():
        setattr(pot, name, value)
    # So much demand a wake as makes a fall of 10 pm; over more than that, noise that is averaged would hide it.
    pot.use_ul_mm = channel["holds_ml"] * 1000 // 100
    pot.fell_pm = start_pm
    up_s = 0
    pm = start_pm
    for _ in range(14):
        up_s += 1800
        pm += more_pm
        raw = kit.raw_at(min(pm, 1040) if more_pm < 60 else start_pm + more_pm)
        pot.filtered = 16 * raw
        watch.observe(pot, channel, (raw, 40, 2000), (up_s, 1800, 1000))
    assert watch.kept_full(pot, channel) == called


@pytest.mark.parametrize("pot_ml, after_s, high_pm", [(1200, 7200, 850), (8000, 21599, 800), (8000, 21600, 850)])
def test_what_a_pot_drew_counts_once_its_water_has_spread(pot_ml, after_s, high_pm):
    """In a large pot the probe beside the drip falls for hours as its water spreads: no plant drank that."""
    settings = kit.make_settings(1, {"pot_ml": pot_ml})
    made = kit.make_state(1)
    pot = made.pots[0]
    for name, value in {**full(800), "high_pm": 850, "pulsed": 1, "pulse_s": 1000}.items():
        setattr(pot, name, value)
    watch.observe(pot, settings["channels"][0], (kit.raw_at(800), 40, 2000), (1000 + after_s, 1800, 100))
    assert pot.high_pm == high_pm
