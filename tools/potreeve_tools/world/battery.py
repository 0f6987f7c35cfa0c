"""The battery: charge, open-circuit voltage, inner resistance, sag.

Open-circuit voltage by state of charge. Lithium: PyBaMM Chen2020 (NMC 21700),
open circuit. Alkaline: 1.6 V fresh, 1.25 V about half, 1.0 V nearly empty.
Nickel-metal-hydride: a flat plateau about 1.2-1.3 V, end at 1.0 V (points
between are ours). Resistances are from memory and configurable, never an
oracle: alkaline 0.15-0.3 ohm fresh to 1 ohm flat. Self-discharge: alkaline
2 %/yr at 21 degC, 5 % at 29, 25 % at 38; lithium 1-2 % a month plus up to 3 %
for its protection; low-self-discharge nickel-metal-hydride 15 % a year.
"""

import math
from bisect import bisect_right

CHEMISTRIES = ("lithium", "alkaline", "nimh")

_OCV = {
    "lithium": (
        (0.0, 2.500),
        (0.05, 3.109),
        (0.10, 3.296),
        (0.20, 3.485),
        (0.30, 3.581),
        (0.40, 3.667),
        (0.50, 3.751),
        (0.60, 3.841),
        (0.70, 3.948),
        (0.80, 4.042),
        (0.90, 4.097),
        (1.00, 4.200),
    ),
    "alkaline": (
        (0.0, 0.80),
        (0.05, 0.95),
        (0.10, 1.03),
        (0.30, 1.16),
        (0.50, 1.25),
        (0.70, 1.36),
        (0.90, 1.50),
        (1.00, 1.60),
    ),
    "nimh": (
        (0.0, 1.00),
        (0.05, 1.10),
        (0.10, 1.15),
        (0.20, 1.20),
        (0.50, 1.24),
        (0.90, 1.30),
        (0.95, 1.33),
        (1.00, 1.40),
    ),
}
# per cell at 20 degC, fresh; growth towards flat as a multiple of that
_OHM = {"lithium": (0.09, 1.5), "alkaline": (0.20, 4.0), "nimh": (0.05, 2.0)}
# protected lithium cells switch off at 2.5 V; the others go on to nothing
_CUT_OFF_MV = {"lithium": 2500.0, "alkaline": 0.0, "nimh": 0.0}
# share of the charge that can be had at 0 degC (alkaline: 75 % at low drain, from memory)
_COLD_SHARE = {"lithium": 0.90, "alkaline": 0.75, "nimh": 0.88}
_COLD_OHM_PER_DEGC = {"lithium": 0.05, "alkaline": 0.06, "nimh": 0.04}
_DEFAULT_LEAK_PM_YEAR = {"lithium": 500, "alkaline": 20, "nimh": 150}
# warmth speeds self-discharge. Alkaline: through 2 % at 21 and 5 % at 29 degC. The others are ours;
# lithium's loss is mostly its protection circuit, which hardly minds
_LEAK_DOUBLING_DEGC = {"lithium": 25.0, "alkaline": 6.05, "nimh": 10.0}
_LEAK_REF_C = 21.0
_YEAR_S = 365.25 * 86400


def ocv_v(chemistry, soc):
    """Open-circuit voltage of one cell, volts, at a state of charge of 0..1."""
    points = _OCV[chemistry]
    if soc <= 0:
        return points[0][1]
    if soc >= 1:
        return points[-1][1]
    at = bisect_right(points, (soc, 99.0))
    (x0, y0), (x1, y1) = points[at - 1], points[at]
    return y0 + (y1 - y0) * (soc - x0) / (x1 - x0)


class Battery:
    """A pack of equal cells in series.

    capacity_mah: of one cell, new, at 20 degC. start_pct: charge at the start.
    resistance_times: 1 for new cells, more for old ones. leak_pm_year:
    self-discharge at 21 degC, per mille of capacity a year (None: by chemistry).
    """

    def __init__(self, chemistry, cells, capacity_mah, start_pct=100.0, resistance_times=1.0, leak_pm_year=None):
        self.chemistry = chemistry
        self.cells = cells
        self.capacity_mah = self.new_mah = float(capacity_mah)
        self.left_mah = self.capacity_mah * start_pct / 100.0
        self.used_mah = 0.0
        self.leaked_mah = 0.0
        self.resistance_times = resistance_times
        self.temp_c = 20.0
        self.chill_c = 0.0
        leak = _DEFAULT_LEAK_PM_YEAR[chemistry] if leak_pm_year is None else leak_pm_year
        self._doubling_c = _LEAK_DOUBLING_DEGC[chemistry]
        self._leak_mah_per_s = self.capacity_mah * leak / 1000.0 / _YEAR_S

    def draw(self, ua, ms):
        """Take a charge: microamps for milliseconds (at the battery)."""
        mah = ua * ms * 2.7777777777777777e-10
        self.left_mah = max(0.0, self.left_mah - mah)
        self.used_mah += mah

    def rest(self, dt_s, temp_c):
        """Let time pass: self-discharge at a temperature."""
        self.temp_c = temp_c
        rate = self._leak_mah_per_s * 2.0 ** ((temp_c + self.chill_c - _LEAK_REF_C) / self._doubling_c)
        leak = min(self.left_mah, rate * dt_s)
        self.left_mah -= leak
        self.leaked_mah += leak

    def age(self, capacity_left):
        """Turn it into an old battery with a share of its capacity."""
        self.capacity_mah *= capacity_left
        self.left_mah *= capacity_left

    @property
    def soc(self):
        """State of charge that can be had at the present temperature, 0..1."""
        cold = max(0.0, 20.0 - self.temp_c - self.chill_c) / 20.0
        lost = min(0.6, (1.0 - _COLD_SHARE[self.chemistry]) * cold)
        return max(0.0, self.left_mah / self.capacity_mah - lost)

    def resistance_ohm(self):
        """Inner resistance of the pack, ohms: grows towards flat and with cold."""
        ohm, growth = _OHM[self.chemistry]
        cold = max(0.0, 20.0 - self.temp_c - self.chill_c)
        soc = min(1.0, self.soc)
        by_charge = 1.0 + growth * (1.0 - soc) ** 3
        by_cold = math.exp(_COLD_OHM_PER_DEGC[self.chemistry] * cold)
        return self.cells * ohm * by_charge * by_cold * self.resistance_times

    def open_mv(self):
        """Open-circuit voltage of the pack, millivolts."""
        return 1000.0 * self.cells * ocv_v(self.chemistry, self.soc)

    def loaded_mv(self, ma):
        """Voltage of the pack under a load in milliamps, millivolts.

        0 when it is empty, or when a lithium cell's protection cuts off.
        """
        mv = self.open_mv() - ma * self.resistance_ohm()
        if self.left_mah <= 0.0 or mv < _CUT_OFF_MV[self.chemistry] * self.cells:
            return 0.0
        return mv


def full_mv(chemistry, cells):
    """Open-circuit voltage of a full pack, millivolts."""
    return 1000.0 * cells * _OCV[chemistry][-1][1]
