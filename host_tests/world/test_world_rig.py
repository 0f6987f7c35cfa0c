"""The whole rig: water is conserved, one seed is one history, the board's view is a board's view."""

import datetime
import statistics

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import KINDS, make_fault
from potreeve_tools.world.rigfile import load_rig
from potreeve_tools.world.world import World
from small_rigs import board, world

STRIKES = [kind for kind in KINDS if kind not in ("reset_loop",)]


def history(one, wakes=60):
    told = []
    for wake in range(wakes):
        told.append(one.sense())
        if wake % 7 == 3:
            told.append(one.pulse(wake % 3, 4000))
        one.draw(25_000, 900)
        told.append(one.advance(1700))
    told.append(one.truth())
    return told


def test_one_seed_is_one_history():
    faults = [make_fault("probe_noisy", 3_000, 30_000, channel=1), make_fault("tube_off", 9_000, 40_000, channel=0)]
    first, again, other = (history(world(faults, seed)) for seed in (5, 5, 6))
    assert first == again
    assert first != other


def test_a_schedule_can_be_used_again():
    fault = make_fault("tube_clogged", 0, channel=0)
    one = world([fault])
    one.pulse(0, 3000)
    assert one.faults[0].bit == 1 and fault.bit == 0 and not fault.active


def test_a_further_pot_does_not_change_the_others():
    def two(data):
        data["pot"] = data["pot"][:2]

    three, pair = world(), world(change=two)
    assert three.sense().probe_raw[:2] == pair.sense().probe_raw
    assert three.channels[1].line.flow_ml_s == pair.channels[1].line.flow_ml_s


def test_steps_make_little_difference():
    """The same day in one stride and in ten-minute steps ends within 1 % of the pot's water."""
    coarse, fine = world(), world()
    for one in (coarse, fine):
        one.pulse(0, 8000)
    coarse.advance(86_400)
    for _ in range(144):
        fine.advance(600)
        fine.sense()
    for a, b in zip(coarse.truth()["pots"], fine.truth()["pots"]):
        assert a["water_ml"] == pytest.approx(b["water_ml"], rel=0.01)
    assert coarse.now_s == pytest.approx(fine.now_s)


@st.composite
def schedules(draw):
    faults = []
    for _ in range(draw(st.integers(0, 4))):
        kind = draw(st.sampled_from(STRIKES))
        start = draw(st.floats(0, 50_000))
        more = {}
        if any(key.name == "other" for key in KINDS[kind].params):
            more["other"] = 2
        if KINDS[kind].channel:
            more["channel"] = draw(st.integers(0, 1))
        if draw(st.booleans()):
            more["end_s"] = start + draw(st.floats(0, 60_000))
        faults.append(make_fault(kind, start, **more))
    return faults


acts = st.lists(
    st.one_of(
        st.tuples(st.just("advance"), st.floats(0, 20_000)),
        st.tuples(st.just("pulse"), st.integers(0, 2), st.integers(0, 60_000)),
        st.tuples(st.just("sense")),
    ),
    max_size=12,
)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(schedules(), acts, st.integers(0, 1000), st.booleans(), st.booleans())
def test_every_drop_is_somewhere(faults, doings, seed, valve, master):
    """Reservoir + tubes + pots + tray + floor + vapour - poured in + carried off stays what it was."""

    def change(data):
        for pot in data["pot"]:
            pot["check_valve"] = valve

    one = world(faults, seed, change, board() if master else board(pump_enable=-1))
    for act, *numbers in doings:
        getattr(one, act)(*numbers)
        assert one.balance_error_ml() == pytest.approx(0.0, abs=1e-5)
        assert one.tray.water_ml <= one.tray.capacity_ml + 1e-9
        assert one.reservoir.water_ml >= 0 and all(c.line.water_ml >= 0 for c in one.channels)
    truth = one.truth()
    landed = sum(ml for *_, ml, cause in one.deliveries if cause != "hand")
    assert landed >= sum(pot["given_ml"] for pot in truth["pots"]) - 1e-6


