"""Every kind of mishap bites, is counted when it bites, and is undone at its end where a person could."""

import statistics

import pytest
from potreeve_tools.world.faults import FLAGS, KINDS, make_fault, parse_faults

from small_rigs import board, world

DAY = 86_400.0


def median(one, channel=0):
    return statistics.median(one.sense().probe_raw[channel])


def struck(kind, change=None, the_board=None, start=1000.0, end=50_000.0, primed=True, **more):
    """A world half an hour into a mishap that ends at 50,000 s; tubes filled before it."""
    if KINDS[kind].channel:
        more.setdefault("channel", 0)
    one = world([make_fault(kind, start, end, **more)], change=change, the_board=the_board)
    if primed:
        for c in one.channels:
            one.pulse(c.index, 3000)
    one.advance(start + 1800.0 - one.now_s)
    return one, one.faults[0]


def over(one):
    """Let the mishap end."""
    one.advance(50_001.0 - one.now_s)
    assert not one.faults[0].active
    return one


def given(one, channel=0, ms=5000):
    """ml the pot of a channel gets from one pulse of that channel."""
    before = one.channels[channel].given_ml
    one.pulse(channel, ms)
    return one.channels[channel].given_ml - before


def dry_raw(one, channel=0):
    return one.calibrate(channel)["dry_raw"]


# ---- probes --------------------------------------------------------------------------------


def test_probe_out_reads_drier_than_dry():
    one, fault = struck("probe_out")
    assert median(one) > dry_raw(one) and fault.bit == 1
    assert median(one, 1) < dry_raw(one, 1)
    assert median(over(one)) < dry_raw(one) - 5000


def test_probe_leaning_reads_drier():
    one, fault = struck("probe_leaning", gap=0.5)
    leaning = median(one)
    assert fault.bit == 1 and leaning < dry_raw(one)
    assert median(over(one)) < leaning - 2000


@pytest.mark.parametrize("reads, value", [("high", 65_535), ("low", 0)])
def test_probe_broken_reads_a_rail(reads, value):
    one, fault = struck("probe_broken", reads=reads)
    assert one.sense().probe_raw[0] == [value] * 9 and fault.bit == 1
    assert 10_000 < median(over(one)) < 50_000


def test_probe_broken_floating_wanders():
    one, fault = struck("probe_broken", reads="floating")
    seen = []
    for _ in range(10):
        seen.append(median(one))
        one.advance(1200)
    assert max(seen) - min(seen) > 5_000 and fault.bit == 10


def test_probe_broken_is_silence_when_pulses_are_counted():
    one, _ = struck("probe_broken", the_board=board(probe_kind="pulses"))
    assert one.sense().probe_raw[0] == [0] * 9


def test_probe_shorted_reads_nothing():
    one, fault = struck("probe_shorted")
    assert one.sense().probe_raw[0] == [0] * 9 and fault.bit == 1
    assert median(over(one)) > 10_000


def test_probe_stuck_never_changes():
    one, fault = struck("probe_stuck")
    first = one.sense().probe_raw[0]
    given(one, 0, 20_000)
    one.advance(3000)
    assert one.sense().probe_raw[0] == first and len(set(first)) == 1 and fault.bit == 2
    assert len(set(over(one).sense().probe_raw[0])) > 1


def test_probe_noisy_spreads():
    one, fault = struck("probe_noisy", times=40.0)
    wild = statistics.pstdev(x for _ in range(10) for x in one.sense().probe_raw[0])
    calm = statistics.pstdev(x for _ in range(10) for x in over(one).sense().probe_raw[0])
    assert wild > 15 * calm and fault.bit == 10


def test_probe_temp_drift_and_coating_read_wetter():
    warm, fault = struck("probe_temp_drift", vwc_per_degc=0.02)
    assert warm.truth()["temp_c"] > 20 and fault.bit == 0
    drifted = median(warm)
    assert fault.bit == 1 and median(over(warm)) > drifted + 300
    coated, fault = struck("probe_coating", vwc_per_day=0.3)
    coated.advance(40_000)
    wet = median(coated)
    assert fault.bit == 1 and median(over(coated)) > wet + 2000


def test_probes_crossed_tell_of_the_other_pot():
    def unlike(data):
        data["pot"][0]["start_pm"], data["pot"][1]["start_pm"] = 950, 150
    one, fault = struck("probes_crossed", other=1, change=unlike)
    crossed = median(one), median(one, 1)
    assert crossed[0] > crossed[1] and fault.bit > 0
    over(one)
    assert median(one) < median(one, 1)


