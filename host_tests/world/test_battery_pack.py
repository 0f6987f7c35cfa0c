"""Battery: charge counted, voltages, sag, cold, age."""

import pytest
from potreeve_tools.world.battery import Battery, full_mv, ocv_v


@pytest.mark.parametrize("chemistry", ["lithium", "alkaline", "nimh"])
def test_voltage_falls_with_charge_and_resistance_grows(chemistry):
    volts = [ocv_v(chemistry, soc / 100) for soc in range(101)]
    assert all(a < b for a, b in zip(volts, volts[1:]))
    full, flat = Battery(chemistry, 2, 2000), Battery(chemistry, 2, 2000, start_pct=5)
    assert flat.resistance_ohm() > 1.5 * full.resistance_ohm()
    assert full.open_mv() == full_mv(chemistry, 2)


def test_lithium_points_are_the_cell_librarys():
    """PyBaMM Chen2020 open-circuit voltages (run at 26.10)."""
    for soc, volts in ((1, 4.200), (0.9, 4.097), (0.5, 3.751), (0.2, 3.485), (0.05, 3.109), (0, 2.5)):
        assert ocv_v("lithium", soc) == pytest.approx(volts)


def test_alkaline_points_and_plateau_of_nimh():
    """Alkaline 1.6 V fresh, about half at 1.25 V, nearly empty at 1.0 V (coarse, light load)."""
    assert ocv_v("alkaline", 1) == 1.6 and ocv_v("alkaline", 0.5) == 1.25
    assert ocv_v("alkaline", 0.08) == pytest.approx(1.0, abs=0.02)
    assert ocv_v("nimh", 0.9) - ocv_v("nimh", 0.2) < 0.12


def test_charge_is_counted_to_the_coulomb():
    pack = Battery("lithium", 1, 1000)
    for _ in range(3600):
        pack.draw(100_000, 1000)
    assert pack.used_mah == pytest.approx(100.0) and pack.left_mah == pytest.approx(900.0)
    pack.draw(10_000_000, 3_600_000)
    assert pack.left_mah == 0.0 and pack.soc == 0.0


def test_sag_is_current_times_resistance():
    pack = Battery("alkaline", 3, 2500)
    assert pack.open_mv() - pack.loaded_mv(500) == pytest.approx(500 * pack.resistance_ohm())
    assert pack.loaded_mv(1e9) == 0.0


def test_alkaline_resistance_runs_from_a_fifth_to_an_ohm():
    """0.15-0.3 ohm fresh, up to 1 ohm flat (from memory, so wide bounds)."""
    assert 0.15 <= Battery("alkaline", 1, 2500).resistance_ohm() <= 0.3
    assert 0.8 <= Battery("alkaline", 1, 2500, start_pct=1).resistance_ohm() <= 1.2


def test_cold_costs_charge_and_adds_resistance():
    pack = Battery("alkaline", 3, 2500, start_pct=80)
    warm = pack.soc, pack.resistance_ohm(), pack.loaded_mv(300)
    pack.temp_c = 0.0
    assert pack.soc == pytest.approx(warm[0] - 0.25)
    assert pack.resistance_ohm() > 2 * warm[1] and pack.loaded_mv(300) < warm[2]
    pack.temp_c = 25.0
    assert pack.soc == pytest.approx(warm[0])


@pytest.mark.parametrize("temp_c, percent", [(21, 2), (29, 5)])
def test_alkaline_self_discharge(temp_c, percent):
    """2 % a year at 21 degC, 5 % at 29 (battery FAQ)."""
    pack = Battery("alkaline", 3, 1000)
    for _ in range(365):
        pack.rest(86_400, temp_c)
    assert pack.leaked_mah / 10 == pytest.approx(percent, rel=0.05)


def test_an_old_pack_sags_more():
    new, old = Battery("lithium", 1, 2500), Battery("lithium", 1, 2500, resistance_times=5.0)
    assert new.loaded_mv(400) > old.loaded_mv(400)
