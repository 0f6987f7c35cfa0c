"""A pot: water through layers of substrate, out of its hole, up into the plant.

One step does, in this order: ponded water soaks in; what a layer holds beyond
its capacity sinks (minutes); layers even out towards hydrostatic rest (tens of
minutes wet, days dry); a wet tray is drawn up; the surface evaporates; the
plant drinks. Each part is a closed form in dt, so steps of seconds and of an
hour agree in what they keep, and every millilitre is booked somewhere.

Times without a source are our choice; they set how soon, not how much.
"""

import math
from dataclasses import dataclass
from math import exp
from typing import NamedTuple

from . import fao56
from .column import column_for
from .plant import PlantState
from .plants import PLANTS
from .substrates import SUBSTRATES

STEP_MOST_S = 3600.0
DRAIN_S = 150.0  # gravity, per layer; a pot has drained after 10-15 min (Purdue extension)
SPREAD_S = 600.0  # sideways from the drip point towards the probe
EVEN_S = 1200.0  # capillary evening near container capacity ...
EVEN_POWER = 3  # ... slower by fill^-3, fill of the wettest layer: conductivity collapses on drying (Londra 2010)
EVEN_MOST_S = 10.0 * 86400.0
WICK_S = 5400.0  # drawing up from a wet tray
REPEL_S = 12.0 * 3600.0  # dry mix turning repellent
REWET_S = 36.0 * 3600.0  # and turning wettable again once moist
CHANNEL = 0.10  # share of sinking water that misses the next layer's pores
SURFACE_RESISTANCE_S_M = 180.0  # still air; puts wet soil in the 1-4 mm/d of an open tray indoors
SURFACE_STAGE_ONE = 0.45  # REW/TEW, middle of FAO-56 Table 19
SWELL_S = 1800.0
DROWN_SHARE = 0.25  # of the pores that hold air at container capacity filled: roots lack air


@dataclass(frozen=True)
class PotSpec:
    """What stands on the sill. cm, cm2; start_pm 0 air-dry ... 1000 container capacity."""

    name: str = "pot"
    plant: str = "mint"
    substrate: str = "peat_mix"
    diameter_cm: float = 12.0  # of the straight pot with the same volume and height
    height_cm: float = 11.0  # of the substrate
    leaf_area_cm2: float = 500.0
    start_pm: float = 900.0
    layers: int = 3
    drainage_hole: bool = True
    rim_cm: float = 1.5  # free board above the substrate

    def __post_init__(self):
        if self.plant not in PLANTS:
            raise ValueError(f"pot {self.name}: plant {self.plant!r} is unknown; choose one of {', '.join(PLANTS)}")
        if self.substrate not in SUBSTRATES:
            raise ValueError(
                f"pot {self.name}: substrate {self.substrate!r} is unknown; choose one of {', '.join(SUBSTRATES)}"
            )
        if self.layers < 3:
            raise ValueError(f"pot {self.name}: layers = {self.layers} must be 3 or more")
        for key in ("diameter_cm", "height_cm", "leaf_area_cm2"):
            if not getattr(self, key) > 0:
                raise ValueError(f"pot {self.name}: {key} = {getattr(self, key)} must be above 0")


class PotFlux(NamedTuple):
    """Where water went during a step, ml. uptake_ml came IN from the tray."""

    transpired_ml: float
    evaporated_ml: float
    leachate_ml: float
    uptake_ml: float