def test_converter_drift_moves_all_probes():
    one, fault = struck("adc_drift", pm_per_day=200.0)
    one.advance(40_000)
    drifted = [median(one, i) for i in range(3)]
    assert fault.bit > 0
    over(one)
    assert all(d > 1.05 * median(one, i) for i, d in enumerate(drifted))


def test_silent_sensors():
    one, fault = struck("climate_silent")
    sense = one.sense()
    assert sense.temp_cdeg is None and sense.rh_pm is None and fault.bit == 1
    assert over(one).sense().temp_cdeg is not None
    one, fault = struck("light_silent")
    assert one.sense().lx == -1 and fault.bit == 1
    assert over(one).sense().lx > 0


# ---- tubes, pumps, reservoir ---------------------------------------------------------------


@pytest.mark.parametrize("where", ["tray", "floor", "electronics"])
def test_tube_off(where):
    one, fault = struck("tube_off", where=where)
    assert fault.bit == 0
    before = one.truth()
    assert given(one) == 0.0 and fault.bit == 1
    after = one.truth()
    assert (after["tray_ml"] > before["tray_ml"] + 10) == (where == "tray")
    assert (after["floor_ml"] > 10) == (where != "tray")
    assert after["electronics_wet"] == int(where == "electronics")
    assert one.deliveries[-1][2] == (-1 if where == "tray" else -2)
    assert given(over(one)) > 10
    assert one.electronics.state(one.now_s) == "dry"


def test_a_tube_that_droops_below_the_surface_siphons_without_an_air_hole():
    def high(data):
        data["reservoir"].update(base_mm=-110, level_mm=205)  # surface at 95: above the tray, below the outlets
        for pot in data["pot"]:
            pot["air_hole"] = False
    one, fault = struck("tube_off", change=high, drop_mm=20.0)
    one.pulse(0, 2000)
    one.advance(3600)
    assert any(cause == "siphon" for *_, cause in one.deliveries)
    assert one.truth()["floods"] == 1 and fault.bit > 5


def test_tube_clogged_and_kinked():
    one, fault = struck("tube_clogged", left=0.25)
    weak = given(one)
    assert fault.bit == 1 and weak == pytest.approx(0.25 * given(over(one)), rel=0.03)
    one, fault = struck("tube_clogged", left=0.0)
    assert given(one) == 0.0 and fault.bit == 1 and one.tray.water_ml == 0.0


def test_tubes_crossed():
    one, fault = struck("tubes_crossed", other=2)
    before = one.channels[2].given_ml
    assert given(one) == 0.0 and one.channels[2].given_ml > before + 10 and fault.bit == 1
    assert one.deliveries[-1][1:3] == (0, 2)
    assert given(over(one)) > 10


def test_inlet_buried_sucks_back():
    one, fault = struck("inlet_buried", primed=False)
    assert given(one, 0, 8000) > 15 and fault.bit == 0
    tub, pot = one.reservoir.water_ml, one.channels[0].pot.water_ml
    one.advance(30)
    one.settle()
    assert one.reservoir.water_ml > tub + 5 and one.channels[0].pot.water_ml < pot - 5 and fault.bit > 0
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)
    over(one)
    assert one.channels[0].line.valve and one.channels[0].line.air_hole


def test_reservoir_empty_and_filled_again():
    one, fault = struck("reservoir_empty", primed=False)
    assert given(one) == 0.0 and fault.bit == 1 and one.reservoir.usable_ml == 0.0
    over(one)
    one.pulse(0, 4000)
    assert given(one) > 10 and one.reservoir.water_ml == pytest.approx(0.9 * one.reservoir.capacity_ml, abs=60)


def test_siphon_runs_on_after_a_pulse():
    one, fault = struck("siphon", primed=False, above_mm=60.0)
    one.advance(600)
    assert fault.bit == 0  # nothing runs before the tube is full
    one.pulse(0, 5000)
    pulsed = one.channels[0].given_ml
    one.advance(3600)
    assert one.channels[0].given_ml > pulsed + 1500 and fault.bit > 0
    assert one.reservoir.surface_mm == pytest.approx(one.channels[0].line.outlet_mm, abs=2)
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)
    base = one.reservoir.base_mm
    assert over(one).reservoir.base_mm == -320 < base
    level = one.channels[0].given_ml
    one.pulse(0, 4000)
    at = one.channels[0].given_ml
    one.advance(3600)
    assert level < at == one.channels[0].given_ml


