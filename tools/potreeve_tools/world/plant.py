"""A plant in a pot: how much it drinks, how it fares, how it grows.

Transpiration is the Penman-Monteith combination (FAO-56 Eq 3) per square metre
of leaf, times the leaf area. What FAO-56 takes from a field is replaced:

* radiation: short-wave at the sill caught by the crown and spread over its leaf
  area (Beer's law); long-wave exchange indoors is left out, since walls, pane
  and leaves are all near air temperature;
* air: a fixed leaf boundary-layer resistance for still air instead of wind
  (Eq 4 divides by the wind, which on a sill is far below the paper's 0.5 m/s);
* surface: the paper's leaf resistance of 100 s/m (Eq 5) holds for well-lit
  leaves; dimmer light and dry air close stomata further;
* crop: the conductance is scaled by the species' basal crop coefficient.

The result is held against published figures per leaf and per plant (van Iersel
et al. 2010: 12-44 ml per small bedding plant and day; Erwin et al.: 0.43-4.2
mmol/m2/s per leaf), not against ET per field.

Drought follows FAO-56 Eq 84. Standing wet follows sweet-pepper trials: leaf
conductance 145 -> 78 -> 18 after one and two days without root oxygen, recovery
about nine days after a 72 h flood (abstracts only).
"""

from math import exp

from . import fao56

AIR_RESISTANCE_S_M = 150.0  # ours: a 4 cm leaf in about 0.1 m/s of air
LEAF_RESISTANCE_S_M = 100.0  # FAO-56 Eq 5
NIGHT_CONDUCTANCE_M_S = 0.0003  # ours: stomata shut, cuticle leaks; a thirtieth of Eq 5
HALF_LIGHT_WM2 = 60.0  # ours: short-wave at the leaf for half-open stomata
HALF_VPD_KPA = 1.5  # ours: deficit that halves the opening
LEAF_AREA_INDEX = 2.5  # ours: leaf area over crown area
EXTINCTION = 0.5  # Beer's law, leaves at all angles; from memory
LIGHT_PER_LEAF = (1.0 - fao56.ALBEDO) * (1.0 - exp(-EXTINCTION * LEAF_AREA_INDEX)) / LEAF_AREA_INDEX
CUTICLE = 0.03  # ours: what a wilted plant still loses
WILTED_BELOW = 0.15  # ours: stress coefficient below which leaves hang
FULL_LIGHT_WM2 = 45.0  # ours: daily-mean short-wave for full growth, about 8 mol/m2/d
WET_AFTER_1D = 78.0 / 145.0
WET_AFTER_2D = 18.0 / 145.0
WET_RECOVERY = 72.0 / (9.0 * 24.0)  # hours forgotten per hour out of the wet