def test_a_welded_pump_that_is_mended_in_the_middle_of_anothers_pulse_ran_for_it():
    welded = make_fault("pump_stuck_on", 0.0, channel=0, end_s=1.0)
    one = world([welded])
    one.pulse(1, 5000)
    assert [fault.bit for fault in one.faults] == [1]
    assert one.balance_error_ml() == pytest.approx(0.0, abs=1e-5)
    assert {channel for _, channel, _, _, cause in one.deliveries if cause == "stuck"} == {0}


def test_a_pulse_waters_its_own_pot_and_takes_its_time():
    one = world()
    one.pulse(1, 3000)  # fills the tube
    before = one.truth()
    pulse = one.pulse(1, 5000)
    after = one.truth()
    assert (pulse.actual_ms, pulse.brownout) == (5000, False)
    assert after["t_s"] - before["t_s"] == pytest.approx(5.0, abs=0.001)
    gained = [b["given_ml"] - a["given_ml"] for a, b in zip(before["pots"], after["pots"])]
    assert 15 < gained[1] < 35 and gained[0] == gained[2] == 0
    assert before["reservoir_ml"] - after["reservoir_ml"] == pytest.approx(gained[1], abs=0.1)
    when, channel, landed, ml, cause = one.deliveries[-1]
    assert (channel, landed, cause) == (1, 1, "pulse") and ml == pytest.approx(gained[1])
    assert after["t_s"] == when


def test_pump_sag_and_charge():
    one = world()
    rest = one.sense().battery_mv
    used = one.battery.used_mah
    pulse = one.pulse(0, 6000)
    assert rest - 200 < pulse.sag_mv < rest - 15
    assert one.battery.used_mah - used == pytest.approx(150 * 6 / 3600, rel=0.05)


def test_a_weak_battery_browns_out_under_the_pump():
    def weak(data):
        data["battery"].update(chemistry="alkaline", cells=2, capacity_mah=2000, start_pct=12, resistance_times=1.5)

    one = world(change=weak)
    pulse = one.pulse(0, 5000)
    assert pulse.brownout and pulse.actual_ms < 100 and pulse.sag_mv < 1_850
    fresh = world(change=lambda d: d["battery"].update(chemistry="alkaline", cells=3, capacity_mah=2000))
    assert not fresh.pulse(0, 5000).brownout


def test_sense_speaks_the_devices_units():
    one = world()
    one.advance(3600)
    sense = one.sense()
    assert [len(burst) for burst in sense.probe_raw] == [9, 9, 9]
    assert all(isinstance(x, int) and 0 <= x <= 65_535 for burst in sense.probe_raw for x in burst)
    assert all((x >> 4) >> 8 == x & 15 for burst in sense.probe_raw for x in burst)
    assert isinstance(sense.temp_cdeg, int) and 2000 < sense.temp_cdeg < 2500
    assert isinstance(sense.rh_pm, int) and 450 < sense.rh_pm < 550
    assert isinstance(sense.lx, int) and 6000 < sense.lx < 10_000
    assert 4000 < sense.battery_mv < 4300 and sense.button == 0
    assert sense.utc_s == pytest.approx(datetime.datetime(2026, 6, 1, 1, tzinfo=datetime.UTC).timestamp(), abs=2)


def test_boards_without_sensors_say_so():
    bare = board()
    bare["sensors"] = {"climate": "none", "light": "none"}
    sense = world(the_board=bare).sense()
    assert sense.temp_cdeg is None and sense.rh_pm is None and sense.lx == -1


def test_pulsing_probes_fall_too():
    one = world(the_board=board(probe_kind="pulses"))
    made = one.calibrate(0)
    assert made["dry_raw"] > made["wet_raw"] + 5_000 and made["spread_raw"] > 0
    assert any(x % 500 for x in one.sense().probe_raw[0])  # finer than whole pulses in 200 ms


def test_calibration_brackets_the_readings():
    for seed in range(5):
        one = world(seed=seed)
        made = one.calibrate(0)
        reading = statistics.median(one.sense().probe_raw[0])
        assert made["wet_raw"] < reading < made["dry_raw"]
        assert 16 <= made["spread_raw"] < 1_500


