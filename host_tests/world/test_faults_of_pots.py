"""Mishaps of pots and plants bite, are counted when they bite, and are undone where a person could."""

import pytest
from potreeve_tools.world.faults.kinds import make_fault
from small_rigs import world
from struck import dry_raw, given, median, over, struck

DAY = 86_400.0


def test_bone_dry_peat_sheds_water():
    """Very dry peat: water runs straight to the tray while the probe still reads dry."""
    one, fault = struck("dry_substrate", change=lambda d: d["pot"][0].update(leaf_area_cm2=10))
    before, raw = one.truth(), median(one)
    assert fault.bit == 1 and before["pots"][0]["moisture_pm"] < 60
    one.pulse(0, 15_000)
    one.advance(60)
    after = one.truth()
    poured = after["pots"][0]["given_ml"] - before["pots"][0]["given_ml"]
    assert after["tray_ml"] - before["tray_ml"] > 0.7 * poured and fault.bit == 2
    assert median(one) > raw - 2500


def test_bone_dry_peat_struck_whether_it_is_ever_watered_or_not():
    """Its plant died, called for, and the judge said that no mishap had made a difference (seed 85655 of the swarm)."""
    one, fault = struck("dry_substrate", channel=2)
    assert one.channels[2].pot.moisture_pm < 300 and fault.bit == 1


def test_swelling_pellet_holds_little_at_first():
    one, fault = struck("swelling_pellet", channel=2)
    small = one.channels[2].pot.holds_ml
    for _ in range(6):
        one.pulse(2, 15_000)
        one.advance(1800)
    one.settle()
    assert one.channels[2].pot.holds_ml > 1.2 * small and fault.bit == 7
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