class PlantState:
    """One plant's life. Read `alive`, `wilted`, `wilted_h`, `wet_h`, `reason`.

    leaf_area_cm2 (one side) may be changed from outside: it grows, it is pruned.
    stress is Ks of the last step, 1 = none.
    """

    __slots__ = (
        "plant",
        "leaf_area_cm2",
        "leaf_area_max_cm2",
        "alive",
        "reason",
        "stress",
        "wilted",
        "wilted_h",
        "wet_h",
        "_kcb",
        "_p",
        "_use_mm_d",
        "_growth_s",
        "_wet_death_h",
        "_wilt_death_h",
    )

    def __init__(self, plant, leaf_area_cm2, vigour=1.0, pot_ml=None):
        self.plant = plant
        self.leaf_area_cm2 = float(leaf_area_cm2)
        most_cm2 = plant.leaf_area_max_cm2.value if pot_ml is None else plant.leaf_area_in(pot_ml)
        self.leaf_area_max_cm2 = max(most_cm2, self.leaf_area_cm2)
        self.alive = True
        self.reason = ""
        self.stress = 1.0
        self.wilted = False
        self.wilted_h = 0.0
        self.wet_h = 0.0
        self._kcb = plant.basal_coefficient.value * vigour
        self._use_mm_d = 5.0  # running mean of a day, over the pot's area; Table 22 is for 5 mm/d
        self._p = plant.allowed_depletion.value
        self._growth_s = plant.growth_per_d.value / 86400.0
        self._wet_death_h = plant.wet_death_h.value
        self._wilt_death_h = plant.wilt_death_h.value

    def potential_ml_s(self, air):
        """What it would transpire with water and root air aplenty, ml/s."""
        if not self.alive:
            return 0.0
        return leaf_transpiration_kg_m2_s(air, self._kcb) * self.leaf_area_cm2 * 0.1  # 1e-4 m2/cm2, 1e3 ml/kg

    def demand_ml(self, dt_s, air, taw_mm, depletion_mm, pot_area_cm2):
        """What it wants in dt_s (at most an hour or so), given its root zone in mm over the pot's area."""
        potential = self.potential_ml_s(air)
        self._use_mm_d += (potential * 864000.0 / pot_area_cm2 - self._use_mm_d) * dt_s / 86400.0
        p = fao56.adjusted_depletion_fraction(self._p, self._use_mm_d)
        self.stress = stress = fao56.stress_coefficient(taw_mm, depletion_mm, p)
        if stress < CUTICLE:
            stress = CUTICLE
        if self.wet_h > 0.0:
            stress *= wet_factor(self.wet_h)
        return potential * stress * dt_s

    def live(self, dt_s, air, drowned):
        """Grow, wilt, recover or die over dt_s; `drowned` says the roots lack air."""
        if not self.alive:
            return
        hours = dt_s / 3600.0
        if drowned:
            self.wet_h += hours
            if self.wet_h >= self._wet_death_h:
                self._die("roots drowned")
                return
        elif self.wet_h > 0.0:
            self.wet_h = max(0.0, self.wet_h - hours * WET_RECOVERY)
        stress = self.stress
        self.wilted = wilted = stress < WILTED_BELOW
        if wilted:
            self.wilted_h += hours
            if self.wilted_h >= self._wilt_death_h:
                self._die("dried out")
                return
        elif self.wilted_h > 0.0:
            self.wilted_h = max(0.0, self.wilted_h - hours)
        area = self.leaf_area_cm2
        if wilted or (drowned and self.wet_h > 6.0):
            # Ours: a tenth of the leaf a day; sweet pepper drops leaves after 6 h under water (Guh & Kuk 1996).
            self.leaf_area_cm2 = area * max(0.0, 1.0 - 0.004 * hours)
        elif self.wet_h <= 0.0:
            light = air.solar_wm2 / FULL_LIGHT_WM2
            # Light beyond four times the mean is no more use; a mean day still comes out near 1.
            rate = self._growth_s * stress * (light if light < 4.0 else 4.0)
            self.leaf_area_cm2 = area + dt_s * rate * area * (1.0 - area / self.leaf_area_max_cm2)

    def _die(self, reason):
        self.alive = False
        self.reason = reason
        self.stress = 0.0


def leaf_transpiration_kg_m2_s(air, crop_coefficient=1.0):
    """Transpiration per m2 of leaf, unstressed (FAO-56 Eq 3 with the sill's terms)."""
    light = air.solar_wm2
    conductance = NIGHT_CONDUCTANCE_M_S
    if light > 0.0:
        conductance += (
            light / (light + HALF_LIGHT_WM2) * HALF_VPD_KPA / (HALF_VPD_KPA + air.vpd_kpa) / LEAF_RESISTANCE_S_M
        )
    return fao56.combination_kg_s(
        air.delta_kpa_c,
        air.gamma_kpa_c,
        light * LIGHT_PER_LEAF,
        air.vpd_kpa,
        AIR_RESISTANCE_S_M,
        1.0 / (conductance * crop_coefficient),
        air.temp_c,
        air.pressure_kpa,
    )


def wet_factor(wet_h):
    """Share of leaf conductance left after hours without root air: 1, .54, .12 at 0, 24, 48 h."""
    if wet_h <= 24.0:
        return 1.0 - (1.0 - WET_AFTER_1D) * wet_h / 24.0
    return max(0.05, WET_AFTER_1D - (WET_AFTER_1D - WET_AFTER_2D) * (wet_h - 24.0) / 24.0)
