"""A pot on the sill: substrate, water and a plant, one step at a time.

In a step water first moves by itself (wetting.py), then the surface evaporates
and the plant drinks (plant.py). Whatever enters or leaves is added up.
"""

import math

from . import fao56
from .plant import PlantState
from .potspec import PotFlux, PotSpec
from .substrates import SUBSTRATES
from .wetting import WetSubstrate

__all__ = ["Pot", "PotFlux", "PotSpec"]

STEP_MOST_S = 3600.0  # longer ones are cut up


class Pot(WetSubstrate):
    """A pot with its plant.

    `spec` is a PotSpec. `rng` (random.Random or None) gives each pot its own
    small differences from the data: total pore space +-2 %, use of water +-10 %.
    Totals since the start: given_ml, transpired_ml, evaporated_ml, leachate_ml,
    uptake_ml; initial_ml was in it at the start.
    """

    def __init__(self, spec, rng=None):
        mix = SUBSTRATES[spec.substrate]
        retention = mix.retention
        vigour = 1.0
        if rng is not None:
            packing = rng.uniform(0.98, 1.02)
            vigour = rng.uniform(0.9, 1.1)
            retention = type(retention)(
                retention.theta_r, retention.theta_s * packing, retention.alpha_per_cm, retention.n
            )
        super().__init__(spec, mix, retention)
        pot_ml = self.area_cm2 * spec.height_cm
        self.plant = PlantState(spec.kind, spec.leaf_area_cm2, vigour, pot_ml)
        self.given_ml = self.transpired_ml = self.evaporated_ml = self.leachate_ml = self.uptake_ml = 0.0
        self.initial_ml = self.water_ml

    # --- what one may ask ---------------------------------------------------

    @property
    def water_ml(self):
        """All water in the pot, what stands on the surface included."""
        return sum(self._w) + self._pond_ml

    @property
    def volume_ml(self):
        """Volume of the substrate."""
        return self._volume_ml

    @property
    def theta(self):
        """Mean water content of the root zone, m3/m3 (roots fill the whole pot)."""
        return sum(self._w) / self._volume_ml

    @property
    def moisture_pm(self):
        """True moisture, 0 at air-dry and 1000 at container capacity; more while it drains."""
        return 1000.0 * (sum(self._w) - self.air_dry_ml) / self.holds_ml

    @property
    def theta_wilting(self):
        return self.mix.theta_wilting.value

    @property
    def allowed_depletion(self):
        """p of FAO-56 Table 22 for this plant: share of available water it may use."""
        return self.plant.plant.allowed_depletion.value

    @property
    def refill_pm(self):
        """Moisture at which RAW is used up: where a tended pot wants its refill."""
        raw_mm = fao56.readily_available(self._taw_mm, self.allowed_depletion)
        return 1000.0 - 1000.0 * raw_mm * self.area_cm2 / 10.0 / self.holds_ml

    @property
    def wilting_pm(self):
        return 1000.0 * (self.theta_wilting - self.theta_air_dry) / (self.theta_cc - self.theta_air_dry)

    @property
    def alive(self):
        return self.plant.alive

    @property
    def stress(self):
        """FAO-56 Ks of the last step: 1 unstressed, 0 no water left."""
        return self.plant.stress

    @property
    def leaf_area_cm2(self):
        return self.plant.leaf_area_cm2

    @property
    def waterlogged(self):
        """Whether the roots are short of air just now."""
        return sum(self._w) > self._drown_ml

    def grow(self, times):
        """Let the plant be `times` as large at once (and able to keep that size)."""
        plant = self.plant
        plant.leaf_area_cm2 *= times
        plant.leaf_area_max_cm2 = max(plant.leaf_area_max_cm2, plant.leaf_area_cm2)

    def layer_theta(self):
        """Water content of each layer, m3/m3, top first."""
        return [w / self._layer_ml for w in self._w]

    def probe_theta(self, from_cm, to_cm=None):
        """Water content a probe sees between two depths below the surface, m3/m3.

        One depth gives the layer there. Water that has just been poured is still
        near the drip point and reaches the probe over some ten minutes.
        """
        contents = [(w if i else min(w, self._settled_ml)) / self._layer_ml for i, w in enumerate(self._w)]
        return self.at_depth(contents, from_cm) if to_cm is None else self._between(contents, from_cm, to_cm)

    def at_depth(self, contents, depth_cm):
        """What a probe with its middle at a depth sees of contents given layer by layer: the layer there."""
        return self._between(contents, depth_cm, depth_cm)

    def _between(self, contents, from_cm, to_cm):
        thick = self.column.height_cm * self.swollen / self.spec.layers
        seen = weight = 0.0
        for i, content in enumerate(contents):
            top, bottom = i * thick, (i + 1) * thick
            if to_cm > from_cm:
                share = max(0.0, min(to_cm, bottom) - max(from_cm, top))
            else:
                share = 1.0 if top <= from_cm < bottom else 0.0
            if share:
                seen += share * content
                weight += share
        return seen / weight if weight else 0.0

    # --- what one may do ----------------------------------------------------

    def add_water(self, ml):
        """Pour water on top. Returns the part (ml) that ran out at once; it is not in the next step's flux."""
        if not ml >= 0.0:
            raise ValueError(f"add_water({ml}): an amount of water cannot be negative")
        out = self._pour(ml)
        self.given_ml += ml
        self.leachate_ml += out
        return out

    def step(self, dt_s, air, standing_mm=0.0, tray_ml=math.inf):
        """Advance by dt_s in the given Air. Returns PotFlux.

        standing_mm: depth of tray water around the pot's foot; tray_ml bounds
        what the pot may draw up. The caller takes uptake_ml out of its tray.
        """
        if dt_s <= 0.0:
            return PotFlux(0.0, 0.0, 0.0, 0.0)
        if dt_s <= STEP_MOST_S:
            return self._step(dt_s, air, standing_mm, tray_ml)
        parts = math.ceil(dt_s / STEP_MOST_S)
        total = [0.0, 0.0, 0.0, 0.0]
        for _ in range(parts):
            flux = self._step(dt_s / parts, air, standing_mm, tray_ml - total[3])
            total = [a + b for a, b in zip(total, flux)]
        return PotFlux(*total)

    def _step(self, dt_s, air, standing_mm, tray_ml):
        plant = self.plant
        out, uptake = self._move(dt_s, standing_mm, tray_ml)
        evaporated = self._evaporate(dt_s, air, plant.leaf_area_cm2)
        transpired = 0.0
        water = sum(self._w)
        if plant.alive:
            depletion_mm = (self.container_capacity_ml - water) / self.area_cm2 * 10.0
            transpired = self._take(plant.demand_ml(dt_s, air, self._taw_mm, depletion_mm, self.area_cm2))
            plant.live(dt_s, air, water > self._drown_ml)
        self.transpired_ml += transpired
        self.evaporated_ml += evaporated
        self.leachate_ml += out
        self.uptake_ml += uptake
        return PotFlux(transpired, evaporated, out, uptake)
