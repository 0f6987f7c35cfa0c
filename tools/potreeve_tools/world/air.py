"""The air around the plants at one moment, with what follows from it."""

from . import fao56


class Air:
    """Air and light at the sill.

    temp_c degC; rh_pct 0-100; solar_wm2 short-wave on the plants, behind glass;
    lux likewise; pressure_kpa. Derived once, because all pots share it:
    vpd_kpa, delta_kpa_c (slope of saturation), gamma_kpa_c.
    """

    __slots__ = ("temp_c", "rh_pct", "solar_wm2", "lux", "pressure_kpa", "vpd_kpa", "delta_kpa_c", "gamma_kpa_c")

    def __init__(self, temp_c, rh_pct, solar_wm2=0.0, lux=0.0, pressure_kpa=101.3):
        self.temp_c = temp_c
        self.rh_pct = rh_pct
        self.solar_wm2 = solar_wm2
        self.lux = lux
        self.pressure_kpa = pressure_kpa
        saturation = fao56.saturation_kpa(temp_c)
        self.vpd_kpa = saturation * (1.0 - rh_pct / 100.0)
        self.delta_kpa_c = 4098.0 * saturation / (temp_c + 237.3) ** 2  # Eq 13, sparing a second exponential
        self.gamma_kpa_c = 0.665e-3 * pressure_kpa

    def __repr__(self):
        return f"Air({self.temp_c:.1f} degC, {self.rh_pct:.0f} %, {self.solar_wm2:.0f} W/m2, {self.lux:.0f} lx)"
