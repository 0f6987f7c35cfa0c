"""Water in a column of soil after Richards: one implicit step, conserving mass.

Mixed form with modified Picard iterations: Celia, Bouloutas, Zarba 1990, Water Resour.
Res. 26(7):1483-1496, Eq 16. Lengths in cm, times in s, h is pressure head (negative:
suction), z points down, q > 0 flows down. Between two heads the conductivity is its
mean over them, (Phi1 - Phi2) / (h1 - h2) with Phi the integral of K over h, so that a
grid of some ten nodes neither starves a dry surface nor floods it, and rest
(h2 - h1 = distance) is exactly rest.

This file knows nothing of pots: richardspot.py gives it surface, roots and tray.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import exp, inf, log

STORAGE_PER_CM = 1.0e-4  # what a full node takes under pressure: keeps the equations solvable; ours
DRIEST_CM = -1.0e6
WETTEST_CM = -1.0e-3  # nearer to 0 the mix counts as full
ROWS = 2400  # of the table over the logarithm of suction: cells of about 0.9 %
TOLERANCE = 5.0e-5  # water content, between two iterations; what is left over is met in the next step
ITERATIONS = 14
HALVED_AFTER = 5  # iterations that go to and fro about fullness, where K leaps, are led half-way
NEAR = 0.04  # heads nearer than this share of each other: mean of both K


class Hydraulics:
    """Retention and conductivity of one soil. retention: substrate.Retention; ks_cm_s: at saturation, and coarse_cm_s
    what coarse pores add to it, falling by e with every coarse_cm of suction."""

    __slots__ = ("theta_r", "theta_s", "alpha", "n", "m", "ks_cm_s", "_low", "_step", "_k", "_phi", "_phi_full")

    def __init__(self, retention, ks_cm_s, power=0.5, coarse_cm_s=0.0, coarse_cm=1.0):
        self.theta_r, self.theta_s = retention.theta_r, retention.theta_s
        self.alpha, self.n, self.m = retention.alpha_per_cm, retention.n, 1.0 - 1.0 / retention.n
        self.ks_cm_s = ks_cm_s + coarse_cm_s
        self._low, self._step, self._k, self._phi = _table(self.alpha, self.n, ks_cm_s, power, coarse_cm_s, coarse_cm)
        self._phi_full = self._phi[0]

    def content(self, h):
        """(theta, d theta / d h)."""
        if h >= 0.0:
            return self.theta_s + STORAGE_PER_CM * h, STORAGE_PER_CM
        x = (-self.alpha * h) ** self.n
        span = (self.theta_s - self.theta_r) * (1.0 + x) ** -self.m
        # The storage is in the slope, not the content: iterations only need a slope near the true one.
        return self.theta_r + span, span * self.m * self.n * x / ((1.0 + x) * -h) + 1.0e-9

    def head(self, theta):
        """Pressure head at a water content."""
        if theta >= self.theta_s:
            return (theta - self.theta_s) / STORAGE_PER_CM
        fill = (theta - self.theta_r) / (self.theta_s - self.theta_r)
        if fill <= 1.0e-4:
            fill = 1.0e-4
        h = -((fill ** (-1.0 / self.m) - 1.0) ** (1.0 / self.n)) / self.alpha
        return h if h > DRIEST_CM else DRIEST_CM

    def flow(self, h):
        """(K, Phi) at a head."""
        if h >= WETTEST_CM:
            return self.ks_cm_s, self._phi_full + self.ks_cm_s * (h - WETTEST_CM)
        at = (log(-h) - self._low) / self._step
        row = int(at)
        if row >= ROWS - 1:
            return self._k[-1], self._phi[-1]
        share = at - row
        k, phi = self._k, self._phi
        return k[row] + share * (k[row + 1] - k[row]), phi[row] + share * (phi[row + 1] - phi[row])


@lru_cache(maxsize=64)
def _table(alpha, n, ks, power, coarse, coarse_cm):
    """K and its integral over h, from full to dry, at even steps of the logarithm of suction."""
    m = 1.0 - 1.0 / n
    low, high = log(-WETTEST_CM), log(-DRIEST_CM)
    step = (high - low) / (ROWS - 1)

    def k_at(u):
        fill = (1.0 + (alpha * exp(u)) ** n) ** -m
        rest = fill ** (1.0 / m)
        # 1 - (1 - x)^m loses its digits for small x: m x there.
        pores = m * rest if rest < 1.0e-7 else 1.0 - (1.0 - rest) ** m
        return ks * fill**power * pores * pores + coarse * exp(-exp(u) / coarse_cm)

    k = [k_at(low + i * step) for i in range(ROWS)]
    phi = [0.0] * ROWS
    for i in range(ROWS - 2, -1, -1):
        u = low + i * step  # Simpson over ln suction
        middle = 4.0 * k_at(u + step / 2.0) * exp(u + step / 2.0)
        phi[i] = phi[i + 1] + step / 6.0 * (k[i] * exp(u) + middle + k[i + 1] * exp(u + step))
    return low, step, k, phi


@dataclass(slots=True)
class Edges:
    """What happens at the ends of a column.

    pond_cm: water that lies on the surface and may sink in. above_cm: head held at the surface instead
    (then the pond is not touched). below_cm: head held under the floor; None: water leaves where it
    presses out (seepage face), nothing comes in. closed: no hole. rise_most_cm: what the tray can give.
    """

    pond_cm: float = 0.0
    above_cm: float | None = None
    below_cm: float | None = None
    closed: bool = False
    rise_most_cm: float = inf


def _mean(flow_1, flow_2, h_1, h_2):
    gap = h_1 - h_2
    if -NEAR * (1.0 - h_1) < gap < NEAR * (1.0 - h_1):
        return 0.5 * (flow_1[0] + flow_2[0])
    return (flow_1[1] - flow_2[1]) / gap


def step(soil, theta, h, dt, dz, sink, edges):
    """One implicit step of dt seconds. Returns (theta, h, in at the top, out at the bottom, iterations) or None.

    theta, h: one per node, top first. sink: cm taken out of each node in dt. In and out in cm over the step, negative
    where it runs the other way. What comes back balances to rounding, whatever the tolerance. None: no convergence.
    """
    forced = frozenset()
    while True:
        found = _attempt(soil, theta, h, dt, dz, sink, edges, forced)
        if not isinstance(found, str):
            return found
        forced |= {found}


def _attempt(soil, theta, h, dt, dz, sink, edges, forced):
    """A step with some ends held as they must be ("empty" the pond, "shut" the floor, "drained" the tray).

    Returns what step does, or which end has to be held so, because otherwise more would pass it than can.
    """
    last = len(theta) - 1
    half = dz / 2.0
    over = dz / dt
    content, flow = soil.content, soil.flow
    face_below = 0.0 if edges.below_cm is None else edges.below_cm
    face_above = edges.pond_cm if edges.above_cm is None else edges.above_cm
    below = flow(face_below)
    above = flow(face_above)
    most_in = inf if edges.above_cm is not None else edges.pond_cm / dt
    for iteration in range(1, ITERATIONS + 1):
        flows = [flow(x) for x in h]
        diagonal, right = [0.0] * (last + 1), [0.0] * (last + 1)
        between = [0.0] * last
        for i, x in enumerate(h):
            there, slope = content(x)
            diagonal[i] = slope * over
            right[i] = slope * over * x - (there - theta[i]) * over - sink[i] / dt
        for i in range(last):
            k = _mean(flows[i], flows[i + 1], h[i], h[i + 1])
            between[i] = c = k / dz
            diagonal[i] += c
            diagonal[i + 1] += c
            right[i] -= k
            right[i + 1] += k
        k = _mean(above, flows[0], face_above, h[0])
        top = k / half
        top_fixed = "empty" in forced or top * (face_above - h[0]) + k > most_in
        if top_fixed:
            right[0] += most_in
        else:
            diagonal[0] += top
            right[0] += top * face_above + k
        k_top = k
        k = _mean(flows[last], below, h[last], face_below)
        bottom = k / half
        out = bottom * (h[last] - face_below) + k
        shut = edges.closed or "shut" in forced or (edges.below_cm is None and out <= 0.0)
        limited = not shut and ("drained" in forced or -out * dt > edges.rise_most_cm)
        if limited:
            right[last] += edges.rise_most_cm / dt
        elif not shut:
            diagonal[last] += bottom
            right[last] += bottom * face_below - k
        new = _solve(diagonal, between, right)
        change = 0.0
        for i, x in enumerate(new):
            if x < DRIEST_CM:
                new[i] = x = DRIEST_CM
            moved = content(x)[0] - content(h[i])[0]
            if moved > change:
                change = moved
            elif -moved > change:
                change = -moved
        if change < TOLERANCE:
            came = most_in if top_fixed else top * (face_above - new[0]) + k_top
            went = 0.0 if shut else bottom * (new[last] - face_below) + k
            if limited:
                went = -edges.rise_most_cm / dt
            if came > most_in:
                return "empty"
            if edges.below_cm is None and went < 0.0:
                return "shut"
            if -went * dt > edges.rise_most_cm and not limited:
                return "drained"
            return (*_booked(theta, new, between, dz, dt, sink, came, went), came * dt, went * dt, iteration)
        h = new if iteration <= HALVED_AFTER else [0.5 * (a + b) for a, b in zip(h, new)]
    return None


def _booked(theta, h, between, dz, dt, sink, came, went):
    """Water contents by what flowed, so that not a drop is lost to the tolerance. Returns (theta, h)."""
    booked = []
    flux = came
    last = len(theta) - 1
    for i, there in enumerate(theta):
        leaves = went if i == last else between[i] * (h[i] - h[i + 1] + dz)
        booked.append(there + ((flux - leaves) * dt - sink[i]) / dz)
        flux = leaves
    return booked, h


def _solve(diagonal, between, right):
    """The symmetric tridiagonal system with -between beside the diagonal."""
    size = len(diagonal)
    ratio, value = [0.0] * size, [0.0] * size
    pivot = diagonal[0]
    value[0] = right[0] / pivot
    for i in range(1, size):
        off = between[i - 1]
        ratio[i - 1] = off / pivot
        pivot = diagonal[i] - off * ratio[i - 1]
        value[i] = (right[i] + off * value[i - 1]) / pivot
    for i in range(size - 2, -1, -1):
        value[i] += ratio[i] * value[i + 1]
    return value
