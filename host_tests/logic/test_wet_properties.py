"""Whatever the tray's sensor says, for weeks: the tray never takes more than its headroom (W2), and no pot is short of
water without a call. Where water is felt, no pump runs in that wake, but for a dry pot that keeps what it gets."""

import kit
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import cycle, debounce, dosing, extra, limits, reasons, record, recorded, signals, wet
from potreeve.logic.units import DAY_S
from profiles import PROFILE

WAKE_S = 1800
# What still water indoors loses at the least, by published ranges of 1 to 4 mm a day.
DRIES_UM_DAY = 1000
AIR = {"temp_cdeg": 2000, "rh_pm": 500}
FALL_PM_DAY = 90

SAYS = st.sampled_from((record.TRAY_DRY, record.TRAY_WET, record.TRAY_BROKEN, record.TRAY_ODD))
# Runs of the same word, a wake to some days long.
SPELLS = st.lists(st.tuples(SAYS, st.one_of(st.integers(1, 8), st.integers(9, 200))), min_size=1, max_size=30)
PRESSES = st.dictionaries(st.integers(0, 900), st.sampled_from((debounce.SHORT, debounce.LONG)), max_size=4)


class Toy:
    """Two pots on feet in a tray: every pulse at the most it can bring, astray as far as `astray_pm` of a pot says."""

    def __init__(self, astray_pm, **told):
        self.told = kit.make_settings(2, {"day_ml": 400, "dose_ml": 150}, rig_day_ml=800, tray_headroom_ml=400, **told)
        self.state = kit.make_state(2)
        self.state.extra = extra.fresh().pack()
        self.pms, self.astray_pm = [800_000, 780_000], astray_pm
        self.tray_ul = 0
        self.dry_s = [0, 0]
        self.at = 0
        self.given = []

    def wake(self, says, button=debounce.NONE):
        channels = self.told["channels"]
        self.at += 1
        for index in range(2):
            self.pms[index] = max(0, self.pms[index] - FALL_PM_DAY * 1000 * WAKE_S // DAY_S)
            short = self.pms[index] // 1000 < dosing.stress_point_pm(channels[index])
            self.dry_s[index] = self.dry_s[index] + WAKE_S if short else 0
        self.tray_ul = max(0, self.tray_ul - self.told["tray_area_cm2"] * DRIES_UM_DAY * WAKE_S // DAY_S // 10)
        shown = [pm // 1000 + (self.at * 7 + index) % 3 for index, pm in enumerate(self.pms)]
        pots = self.state.pots
        seen = kit.make_readings(
            shown,
            tray_wet=says,
            button=button,
            done_ms=[pot.done_ms for pot in pots],
            under_mv=[pot.under_mv for pot in pots],
            **AIR,
        )
        before = self.state
        self.state, actions, line = cycle.step(before, seen, self.told, kit.ENERGY)
        self.given.append(actions.pulse_ms)
        if any(actions.pulse_ms):
            self.state = cycle.settle(self.state, actions.pulse_ms, [3800, 3800])
        for index, ms in enumerate(actions.pulse_ms):
            if ms:
                most_ul = dosing.most_ul(ms, channels[index], 3900)
                stray_ul = most_ul * self.astray_pm[index] // 1000
                self.tray_ul += stray_ul
                self.pms[index] += (most_ul - stray_ul) * 1000 // channels[index]["holds_ml"]
        return actions, recorded.decode(line)[0]

    @property
    def what(self):
        """What the rig remembers of its sensor."""
        kept = self.state.extra
        return extra.unpack(kept) if isinstance(kept, bytes) else kept

    def check(self, actions):
        """What must hold after any wake."""
        rig, what = self.state.rig, self.what
        assert self.tray_ul <= self.told["tray_headroom_ml"] * 1000
        own_ul = rig.tray_ul - what.added_ul
        if set(self.astray_pm) <= {0, 1000}:
            # Of a pot that loses part of its water the account is settled by the probe, with a sensor or without.
            assert own_ul >= self.tray_ul, "the account without the sensor's word knows of all the water"
        assert 0 <= what.added_ul <= rig.tray_ul and own_ul >= limits.open_ul(rig, self.state.pots)
        for dry_s in self.dry_s:
            if dry_s >= DAY_S:
                assert actions.alarm == signals.CALL


@settings(PROFILE, max_examples=20)
@given(SPELLS, st.sampled_from(((0, 0), (60, 60), (1000, 0), (1000, 1000), (400, 900))))
def test_a_sensor_that_lies_never_floods_the_tray_and_nothing_starves_unsaid(spells, astray_pm):
    toy = Toy(astray_pm)
    for says, times in spells:
        for _ in range(times):
            before_wet = toy.what.wet
            actions, head = toy.wake(says)
            toy.check(actions)
            assert head["tray_wet"] == says
            if says in (record.TRAY_WET, record.TRAY_ODD):
                assert head["hold"] in (reasons.WET_TRAY, reasons.WET_DENIED)
                assert before_wet or not any(actions.pulse_ms), "not within the wake that feels it first"


@settings(PROFILE, max_examples=15)
@given(SPELLS, PRESSES)
def test_presses_in_between_never_start_a_pump_while_it_is_wet(spells, presses):
    toy = Toy((60, 60))
    at = 0
    for says, times in spells:
        for _ in range(times):
            button = presses.get(at, debounce.NONE)
            since_s = toy.what.wet_since_s if toy.what.wet else toy.state.rig.up_s
            if button == debounce.LONG and says == record.TRAY_DRY and toy.state.rig.hold == reasons.OWNER:
                # Whoever says so has emptied it.
                toy.tray_ul = 0
            elif button == debounce.LONG and says == record.TRAY_BROKEN and toy.state.rig.hold == reasons.OWNER:
                toy.tray_ul = 0
            actions, head = toy.wake(says, button)
            wet_now = says in (record.TRAY_WET, record.TRAY_ODD)
            if wet_now and toy.state.rig.up_s - since_s < wet.SPARED_AFTER_S:
                assert not any(actions.pulse_ms)
            if wet_now:
                assert head["hold"], "held, whoever pressed"
            own_ul = toy.state.rig.tray_ul - toy.what.added_ul
            assert own_ul >= 0
            at += 1


def test_a_sensor_that_is_wet_for_ever_lets_pots_live_that_keep_their_water():
    toy = Toy((0, 0))
    for _ in range(40 * 48):
        actions, _ = toy.wake(record.TRAY_WET)
        toy.check(actions)
        assert actions.alarm == signals.CALL
    wilting = [channel["wilting_pm"] for channel in toy.told["channels"]]
    assert all(pm // 1000 > low for pm, low in zip(toy.pms, wilting, strict=True)), toy.pms
    assert any(any(pulses) for pulses in toy.given)


def test_one_whose_pots_lose_their_water_gets_none_while_it_is_wet():
    toy = Toy((1000, 1000))
    for _ in range(40 * 48):
        actions, _ = toy.wake(record.TRAY_WET)
        toy.check(actions)
    # It is tried by the account, and then held: no more than a few pulses and trials.
    assert toy.tray_ul <= 400_000 and sum(any(pulses) for pulses in toy.given) < 80


def test_without_a_sensor_this_toy_would_be_watered_and_the_test_can_fail():
    toy = Toy((0, 0))
    toy.state.extra = None
    for _ in range(5 * 48):
        actions, head = toy.wake(record.TRAY_NONE)
    assert head["version"] == record.VERSION and sum(any(pulses) for pulses in toy.given) > 5


def test_stuck_at_dry_gives_no_room_that_air_has_not_made():
    toy = Toy((1000, 1000))
    for _ in range(60 * 48):
        actions, _ = toy.wake(record.TRAY_DRY)
        toy.check(actions)