def test_a_clock_that_is_not_set_is_zero_and_a_reset_loses_it():
    one = world()
    assert one.sense().utc_s > 0
    one.reset()
    assert one.sense().utc_s == 0
    one.clock.set_utc(1_790_000_000, one.now_s)
    one.advance(100)
    assert abs(one.sense().utc_s - 1_790_000_100) <= 1
    latched = board()
    latched["latch"] = True
    kept = world(the_board=latched)
    kept.reset()
    assert kept.sense().utc_s > 0
    unset = world(change=lambda d: d["electronics"].update(clock_set=False))
    assert unset.sense().utc_s == 0


def test_the_clock_drifts_within_a_crystals_bounds():
    drifts = []
    for seed in range(8):
        one = world(seed=seed)
        first = one.sense().utc_s
        one.advance(20 * 86_400)
        drifts.append(one.sense().utc_s - first - 20 * 86_400)
        assert one.clock.true_s(one.clock.board_ms(5_000)) == pytest.approx(5_000, abs=0.01)
    assert max(abs(d) for d in drifts) <= 71 and len(set(drifts)) > 3


def test_a_flooding_tray_spares_electronics_above_the_spill_line():
    one = world([make_fault("tray_poured", 10, ml=5000)])
    one.advance(20)
    truth = one.truth()
    assert truth["floods"] == 1 and truth["floods_by_hand"] == 1 and truth["electronics_wet"] == 0
    assert truth["spilled_ml"] == pytest.approx(5000 - truth["tray_capacity_ml"])
    low = world([make_fault("tray_poured", 10, ml=5000)])
    low.electronics.height_mm = 5
    low.advance(20)
    assert low.truth()["electronics_wet"] == 1


def test_pots_drink_from_a_wet_tray():
    one = world([make_fault("tray_poured", 10, ml=600)], change=lambda d: [p.update(start_pm=400) for p in d["pot"]])
    one.advance(86_400)
    dry = world(change=lambda d: [p.update(start_pm=400) for p in d["pot"]])
    dry.advance(86_400)
    wetter = [a["water_ml"] - b["water_ml"] for a, b in zip(one.truth()["pots"], dry.truth()["pots"])]
    assert sum(wetter) > 200
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("feet_mm", "drinks"), [(0.0, True), (4.0, True), (14.0, False)])
def test_pots_on_feet_drink_only_what_stands_higher(feet_mm, drinks):
    """600 ml stand some 8 mm deep in the reading room's tray."""

    def dry(data):
        data["tray"]["feet_mm"] = feet_mm
        for pot in data["pot"]:
            pot["start_pm"] = 400

    found = []
    for faults in ([make_fault("tray_poured", 10, ml=600)], []):
        one = world(faults, change=dry)
        one.advance(86_400)
        found.append(sum(pot["water_ml"] for pot in one.truth()["pots"]))
    more_ml = found[0] - found[1]
    assert more_ml > 100 if drinks else abs(more_ml) < 0.1
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)


def test_the_caretaker_fills_the_tub():
    one = world()
    one.advance(13.9 * 86_400)
    for _ in range(8):
        one.pulse(0, 60_000)
    low = one.truth()["reservoir_ml"]
    one.advance(86_400)
    assert one.truth()["reservoir_ml"] > low + 1000 and one.balance_error_ml() == pytest.approx(0, abs=1e-5)


def test_real_weather_and_start():
    def lux(start, hour):
        one = world(climate=None, start=start)
        real = World(one.rig, one.board, 1, start)
        real.advance(hour * 3600)
        return real.truth()

    june, december = lux("2026-06-01", 9.0), lux("2026-12-01", 7.0)
    assert june["lux"] > 1000 > december["lux"]
    assert june["temp_c"] > december["temp_c"]


def test_a_rig_with_more_pots_than_channels():
    with pytest.raises(BadInput, match="3 entries.*2 pump channels"):
        World(load_rig(), board(pumps=[1, 2]), 1)


def test_a_battery_empties_and_discharges_itself():
    one = world(change=lambda d: d["battery"].update(start_pct=4))
    assert one.powered
    one.draw(200_000, 3_600_000)
    assert not one.powered and one.sense().battery_mv == 0
    assert one.pulse(0, 3000).brownout
    kept = world()
    kept.advance(30 * 86_400)
    assert 100 < kept.battery.leaked_mah < 400
