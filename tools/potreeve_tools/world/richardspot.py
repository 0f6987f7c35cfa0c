"""A pot whose water moves after Richards: the second soil model, to hold the first against.

The same outside as pot.Pot (and the same plant, mixes, anchors), other physics inside:
`bench alive --soil richards` runs the firmware on it. The firmware was not tuned on it, and must not be.

Surface: what is poured stands there until the mix takes it in. Roots: all through the
pot, each node by a Feddes-type share (1 down to where the allowed depletion ends, 0 at
the mix's wilting content; Feddes, Kowalik, Zaradny 1978, Simulation of field water use);
wetter nodes stand in for drier ones until half the roots are short (Jarvis 1989, J.
Hydrol. 107:57; one half, from memory). Stress is the worse of that and FAO-56's Ks.
Evaporation: as much as the air wants while the top node is moist, less by Kelvin's law
when dry; what rises from below is the soil's to give. Floor: water leaves when it
presses out; a wet tray is a head at the floor.

Left out: hysteresis, paths past the mix other than those of repellent mix at the surface,
sideways flow from the drip point, swelling.
"""

import dataclasses
from math import exp

from . import conductivity
from .pot import Pot
from .potspec import PotFlux
from .richards import Edges, Hydraulics, step
from .wetting import potential_evaporation_ml

NODES_LEAST, NODES_MOST, NODE_CM = 10, 16, 1.0
BLADE_CM = 5.0  # a probe sees along its blade; common practice, no source
COMPENSATED = 0.5  # Jarvis: so many roots well off do for all; from memory
STEP_LEAST_S, STEP_FIRST_S, STEP_MOST_S = 0.01, 1.0, 1800.0
MOVES_MOST = 0.03  # water content a node may change by in one step
SINK_MOST = 0.5  # share of what is left above residual that one step may take from a node
KELVIN_CM = 8.314 * 293.0 / (0.018 * 9.81) * 100.0  # RT/Mg at 20 degC, cm: humidity of soil air is exp(h / this)


