"""Where the accounts of water would have been too kind: found by arbitrary sequences of events, kept as single
cases."""

import kit
import pytest
from potreeve.logic import cycle, dosing, ladder, limits, reasons, recorded, timekeep, watch
from potreeve.logic.state import RATIONED


def dosed(count=1, dose_ml=50):
    """A state in which a dose of pot 0 stands open on the tray's account."""
    made = kit.make_state(count)
    pot = made.pots[0]
    pot.closing, pot.dose_most_ul, pot.dose_ul = 1, dose_ml * 1000, dose_ml * 1000
    pot.pulsed, pot.pulse_s = 1, made.rig.up_s
    # At 870 pm it is not due, so only the accounts move.
    pot.known, pot.pm, pot.model_pm, pot.start_pm = 1, 870, 870, 770
    made.rig.tray_ul = dose_ml * 1000
    return made


def step(before, settings, pms, **readings):
    return cycle.step(before, kit.make_readings(pms, **readings), settings, kit.ENERGY)[0]


def test_water_that_may_be_in_its_pot_does_not_dry_in_the_tray_as_well():
    """Else it is taken off twice, once as dried up and once as drunk, at the cost of water that is really there."""
    settings = kit.make_settings(1)
    before = dosed(1, 50)
    before.rig.tray_ul = 80000
    after = step(before, settings, [870], elapsed_s=3600)
    dried_ul = settings["tray_area_cm2"] * settings["tray_dry_um_day"] // 24 // 10
    assert after.rig.tray_ul == 80000 - dried_ul
    before.rig.tray_ul = 50000
    assert step(before, settings, [870], elapsed_s=3600).rig.tray_ul == 50000


def test_settled_water_dries_again():
    settings = kit.make_settings(1)
    before = dosed(1)
    before.pots[0].closing = 0
    assert step(before, settings, [870], elapsed_s=3600).rig.tray_ul < 50000


def test_an_open_dose_is_never_more_than_the_tray_holds():
    before = dosed(1, 50)
    before.rig.tray_ul = 20000
    assert limits.open_ul(before.rig, before.pots) == 20000
    assert step(before, kit.make_settings(1), [870], elapsed_s=3600).rig.tray_ul == 20000


def test_an_emptied_tray_owes_nothing_to_doses_before():
    """A dose settled after the tray was emptied would be taken off the water that came since."""
    made = dosed(2)
    made.rig.hold = reasons.OWNER
    ladder.service(made)
    assert made.rig.tray_ul == 0
    assert [pot.closing for pot in made.pots] == [0, 0]


@pytest.mark.parametrize("um", [cycle.LEAST_DAY_UM, 2 * cycle.LEAST_DAY_UM])
def test_a_day_with_hardly_any_demand_teaches_no_absurd_thirst(um):
    """200 ml gone on a dark, damp day would explain any fall of any reading for months."""
    settings = kit.make_settings(1)
    channel = settings["channels"][0]
    made = kit.make_state(1, day_um=um)
    made.rig.day_s -= 86400
    pot = made.pots[0]
    pot.day_ok, pot.day_ul, pot.day_pm, pot.pm = 1, 200000, 800, 800
    cycle._learn_day(made, settings)
    ordinary = channel["ration_ml"] * 1000000 // 1500
    assert pot.use_ul_mm == cycle.USE_MOST_TIMES * ordinary


def test_a_day_without_drinking_teaches_no_endless_fast():
    settings = kit.make_settings(1)
    made = kit.make_state(1, day_um=1500)
    made.rig.day_s -= 86400
    pot = made.pots[0]
    pot.day_ok, pot.day_ul, pot.day_pm, pot.pm = 1, 0, 800, 800
    cycle._learn_day(made, settings)
    assert pot.use_ul_mm == settings["channels"][0]["ration_ml"] * 1000000 // 1500 // cycle.USE_LEAST_SHARE


