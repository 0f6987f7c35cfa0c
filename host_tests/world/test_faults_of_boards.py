"""Mishaps of tray, electronics, battery, board, clock, and what people do: each bites and is counted."""

import pytest
from potreeve_tools.world.faults.kinds import FLAGS, make_fault
from small_rigs import world
from struck import over, struck


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