class Pot:
    """A pot with its plant.

    `spec` is a PotSpec. `rng` (random.Random or None) gives each pot its own
    small differences from the data: total pore space +-2 %, use of water +-10 %.
    Totals since the start: given_ml, transpired_ml, evaporated_ml, leachate_ml,
    uptake_ml; initial_ml was in it at the start.
    """

    def __init__(self, spec, rng=None):
        self.spec = spec
        self.mix = SUBSTRATES[spec.substrate]
        retention = self.mix.retention
        vigour = 1.0
        if rng is not None:
            packing = rng.uniform(0.98, 1.02)
            vigour = rng.uniform(0.9, 1.1)
            retention = type(retention)(
                retention.theta_r, retention.theta_s * packing, retention.alpha_per_cm, retention.n
            )
        self.retention = retention
        self.column = column_for(retention, spec.height_cm, spec.layers)
        self.area_cm2 = math.pi / 4.0 * spec.diameter_cm**2
        self.plant = PlantState(PLANTS[spec.plant], spec.leaf_area_cm2, vigour)
        self.swollen = self.mix.swells_from.value  # 1 = full volume
        self._size(self.swollen)
        start = self.air_dry_ml + spec.start_pm / 1000.0 * self.holds_ml
        self._w = [x * self._layer_ml for x in self.column.at_rest(start / self._volume_ml)]
        self._repel = [self._repel_target(x) for x in self._w]  # a pot found dry has long been dry
        self._wettable = not any(self._repel)
        self._pond_ml = 0.0
        self._fresh_ml = 0.0
        self.given_ml = self.transpired_ml = self.evaporated_ml = self.leachate_ml = self.uptake_ml = 0.0
        self.initial_ml = self.water_ml

    # --- what one may ask ---------------------------------------------------

    @property
    def water_ml(self):
        """All water in the pot, what stands on the surface included."""
        return sum(self._w) + self._pond_ml

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
        thick = self.column.height_cm * self.swollen / self.spec.layers
        to_cm = from_cm if to_cm is None else to_cm
        seen = weight = 0.0
        for i, w in enumerate(self._w):
            top, bottom = i * thick, (i + 1) * thick
            if to_cm > from_cm:
                share = max(0.0, min(to_cm, bottom) - max(from_cm, top))
            else:
                share = 1.0 if top <= from_cm < bottom else 0.0
            if share:
                held = w - self._fresh_ml if i == 0 else w
                seen += share * max(held, self._dry_ml) / self._layer_ml
                weight += share
        return seen / weight if weight else 0.0

    # --- what one may do ----------------------------------------------------

    def add_water(self, ml):
        """Pour water on top. Returns the part (ml) that ran out at once."""
        if ml < 0.0:
            raise ValueError(f"add_water({ml}): an amount of water cannot be negative")
        self.given_ml += ml
        w = self._w
        out = 0.0
        if self._repel[0] > 0.0:
            bypass = ml * self.mix.bypass.value * self._repel[0]
            ml -= bypass
            if self.spec.drainage_hole:
                out = bypass
            else:
                w[-1] += bypass  # down the cracks, where it stands
        w[0] += ml
        self._fresh_ml += ml
        w[0] += self._pond_ml
        self._stack(w)
        if self._pond_ml > self._rim_ml:
            out += self._pond_ml - self._rim_ml
            self._pond_ml = self._rim_ml
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

    # --- how it works -------------------------------------------------------

    def _size(self, swollen):
        """Set every volume for a share of the full size."""
        layers = self.spec.layers
        column = self.column
        self._volume_ml = self.area_cm2 * self.spec.height_cm * swollen
        self._layer_ml = self._volume_ml / layers
        self._dry_ml = column.theta_r * self._layer_ml
        self._full_ml = column.theta_s * self._layer_ml
        self._cap_ml = [x * self._layer_ml for x in column.capacity]
        self._rim_ml = self.area_cm2 * self.spec.rim_cm
        self.theta_cc = sum(column.capacity) / layers
        self.theta_air_dry = column.theta_r
        self.container_capacity_ml = sum(self._cap_ml)
        self.air_dry_ml = self._dry_ml * layers
        saturated = self._full_ml * layers
        self._drown_ml = self.container_capacity_ml + DROWN_SHARE * (saturated - self.container_capacity_ml)
        self._taw_mm = fao56.total_available(self.theta_cc, self.mix.theta_wilting.value, self._volume_ml / self.area_cm2 * 10.0)
        self.holds_ml = self.container_capacity_ml - self.air_dry_ml
        self._hold_ml = self.holds_ml / layers
        self._repel_ml = self.mix.theta_repel.value * self._layer_ml
        self._loss_ml = self.mix.loss.value * self._layer_ml
        self._tew_mm = (self._cap_ml[0] - self._dry_ml) / self.area_cm2 * 10.0

    def _stack(self, w):
        """Spread what layers cannot hold: first down into free pores, then up, then on top."""
        full = self._full_ml
        last = len(w) - 1
        if max(w) > full:
            for i in range(last):
                if w[i] > full:
                    w[i + 1] += w[i] - full
                    w[i] = full
            for i in range(last, 0, -1):
                if w[i] > full:
                    w[i - 1] += w[i] - full
                    w[i] = full
        if w[0] > full:
            self._pond_ml = w[0] - full
            w[0] = full
        else:
            self._pond_ml = 0.0

    def _step(self, dt_s, air, standing_mm, tray_ml):
        w = self._w
        if self.swollen < 0.999:
            self._swell(dt_s)
        hole = self.spec.drainage_hole
        level = standing_mm > 0.0 and hole
        cap = self._cap_ml
        if level:
            wet = self.column.mean_with_level(standing_mm / 10.0, self.retention)
            cap = [x * self._layer_ml for x in self.column.at_rest(wet)]
        if self._pond_ml > 0.0:
            w[0] += self._pond_ml
        out = self._sink(dt_s, cap, hole)
        self._stack(w)
        water = sum(w)
        fill = (max(w) - self._dry_ml) / self._hold_ml
        if fill > 0.02:
            tau = EVEN_S if fill >= 1.0 else EVEN_S / fill**EVEN_POWER
            even = 1.0 - exp(-dt_s / (tau if tau < EVEN_MOST_S else EVEN_MOST_S))
            rest = self.column.at_rest(water / self._volume_ml)
            scale = water / sum(rest)  # keeps every drop, whatever the table rounds
            for i, x in enumerate(rest):
                w[i] += even * (x * scale - w[i])
        uptake = self._draw_up(dt_s, wet * self._volume_ml - water, tray_ml) if level else 0.0
        evaporated = self._evaporate(dt_s, air)
        transpired = self._drink(dt_s, air)
        self.plant.live(dt_s, air, water > self._drown_ml)
        if self._fresh_ml > 0.0:
            self._fresh_ml = self._fresh_ml * exp(-dt_s / SPREAD_S) if self._fresh_ml > 0.01 else 0.0
        if not self._wettable or min(w) < self._repel_ml:
            self._turn_repellent(dt_s)
        self.transpired_ml += transpired
        self.evaporated_ml += evaporated
        self.leachate_ml += out
        self.uptake_ml += uptake
        return PotFlux(transpired, evaporated, out, uptake)

    def _sink(self, dt_s, cap, hole):
        """Gravity: water above a layer's capacity moves down. Returns what left the hole."""
        w = self._w
        out = 0.0
        fall = -1.0
        last = len(w) - 1
        for i, wi in enumerate(w):
            wi = w[i]
            hold = cap[i]
            if not self._wettable:
                hold -= self._repel[i] * self._loss_ml
            if wi <= hold:
                continue
            if fall < 0.0:
                fall = 1.0 - exp(-dt_s / DRAIN_S)
            move = (wi - hold) * fall
            if i < last:
                past = CHANNEL * move
                w[i] = wi - move
                w[i + 1] += move - past
                if i + 1 < last:
                    w[i + 2] += past
                elif hole:
                    out += past
                else:
                    w[i + 1] += past
            elif hole:
                w[i] = wi - move
                out += move
        return out

    def _draw_up(self, dt_s, missing_ml, tray_ml):
        """Capillary rise from a wet tray into the bottom layer, ml."""
        last = len(self._w) - 1
        ml = missing_ml * (1.0 - exp(-dt_s / WICK_S)) * (1.0 - self.mix.bypass.value * self._repel[last])
        ml = max(0.0, min(ml, tray_ml, self._full_ml - self._w[last]))
        self._w[last] += ml
        return ml

    def _evaporate(self, dt_s, air):
        """Loss from the surface, ml: FAO-56 two stages over the top layer."""
        w = self._w
        area = self.area_cm2
        shade = exp(-0.5 * self.plant.leaf_area_cm2 / area)
        potential = fao56.combination_kg_s(
            air.delta_kpa_c, air.gamma_kpa_c, air.solar_wm2 * shade * (1.0 - fao56.ALBEDO), air.vpd_kpa,
            SURFACE_RESISTANCE_S_M, 0.0, air.temp_c, air.pressure_kpa,
        ) * area * 0.1 * dt_s
        if self._pond_ml > 0.0:
            ml = potential if potential < self._pond_ml else self._pond_ml
            self._pond_ml -= ml
            return ml
        tew = self._tew_mm
        depletion = (self._cap_ml[0] - w[0]) / area * 10.0
        ml = potential * fao56.evaporation_reduction(tew, SURFACE_STAGE_ONE * tew, depletion)
        there = w[0] - self._dry_ml
        if ml > there:
            ml = there if there > 0.0 else 0.0
        w[0] -= ml
        return ml

    def _drink(self, dt_s, air):
        """What the plant takes, ml, from each layer by what is to be had there."""
        plant = self.plant
        if not plant.alive:
            return 0.0
        w = self._w
        dry = self._dry_ml
        depletion_mm = (self.container_capacity_ml - sum(w)) / self.area_cm2 * 10.0
        ml = plant.demand_ml(dt_s, air, self._taw_mm, depletion_mm, self.area_cm2)
        there = [x - dry if x > dry else 0.0 for x in w]
        total = sum(there)
        if ml > total:
            ml = total
        if ml <= 0.0:
            return 0.0
        share = ml / total
        for i, x in enumerate(there):
            w[i] -= share * x
        return ml

    def _repel_target(self, layer_ml):
        """Repellency (0-1) a layer tends to while it holds layer_ml."""
        span = self._repel_ml - self.mix.theta_repel_full.value * self._layer_ml
        return min(max((self._repel_ml - layer_ml) / span, 0.0), 1.0)

    def _turn_repellent(self, dt_s):
        """Mix that dries too far sheds water, and forgets it only slowly."""
        wettable = True
        for i, x in enumerate(self._w):
            target = self._repel_target(x)
            now = self._repel[i]
            now += (target - now) * (1.0 - exp(-dt_s / (REPEL_S if target > now else REWET_S)))
            if now < 0.005 and target == 0.0:
                now = 0.0
            else:
                wettable = False
            self._repel[i] = now
        self._wettable = wettable

    def _swell(self, dt_s):
        """A pressed pellet takes up water and grows, once and for all."""
        wet = min(1.0, sum(self._w) / self.container_capacity_ml)
        self.swollen += (1.0 - self.swollen) * wet * (1.0 - exp(-dt_s / SWELL_S))
        self._size(self.swollen)
