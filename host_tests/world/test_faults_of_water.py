"""Mishaps of tubes, pumps and the reservoir bite, are counted when they bite, and are undone where a person could."""

import pytest
from small_rigs import board
from struck import given, over, struck


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


def test_a_pump_that_wears_brings_less_each_day_and_is_replaced():
    one, fault = struck("pump_wearing", end=30 * 86_400.0, lost_per_day=0.1, left_least=0.3)
    fresh = given(one)
    one.advance(3 * 86_400)
    one.pulse(0, 20_000)  # its tube has run empty meanwhile
    assert given(one) == pytest.approx(0.9**3 * fresh, rel=0.05) and fault.bit > 1
    one.advance(20 * 86_400)
    one.pulse(0, 20_000)
    assert given(one) == pytest.approx(0.3 * fresh, rel=0.05)
    one.advance(30 * 86_400 + 1 - one.now_s)
    one.pulse(0, 20_000)
    assert given(one) == pytest.approx(fresh, rel=0.05)


def test_a_tub_that_weeps_wets_every_pot_from_below():
    one, fault = struck("tray_weeping", ml_h=60.0)
    tub = one.reservoir.water_ml
    before = [pot["moisture_pm"] for pot in one.truth()["pots"]]
    one.advance(6 * 3600)
    assert all(pot["moisture_pm"] > was + 10 for pot, was in zip(one.truth()["pots"], before))
    assert one.reservoir.water_ml < tub - 300 and fault.bit > 5
    assert sum(ml for _, _, _, ml, cause in one.deliveries if cause == "siphon") == pytest.approx(60.0 * fault.bit)
    assert one.balance_error_ml() == pytest.approx(0, abs=1e-6)
    over(one)
    bit = fault.bit
    one.advance(6 * 3600)
    assert fault.bit == bit