def test_an_air_hole_left_open_means_the_siphon_never_shows():
    one, fault = struck("siphon", primed=False)
    one.channels[0].line.air_hole = True
    one.pulse(0, 5000)
    one.advance(3600)
    assert fault.bit == 0 and one.unshown() == [fault]


def test_a_welded_switch_waters_only_with_the_master_on():
    one, fault = struck("pump_stuck_on", channel=1)
    one.advance(3600)
    at = one.channels[1].given_ml
    assert fault.bit == 0
    one.pulse(0, 6000)
    assert one.channels[1].given_ml > at + 10 and fault.bit == 1
    assert one.deliveries[-1][4] == "stuck"
    over(one)
    at = one.channels[1].given_ml
    one.pulse(0, 6000)
    assert one.channels[1].given_ml == at


def test_without_a_master_a_welded_switch_empties_the_tub():
    one, fault = struck("pump_stuck_on", the_board=board(pump_enable=-1), primed=False)
    one.advance(7200)
    assert one.reservoir.usable_ml == 0.0 and one.truth()["floods"] == 1 and fault.bit > 50
    assert one.battery.used_mah > 200
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)


def test_pump_weak_and_dry():
    one, fault = struck("pump_weak", left=0.3)
    weak = given(one)
    assert fault.bit == 1 and weak == pytest.approx(0.3 * given(over(one)), rel=0.03)
    one, fault = struck("pump_dry")
    used = one.battery.used_mah
    assert given(one) == 0.0 and fault.bit == 1 and one.battery.used_mah > used
    assert given(over(one)) > 10


# ---- pots ----------------------------------------------------------------------------------


def test_bone_dry_peat_sheds_water():
    """Very dry peat: water runs straight to the tray while the probe still reads dry."""
    one, fault = struck("dry_substrate", change=lambda d: d["pot"][0].update(leaf_area_cm2=10))
    before, raw = one.truth(), median(one)
    assert fault.bit == 0 and before["pots"][0]["moisture_pm"] < 60
    one.pulse(0, 15_000)
    one.advance(60)
    after = one.truth()
    poured = after["pots"][0]["given_ml"] - before["pots"][0]["given_ml"]
    assert after["tray_ml"] - before["tray_ml"] > 0.7 * poured and fault.bit == 1
    assert median(one) > raw - 2500


def test_swelling_pellet_holds_little_at_first():
    one, fault = struck("swelling_pellet", channel=2)
    small = one.channels[2].pot.holds_ml
    for _ in range(6):
        one.pulse(2, 15_000)
        one.advance(1800)
    one.settle()
    assert one.channels[2].pot.holds_ml > 1.2 * small and fault.bit == 6
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)


def test_no_drainage_keeps_it_all():
    one, fault = struck("no_drainage")
    for _ in range(4):
        one.pulse(0, 15_000)
        one.advance(900)
    truth = one.truth()
    assert truth["tray_ml"] == 0.0 and truth["pots"][0]["moisture_pm"] > 1050 and fault.bit == 4
    over(one)
    one.advance(7200)
    assert one.truth()["pots"][0]["leachate_ml"] > 50 and one.truth()["pots"][0]["moisture_pm"] <= 1010


def test_no_drainage_makes_no_difference_to_a_pot_with_room():
    one, fault = struck("no_drainage", change=lambda data: data["pot"][0].update(start_pm=300))
    one.pulse(0, 15_000)
    assert fault.bit == 0


def test_watering_can_once_and_daily():
    one, fault = struck("watering_can", ml=120.0)
    pot = one.truth()["pots"][0]
    assert fault.bit == 1 and pot["by_hand_ml"] == 120.0 and pot["given_ml"] == pytest.approx(one.channels[0].given_ml)
    daily = world([make_fault("watering_can", 100, 5 * DAY, channel=1, ml=50.0, every_s=DAY)])
    daily.advance(9 * DAY)
    assert daily.faults[0].bit == 5 and daily.channels[1].by_hand_ml == 250.0
    assert daily.balance_error_ml() == pytest.approx(0, abs=1e-5)


def test_plant_grown_fourfold_drinks_more():
    one, fault = struck("plant_grown")
    still = world()
    for each in (one, still):
        each.advance(4 * 3600)
    assert fault.bit == 1
    assert one.truth()["pots"][0]["leaf_area_cm2"] > 3.5 * still.truth()["pots"][0]["leaf_area_cm2"]
    assert one.truth()["pots"][0]["transpired_ml"] > 2 * still.truth()["pots"][0]["transpired_ml"]


