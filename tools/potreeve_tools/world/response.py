"""How far up from open air to water a probe reads, by the water in the mix around it.

The `share` is 0 in open air and 1 in water, on a scale on which a law linear in
1/V (or in the period of a pulse-counting probe) is a straight line (Hrisko 2020,
technical note, V). Published curves bend away from that line, and not all the
same way, so each mix has a range of bends and each probe draws its own:

    share = low + (high - low) (u + bend u (1 - u)),  u = (theta - theta_low) / (theta_high - theta_low)

Ends and bends are derived (D) from the quadratic soil curves of Wild et al. 2019,
Agric. For. Meteorol., as tabled in the R package myClim (V-2nd): counts 114.5 in
air, 3634.7 in water. Peat holds 20 and 80 % at 1155 and 2868 counts: shares of .296
and .782; its half-way point (1155 + 2868)/2 is not 50 but 41 %. Loam holds 5 and
40 % at 980 and 2608. So open air is far below air-dry mix, and water far above a soaked pot.
"""

from typing import NamedTuple

from .substrate import Figure

AIR_THETA = -0.03
"""Stands for open air where a water content is asked for."""

WILD = "Wild et al. 2019 as tabled in myClim"
_PEAT_ENDS = (0.20, 0.296, 0.80, 0.782)
_LOAM_ENDS = (0.05, 0.246, 0.40, 0.708)


class Shape(NamedTuple):
    """A mix's response. ends: theta and share at the low end, theta and share at the high end; bends: range."""

    ends: tuple
    bend_least: Figure
    bend_most: Figure


STRAIGHT = "linear in 1/V: Hrisko 2020"
SHAPES = {
    "peat_mix": Shape(
        _PEAT_ENDS, Figure(0.0, "V", STRAIGHT), Figure(0.56, "D", "bend of the peat curve, " + WILD + " (V-2nd)")
    ),
    "coir": Shape(
        _PEAT_ENDS,
        Figure(-0.2, "ours", "linear to R2 > .93 in coir and perlite: Rhie & Kim 2017, HortScience 52(1):162, V-abs;"),
        Figure(0.4, "ours", "a bend of 1 would still give that R2; ends as peat's, no curve in counts found"),
    ),
    "bark_mix": Shape(
        _PEAT_ENDS, Figure(-0.2, "ours", "as coir: no curve found"), Figure(0.5, "ours", "between coir and peat")
    ),
    "loam_mix": Shape(
        _LOAM_ENDS,
        Figure(-0.40, "D", "bend of the loam curve, " + WILD + " (V-2nd): a line reads 3.4 % too dry half-way"),
        Figure(0.17, "D", "of the silt loam curve, same table: 1.5 % too wet"),
    ),
}
SHAPES["coir_pellet"] = SHAPES["coir"]

# Scatter of one probe in one pot about its mix's ends, one standard deviation in share. Contact and
# insertion shift readings (Gumuser et al. 2025, Sensors 25(5):1461, V-abs, no figure); units fitted one by
# one still err by .02 +- .01 m3/m3 in liquids (Kootanoor Sheshadrivasan et al. 2025, V-abs), which is .016 of share.
ENDS_SD = 0.016


class Response:
    """One probe's own curve: share(theta). draw: (low, high, bend) as standard normal, normal and 0..1 uniform."""

    __slots__ = ("_a", "_b", "_c", "_dry", "per_theta")

    def __init__(self, substrate, draw=(0.0, 0.0, 0.5), tolerance=1.0):
        shape = SHAPES[substrate]
        theta_low, low, theta_high, high = shape.ends
        least, most = shape.bend_least.value, shape.bend_most.value
        low += ENDS_SD * tolerance * draw[0]
        high += ENDS_SD * tolerance * draw[1]
        bend = (least + most) / 2 + (most - least) * tolerance * (draw[2] - 0.5)
        span = theta_high - theta_low
        self.per_theta = (high - low) / span
        # share = a + b theta + c theta^2
        self._c = -bend * (high - low) / span**2
        self._b = (1.0 + bend) * (high - low) / span - 2.0 * theta_low * self._c
        self._a = low - self._b * theta_low - self._c * theta_low**2
        # bone-dry mix: never below what solids alone do (permittivity 3-8 against 1 of air, V)
        self._dry = max(0.04, self._a)

    def share(self, theta):
        """Place between open air (0) and water (1)."""
        if theta <= 0.0:
            return self._dry * max(0.0, 1.0 - theta / AIR_THETA)
        return max(self._dry, self._a + theta * (self._b + theta * self._c))