class RichardsPot(Pot):
    """See the module; the interface is Pot's."""

    def __init__(self, spec, rng=None):
        nodes = min(NODES_MOST, max(NODES_LEAST, round(spec.height_cm / NODE_CM)))
        table = conductivity.SLOW if spec.soil == "richards_slow" else conductivity.CONDUCTIVITY
        super().__init__(dataclasses.replace(spec, layers=nodes), rng)
        conducts = table[spec.substrate]
        self._soil = Hydraulics(
            self.retention,
            conducts.ks_cm_d.value / 86400.0,
            conducts.power.value,
            conducts.coarse_cm_d.value / 86400.0,
            conductivity.COARSE_CM,
        )
        self._dz = spec.height_cm / nodes
        self._theta = [w / self._layer_ml for w in self._w]
        self._h = [self._soil.head(x) for x in self._theta]
        self._dt_s = STEP_FIRST_S
        theta_stress = self.theta_cc - self.allowed_depletion * (self.theta_cc - self.theta_wilting)
        self._h_stress = self._soil.head(theta_stress)
        self._h_wilting = self._soil.head(self.theta_wilting)

    def at_depth(self, contents, depth_cm):
        """The mean along a probe's blade, of contents given node by node."""
        low = max(0.0, min(depth_cm, self.spec.height_cm) - BLADE_CM / 2.0)
        high = min(self.spec.height_cm, depth_cm + BLADE_CM / 2.0)
        return self._between(contents, low, high)

    # --- water ---------------------------------------------------------------

    def _pour(self, ml):
        w = self._w
        ml, out = self._run_past(ml)
        self._pond_ml += ml
        over = self._pond_ml - self._rim_ml
        if over > 0.0:
            # It was poured over some seconds, not in none: what the rim does not hold finds the free pores first.
            self._pond_ml = self._rim_ml
            for i, there in enumerate(w):
                taken = min(over, max(0.0, self._full_ml - there))
                w[i] += taken
                over -= taken
            out += over
        self._dt_s = STEP_FIRST_S
        return out

    def _step(self, dt_s, air, standing_mm, tray_ml):
        self._meet_changes()
        plant = self.plant
        rooted = self._rooted()
        wanted = 0.0
        if plant.alive:
            depletion_mm = (self.container_capacity_ml - sum(self._w)) / self.area_cm2 * 10.0
            wanted = plant.demand_ml(dt_s, air, self._taw_mm, depletion_mm, self.area_cm2)
            if rooted < plant.stress:
                wanted *= rooted / plant.stress
                plant.stress = rooted
        dries = self._dries_ml(dt_s, air)
        got = self._advance(dt_s, wanted / dt_s, dries / dt_s, standing_mm, tray_ml)
        transpired, evaporated, leachate, uptake = got
        water = sum(self._w)
        plant.live(dt_s, air, water > self._drown_ml)
        if not self._wettable or min(self._w) < self._repel_ml:
            self._turn_repellent(dt_s)
        self._settled_ml = self._w[0]
        self.transpired_ml += transpired
        self.evaporated_ml += evaporated
        self.leachate_ml += leachate
        self.uptake_ml += uptake
        return PotFlux(transpired, evaporated, leachate, uptake)

    def _meet_changes(self):
        """Hands and tubes change the water; heads follow. What no node can hold is pressed up."""
        layer_ml = self._layer_ml
        for i in range(len(self._w) - 1, -1, -1):
            over = self._w[i] - self._full_ml
            if over > 1e-3 * self._full_ml:
                self._w[i] = self._full_ml
                if i:
                    self._w[i - 1] += over
                else:
                    self._pond_ml += over
        for i, w in enumerate(self._w):
            theta = w / layer_ml
            if abs(theta - self._theta[i]) > 1e-12:
                self._theta[i] = theta
                self._h[i] = self._soil.head(theta)

    def _share(self, h):
        """Feddes-type share of a node, 0 to 1."""
        if h >= self._h_stress:
            return 1.0
        if h <= self._h_wilting:
            return 0.0
        return (h - self._h_wilting) / (self._h_stress - self._h_wilting)

    def _rooted(self):
        """Share of its demand that the roots can meet, 0 to 1."""
        well_off = sum(self._share(h) for h in self._h) / len(self._h)
        return min(1.0, well_off / COMPENSATED)

    def _dries_ml(self, dt_s, air):
        """What the air takes from the surface in dt_s."""
        potential = potential_evaporation_ml(dt_s, air, self.plant.leaf_area_cm2, self.area_cm2)
        if self._pond_ml > 0.0:
            return potential
        humid = exp(self._h[0] / KELVIN_CM) if self._h[0] < 0.0 else 1.0
        room = air.rh_pct / 100.0
        return potential * max(0.0, min(1.0, (humid - room) / max(1e-6, 1.0 - room)))

    def _advance(self, dt_s, drink_ml_s, dry_ml_s, standing_mm, tray_ml):
        """All that moves in dt_s. Returns (transpired, evaporated, leachate, uptake), ml."""
        area, dz, soil = self.area_cm2, self._dz, self._soil
        hole = self.spec.drainage_hole
        below_cm = standing_mm / 10.0 if hole and standing_mm > 0.0 else None
        theta, h = self._theta, self._h
        pond_cm = self._pond_ml / area
        transpired = evaporated = leachate = uptake = 0.0
        left_s = dt_s
        while left_s > 1e-9:
            span_s = min(left_s, self._dt_s)
            sink, drunk, dried, from_pond = self._sinks(theta, h, span_s, drink_ml_s, dry_ml_s, pond_cm)
            edges = Edges(
                pond_cm=pond_cm - from_pond,
                below_cm=below_cm,
                closed=not hole,
                rise_most_cm=max(0.0, tray_ml - uptake) / area,
            )
            found = step(soil, theta, h, span_s, dz, sink, edges)
            if found is None or (
                span_s > STEP_LEAST_S and max(abs(a - b) for a, b in zip(found[0], theta)) > MOVES_MOST
            ):
                self._dt_s = span_s / 2.0
                if self._dt_s < STEP_LEAST_S / 64.0:
                    theta, h = self._by_hand(theta)
                    self._dt_s = STEP_LEAST_S
                    left_s -= min(left_s, STEP_LEAST_S)
                continue
            theta, h, came, went, iterations = found
            pond_cm = max(0.0, pond_cm - from_pond - came)
            transpired += drunk * area
            evaporated += (dried + from_pond) * area
            if went >= 0.0:
                leachate += went * area
            else:
                uptake -= went * area
            left_s -= span_s
            if iterations <= 5 and span_s >= self._dt_s:
                self._dt_s = min(STEP_MOST_S, self._dt_s * 1.5)
            elif iterations >= 10:
                self._dt_s = max(STEP_LEAST_S, span_s * 0.7)
        self._theta, self._h = theta, h
        for i, x in enumerate(theta):
            self._w[i] = x * self._layer_ml
        self._pond_ml = pond_cm * area
        if self._pond_ml > self._rim_ml:  # pressed up past the rim
            leachate += self._pond_ml - self._rim_ml
            self._pond_ml = self._rim_ml
        return transpired, evaporated, leachate, uptake

    def _by_hand(self, theta):
        """(theta, h) after a little water went from a node to the one beside it, where they differ most.

        A front between wet and bone dry, heads of 0 and -10 km side by side, is steeper than any step resolves; some
        water in the dry node makes it one (common practice, no source).
        """
        theta = list(theta)
        at = max(range(len(theta) - 1), key=lambda i: abs(theta[i] - theta[i + 1]))
        more = (theta[at] - theta[at + 1]) / 4.0
        more = max(-MOVES_MOST, min(MOVES_MOST, more))
        theta[at] -= more
        theta[at + 1] += more
        return theta, [self._soil.head(x) for x in theta]

    def _sinks(self, theta, h, span_s, drink_ml_s, dry_ml_s, pond_cm):
        """What roots and air take in span_s, cm. Returns (per node, drunk, dried, taken from the pond)."""
        dz = self._dz
        residual = self._soil.theta_r
        free = [max(0.0, (x - residual) * dz * SINK_MOST) for x in theta]
        shares = [self._share(x) for x in h]
        total = sum(shares)
        sink = [0.0] * len(theta)
        drunk = 0.0
        if drink_ml_s > 0.0:
            # A plant past wilting still loses a little (plant.CUTICLE): from where there is most.
            weights, total = (shares, total) if total > 0.0 else (free, sum(free))
            if total > 0.0:
                want = drink_ml_s * span_s / self.area_cm2 / total
                for i, weight in enumerate(weights):
                    sink[i] = min(free[i], want * weight)
                drunk = sum(sink)
        want = dry_ml_s * span_s / self.area_cm2
        from_pond = min(pond_cm, want)
        dried = max(0.0, min(want - from_pond, free[0] - sink[0]))
        sink[0] += dried
        return sink, drunk, dried, from_pond