@pytest.mark.parametrize("flow", [333, 3001, 3333, 4111])
@pytest.mark.parametrize("spread", [0, 150, 333])
@pytest.mark.parametrize("ms", [1, 999, 5500, 8000])
def test_the_most_a_pulse_can_bring_is_rounded_up(flow, spread, ms):
    pot = {"pump_ul_s": flow, "pump_spread_pm": spread, "pump_cal_mv": 0}
    exact_times_million = ms * flow * (1000 + spread)
    assert dosing.most_ul(ms, pot) * 10**6 >= exact_times_million
    room = dosing.most_ul(ms, pot)
    assert dosing.longest_ms(room, pot) * flow * (1000 + spread) <= room * 10**6


def answered(rise, **changes):
    """A pot that was given a ration with two pulses unproven, once the ration has spread and the reading rose so
    far."""
    channel = kit.make_settings(1)["channels"][0]
    made = kit.make_state(1)
    pot = made.pots[0]
    raw, given_s = kit.raw_at(500 + rise), made.rig.up_s - dosing.SPREADS_S
    for name, value in {
        "ladder": RATIONED,
        "reason": reasons.FELL,
        "known": 1,
        "rationed": 1,
        "pulsed": 1,
        "ration_s": given_s,
        "pulse_s": given_s,
        "before_pm": 500,
        "pm": 500 + rise,
        "model_pm": 500,
        "start_pm": 500,
        "unproven": 2,
        "filtered": 16 * raw,
        **changes,
    }.items():
        setattr(pot, name, value)
    watch.observe(pot, channel, (raw, 40, None), (made.rig.up_s, 1800, 0))
    assert pot.pm == 500 + rise
    return pot.answers, pot.unproven


@pytest.mark.parametrize(("rise", "unproven"), [(0, 2), (11, 2), (12, 0), (20, 0)])
def test_only_a_rise_that_was_seen_proves_a_pulse_not_what_the_plant_may_have_drunk(rise, unproven):
    """A probe that stands still while a thirsty day goes by must not be handed back to tending by arithmetic."""
    assert answered(rise, pulse_ul=10000, use_ul_mm=20000, dose_um=1000) == (1, unproven)


@pytest.mark.parametrize(("pulse_ul", "unproven"), [(5999, 2), (6000, 0)])
def test_a_ration_too_small_to_be_seen_proves_nothing(pulse_ul, unproven):
    """12 pm of a pot that holds 500 ml are 6 ml; a rise of 14 pm after less is warmth, or chance."""
    assert answered(14, pulse_ul=pulse_ul) == (1, unproven)


@pytest.mark.parametrize("cause", [timekeep.OTHER_RESET, timekeep.KEPT])
def test_no_wake_is_charged_for_longer_than_its_record_can_say(cause):
    """A counter that outlived a restart, or hours of service, would read as an empty battery within days."""
    used = []
    for awake_ms in (65535, 36_000_000):
        seen = kit.make_readings([500])
        seen.cause, seen.awake_ms, seen.elapsed_s = cause, awake_ms, 0
        state, _, line = cycle.step(kit.make_state(1), seen, kit.make_settings(1), kit.ENERGY)
        used.append(state.rig.used_uah)
        assert recorded.decode(line)[0]["awake_ms"] == 65535
    assert used[0] == used[1] > 0


def test_a_memory_lost_again_never_takes_water_off_the_tray():
    """The older slot may know of more than the headroom of today: the owner has lowered it since."""
    told = kit.make_settings(2)
    full_ul = told["tray_headroom_ml"] * 1000
    for before_ul, after_ul in ((0, full_ul), (full_ul, full_ul), (full_ul + 130_000, full_ul + 130_000)):
        one = kit.make_state(2, memory=2, tray_ul=before_ul)
        cycle.remember(one, told)
        assert (one.rig.tray_ul, one.rig.memory) == (after_ul, 1)
