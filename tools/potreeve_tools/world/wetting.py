"""How water moves through the substrate of a pot.

Poured water fills from the top and what a layer holds beyond its capacity sinks
(minutes). Layers even out towards hydrostatic rest (an hour when wet,
days when dry or tall). Dry mix turns repellent and lets water run past. A wet tray is
drawn up. Each part is a closed form in dt, so steps of seconds and of an hour
agree in what they keep, and every millilitre is booked somewhere.

Times without a source are our choice; they set how soon, not how much.
"""

import math
from math import exp

from . import fao56
from .column import column_for
from .plant import EXTINCTION

DRAIN_S = 150.0  # gravity, per layer; a pot has drained after 10-15 min (Purdue extension)
SPREAD_S = 600.0  # sideways from the drip point towards the probe
# Capillary evening: the slowest mode of a column of height H dies away over H^2 / (pi^2 D). D from pine bark, the one
# mix with published conductivities (O'Meara, Chappell, van Iersel 2014, HortScience 49(4):493, V-abs): .115 cm/d at
# theta .38 and .000069 at .17, over the slope of our bark curve there: 77 and 1.4 cm2/d (D), that is, 270 cm2/d when
# full and less by fill^4, fill of the wettest layer. Conductivity of peat collapses alike (Londra 2010, V-abs).
EVEN_CM2_D = 270.0
EVEN_POWER = 4
EVEN_MOST_S = 10.0 * 86400.0
WICK_S = 5400.0  # drawing up from a wet tray
REPEL_S = 12.0 * 3600.0  # dry mix turning repellent
REWET_S = 36.0 * 3600.0  # and turning wettable again once moist
CHANNEL = 0.10  # share of sinking water that misses the next layer's pores
SURFACE_RESISTANCE_S_M = 180.0  # still air; puts wet soil in the 1-4 mm/d of an open tray indoors
SURFACE_STAGE_ONE = 0.45  # REW/TEW, middle of FAO-56 Table 19
SWELL_S = 1800.0
DROWN_SHARE = 0.25  # of the pores that hold air at container capacity filled: roots lack air


def potential_evaporation_ml(dt_s, air, leaf_area_cm2, area_cm2):
    """What a wet surface under the leaves would lose, ml."""
    shade = exp(-EXTINCTION * leaf_area_cm2 / area_cm2)
    return (
        fao56.combination_kg_s(
            air.delta_kpa_c,
            air.gamma_kpa_c,
            air.solar_wm2 * shade * (1.0 - fao56.ALBEDO),
            air.vpd_kpa,
            SURFACE_RESISTANCE_S_M,
            0.0,
            air.temp_c,
            air.pressure_kpa,
        )
        * area_cm2
        * 0.1
        * dt_s
    )


class WetSubstrate:
    """The substrate of one pot and the water in it, ml per layer, top layer first.

    Volumes and capacities are plain attributes: container_capacity_ml, air_dry_ml,
    holds_ml (between the two), theta_cc, theta_air_dry, area_cm2.
    """

    def __init__(self, spec, mix, retention):
        self.spec = spec
        self.mix = mix
        self.retention = retention
        self.column = column_for(retention, spec.height_cm, spec.layers)
        self.area_cm2 = math.pi / 4.0 * spec.diameter_cm**2
        self.swollen = mix.swells_from.value  # 1 = full volume
        self._size(self.swollen)
        start = self.air_dry_ml + spec.start_pm / 1000.0 * self.holds_ml
        self._w = [x * self._layer_ml for x in self.column.at_rest(start / self._volume_ml)]
        self._repel = [self._repel_target(x) for x in self._w]  # a pot found dry has long been dry
        self._wettable = not any(self._repel)
        self._pond_ml = 0.0
        self._settled_ml = self._w[0]  # top layer as it is away from the drip point

    def _size(self, swollen):
        """Set every volume for a share of the full size."""
        layers = self.spec.layers
        column = self.column
        self._volume_ml = self.area_cm2 * self.spec.height_cm * swollen
        self._layer_ml = self._volume_ml / layers
        self._dry_ml = column.theta_r * self._layer_ml
        self._full_ml = column.theta_s * self._layer_ml
        self._even_s = 86400.0 * (self.spec.height_cm * swollen) ** 2 / (math.pi**2 * EVEN_CM2_D)
        self._cap_ml = [x * self._layer_ml for x in column.capacity]
        self._rim_ml = self.area_cm2 * self.spec.rim_cm
        self.theta_cc = sum(column.capacity) / layers
        self.theta_air_dry = column.theta_r
        self.container_capacity_ml = sum(self._cap_ml)
        self.air_dry_ml = self._dry_ml * layers
        saturated = self._full_ml * layers
        self._drown_ml = self.container_capacity_ml + DROWN_SHARE * (saturated - self.container_capacity_ml)
        height_mm = self._volume_ml / self.area_cm2 * 10.0
        self._taw_mm = fao56.total_available(self.theta_cc, self.mix.theta_wilting.value, height_mm)
        self.holds_ml = self.container_capacity_ml - self.air_dry_ml
        self._hold_ml = self.holds_ml / layers
        self._repel_ml = self.mix.theta_repel.value * self._layer_ml
        self._loss_ml = self.mix.loss.value * self._layer_ml
        self._tew_mm = (self._cap_ml[0] - self._dry_ml) / self.area_cm2 * 10.0

    def _pour(self, ml):
        """Pour water on top. Returns the part (ml) that ran out at once."""
        w = self._w
        ml, out = self._run_past(ml)
        w[0] += ml
        w[0] += self._pond_ml
        self._stack(w)
        if self._pond_ml > self._rim_ml:
            out += self._pond_ml - self._rim_ml
            self._pond_ml = self._rim_ml
        return out

    def _run_past(self, ml):
        """What of water poured on top stays there, and what runs out at once: mix that sheds it lets some down its
        cracks."""
        if self._repel[0] <= 0.0:
            return ml, 0.0
        past = ml * self.mix.bypass.value * self._repel[0]
        if self.spec.drainage_hole:
            return ml - past, past
        self._w[-1] += past  # down the cracks, where it stands
        return ml - past, 0.0

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

    def _move(self, dt_s, standing_mm, tray_ml):
        """All that water does by itself in dt_s. Returns (left through the hole, drawn from the tray)."""
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
            tau = self._even_s if fill >= 1.0 else self._even_s / fill**EVEN_POWER
            even = 1.0 - exp(-dt_s / (tau if tau < EVEN_MOST_S else EVEN_MOST_S))
            rest = self.column.at_rest(water / self._volume_ml)
            scale = water / sum(rest)  # keeps every drop, whatever the table rounds
            for i, x in enumerate(rest):
                w[i] += even * (x * scale - w[i])
        if not self._wettable or min(w) < self._repel_ml:
            self._turn_repellent(dt_s)
        settled = self._settled_ml
        self._settled_ml = settled + (w[0] - settled) * (1.0 - exp(-dt_s / SPREAD_S)) if settled < w[0] else w[0]
        if level:
            return out, self._draw_up(dt_s, wet * self._volume_ml - water, tray_ml)
        return out, 0.0

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

    def _evaporate(self, dt_s, air, leaf_area_cm2):
        """Loss from the surface, ml: FAO-56 two stages over the top layer, shaded by the leaves."""
        w = self._w
        area = self.area_cm2
        potential = potential_evaporation_ml(dt_s, air, leaf_area_cm2, area)
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

    def _take(self, ml):
        """Roots draw up to ml, from each layer by what is to be had there. Returns what they got."""
        w = self._w
        dry = self._dry_ml
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