def test_repotted_holds_more():
    one, fault = struck("repotted", diameter_cm=20.0, height_cm=18.0)
    assert fault.bit == 1 and one.channels[0].pot.holds_ml > 2000
    assert one.channels[0].line.outlet_mm > 180 and given(one) > 10
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)


def test_swapped_and_back():
    one, fault = struck("swapped", other=2)
    assert one.channels[0].pot.spec.plant == "cherry_tomato" and fault.bit == 1
    sense = one.sense()
    assert all(0 < x < 60_000 for x in sense.probe_raw[0] + sense.probe_raw[2])
    assert over(one).channels[0].pot.spec.plant == "mint"


def test_tipped_over_and_set_upright():
    one, fault = struck("tipped_over", lost=0.4)
    truth = one.truth()
    assert fault.bit == 1 and truth["tray_ml"] > 60 and truth["pots"][0]["moisture_pm"] < 700
    assert median(one) > dry_raw(one) and given(one) == 0.0
    assert given(over(one)) > 10 and median(one) < dry_raw(one)
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)


def test_pot_removed_and_back():
    one, fault = struck("pot_removed")
    assert fault.bit == 1 and median(one) > dry_raw(one)
    assert given(one) == 0.0 and one.truth()["tray_ml"] > 10
    assert given(over(one)) > 10


# ---- tray, electronics, battery ------------------------------------------------------------


def test_someone_pours_into_the_tray():
    one, fault = struck("tray_poured", ml=300.0)
    assert fault.bit == 1 and 200 < one.truth()["tray_peak_ml"] <= 300
    often = world([make_fault("tray_poured", 0, ml=300.0, every_s=3600.0)])
    often.advance(6 * 3600)
    assert often.faults[0].bit == 7 and often.truth()["floods_by_hand"] >= 1


def test_wet_electronics_go_mad_then_silent():
    one, fault = struck("water_on_electronics", mad_s=3600.0)
    mad = [one.sense() for _ in range(6)]
    assert len({tuple(s.probe_raw[0]) for s in mad}) == 6 and len({s.battery_mv for s in mad}) > 3
    one.advance(3600)
    silent = one.sense()
    assert silent.probe_raw == [[0] * 9] * 3 and silent.temp_cdeg is None and silent.lx == -1 and silent.battery_mv == 0
    assert fault.bit == 7 and one.truth()["electronics_wet"] == 1
    assert over(one).sense().battery_mv > 3500


@pytest.mark.parametrize("kind", ["battery_old", "battery_cold", "battery_sagging"])
def test_battery_mishaps_sag_more(kind):
    one, fault = struck(kind)
    healthy = world().pulse(0, 4000).sag_mv
    bitten = fault.bit
    assert one.pulse(0, 4000).sag_mv < healthy - 20 and fault.bit == bitten + 1
    over(one)
    assert one.pulse(0, 4000).sag_mv == pytest.approx(healthy, abs=15)


def test_battery_low_and_changed():
    one, fault = struck("battery_low", left_pct=2.0)
    assert one.truth()["battery_soc"] < 0.025 and one.sense().battery_mv < 3200 and fault.bit == 1
    assert over(one).truth()["battery_soc"] > 0.99


def test_brown_out_cuts_the_first_pulses():
    one, fault = struck("brown_out", after_ms=400.0, times=2, start=0.0, primed=False)
    cut = [one.pulse(0, 3000) for _ in range(3)]
    assert [p.brownout for p in cut] == [True, True, False] and [p.actual_ms for p in cut] == [400, 400, 3000]
    assert cut[0].sag_mv < 1800 and fault.bit == 2
    short, fault = struck("brown_out", after_ms=400.0, start=0.0, primed=False)
    assert not short.pulse(0, 300).brownout and fault.bit == 0


# ---- board, clock, people ------------------------------------------------------------------


def test_reset_loop_interrupts_sleep():
    one = world([make_fault("reset_loop", 100, 400, every_s=100.0)])
    events = []
    while one.now_s < 1000:
        passed, event = one.sleep(1000 - one.now_s)
        events.append((one.now_s, event and event[1]))
    assert events == [(100, "reset"), (200, "reset"), (300, "reset"), (1000, None)]
    assert one.faults[0].bit == 3


def test_clock_mishaps():
    one, fault = struck("clock_lost")
    assert one.sense().utc_s == 0 and fault.bit == 1
    for kind, by_s in (("clock_leap", -200_000.0), ("clock_leap", 86_400.0), ("daylight_saving", 3600.0)):
        one, fault = struck(kind, by_s=by_s)
        plain = world()
        plain.advance(one.now_s)
        assert one.sense().utc_s - plain.sense().utc_s == pytest.approx(by_s, abs=1) and fault.bit == 1
    unknown, fault = struck("clock_leap", change=lambda d: d["electronics"].update(clock_set=False))
    assert fault.bit == 0 and unknown.sense().utc_s == 0


@pytest.mark.parametrize("kind", FLAGS)
def test_flags_go_up_and_down(kind):
    one, fault = struck(kind)
    assert fault.bit == 0 and one.bite_flag(kind) is fault and fault.bit == 1
    assert over(one).bite_flag(kind) is None and fault.bit == 1


def test_owner_presses_the_button():
    one = world([make_fault("button", 50, hold_ms=800.0, times=2, every_s=10.0)])
    assert one.sense().button == 0
    passed, event = one.sleep(1000)
    assert passed == 50 and event == (50, "button", 800.0)
    one.advance(0.4)
    assert one.sense().button == 1
    one.advance(1.0)
    assert one.sense().button == 0
    passed, event = one.sleep(1000)
    assert one.now_s == pytest.approx(60) and event[1] == "button" and one.faults[0].bit == 2
    assert one.sleep(1000) == (1000, None)
    levels = [one.button_level(60 + i * 0.0002) for i in range(100)]
    edges = sum(a != b for a, b in zip(levels, levels[1:]))
    assert 5 < edges < 40 and levels[-1] == 1  # contacts bounce for 6.2 ms


def test_someone_refills_the_tub():
    one, fault = struck("tub_refilled", change=lambda d: d["reservoir"].update(level_mm=50))
    assert fault.bit == 1 and one.reservoir.water_ml > 8000


def test_every_kind_is_tried_here():
    """A kind added to the list without a test here fails this one."""
    with open(__file__, encoding="utf-8") as file:
        text = file.read().split("def test_every_kind")[0]
    missing = [kind for kind in KINDS if f'"{kind}"' not in text and kind not in FLAGS]
    assert missing == []


def test_overlapping_mishaps_leave_nothing_behind():
    spans = {"siphon": (100, 900), "inlet_buried": (200, 1200), "tube_clogged": (300, 1500), "pump_weak": (150, 1000),
             "tube_off": (120, 800), "pump_stuck_on": (50, 2000), "no_drainage": (10, 1100)}
    faults = [make_fault(kind, *span, channel=0) for kind, span in spans.items()]
    faults += [make_fault("battery_old", 10, 500), make_fault("battery_old", 20, 700),
               make_fault("battery_sagging", 30, 600), make_fault("battery_cold", 40, 650),
               make_fault("siphon", 500, 1400, channel=1)]
    one, plain = world(faults), world()
    one.advance(3000)
    line, was = one.channels[0].line, plain.channels[0].line
    for name in ("left", "weak", "valve", "air_hole", "buried", "welded", "siphon_fault", "drop_mm", "faults"):
        assert getattr(line, name) == getattr(was, name), name
    assert one.reservoir.base_mm == plain.reservoir.base_mm
    assert one.channels[0].tube_off is None and one.channels[0].pot.spec.drainage_hole
    battery, same = one.battery, plain.battery
    assert (battery.capacity_mah, battery.chill_c) == (same.capacity_mah, same.chill_c)
    assert battery.resistance_times == pytest.approx(same.resistance_times)


# ---- the schedule as data ------------------------------------------------------------------


def test_a_schedule_from_tables():
    entries = [{"kind": "tube_off", "channel": 1, "start_h": 2.0, "end_h": 3.5, "where": "floor"},
               {"kind": "radio_down", "start_s": 10}]
    faults, wrong = parse_faults(entries, 3, "x.toml")
    assert wrong == []
    assert (faults[0].start_s, faults[0].end_s, faults[0].channel) == (7200.0, 12_600.0, 1)
    assert faults[0].params == {"where": "floor", "drop_mm": 5.0}
    assert faults[1].end_s == float("inf")


def test_faults_end_in_the_midst_of_a_long_sleep():
    one = world([make_fault("probe_shorted", 5000, 9000, channel=0)])
    one.advance(20_000)
    assert not one.faults[0].active and one.faults[0].bit == 0 and median(one) > 10_000
