"""How well the mixes conduct water: Mualem's form over their van Genuchten retention.

Used by the second soil model only (richardspot.py). K = Ks Se^l (1 - (1 - Se^(1/m))^m)^2,
van Genuchten 1980, Soil Sci. Soc. Am. J. 44:892, Eq 8; l is Mualem's exponent.

Tables of saturated conductivity of bagged mixes stand in papers of which only the
abstracts could be read (Londra 2010, HortScience 45(7):1106; Londra et al. 2018, Water
10(6):722: "high", and a sharp fall from 0 to -50 cm). So each figure below is marked with
what it rests on, and SLOW is a second set at the low end, to see whether a result hangs on it.
"""

from dataclasses import dataclass
from math import log

from .substrate import Figure
from .substrates import BARK_MIX, COIR, LOAM_MIX, PEAT_MIX


@dataclass(frozen=True)
class Conductivity:
    """ks_cm_d: at saturation, cm/d. power: Mualem's l. coarse_cm_d: what coarse pores add at saturation; it falls with
    suction over COARSE_CM as Gardner 1958, Soil Sci. 85:228, has it."""

    ks_cm_d: Figure
    power: Figure
    coarse_cm_d: Figure = Figure(0.0, "ours", "none beside the curve's")


COARSE_CM = 2.0  # ours: pores between pieces of bark have run empty within some centimetres


def relative(retention, theta, power):
    """K over Ks at a water content."""
    fill = (theta - retention.theta_r) / (retention.theta_s - retention.theta_r)
    m = 1.0 - 1.0 / retention.n
    return fill**power * (1.0 - (1.0 - fill ** (1.0 / m)) ** m) ** 2


def through(retention, first, second):
    """(ks_cm_d, power) of the curve that meets two measured (theta, K cm/d)."""
    (theta_1, k_1), (theta_2, k_2) = first, second
    fills = (theta_1 - retention.theta_r) / (theta_2 - retention.theta_r)
    base = relative(retention, theta_1, 0.0) / relative(retention, theta_2, 0.0)
    power = (log(k_1 / k_2) - log(base)) / log(fills)
    return k_1 / relative(retention, theta_1, power), power


SPHAGNUM = (
    "Sphagnum peat of bulk density .05-.10 g/cm3, group's fitted set: 718.92 cm/h, exponent -1.79, beside alpha .163, "
    "n 1.25; a table of such sets for peat as a public repository transcribes it, paper not seen"
)
SPHAGNUM_SLOW = "the same group by that table's regressions: 4.13 cm/h, exponent -.89"
OMEARA = (
    "curve through .115 cm/d at theta .38 and .000069 at .17: O'Meara, Chappell, van Iersel 2014, HortScience "
    "49(4):493, V-abs; what coarse pores add near saturation is not in it"
)
DRAINS = (
    "chosen so that a soaked pot has drained after some 10-15 min (Purdue extension), which the curve through "
    "O'Meara's points misses by hours; as much as the peat's Ks"
)
CARSEL = "Carsel & Parrish 1988, Water Resour. Res. 24(5):755, Table 2: loam 24.96, sand 712.8 cm/d, V-2nd"
_BARK_KS, _BARK_POWER = through(BARK_MIX.retention, (0.38, 0.115), (0.17, 0.000069))

CONDUCTIVITY = {
    PEAT_MIX.name: Conductivity(Figure(17_254.0, "V-2nd", SPHAGNUM), Figure(-1.79, "V-2nd", SPHAGNUM)),
    COIR.name: Conductivity(
        Figure(17_254.0, "ours", "as peat: no figure could be read"), Figure(-1.79, "ours", "as peat")
    ),
    BARK_MIX.name: Conductivity(
        Figure(_BARK_KS, "D", OMEARA), Figure(_BARK_POWER, "D", OMEARA), Figure(17_254.0, "ours", DRAINS)
    ),
    LOAM_MIX.name: Conductivity(
        Figure(224.0, "D", "geometric mean (ours) over 7 loam, 3 peat, 2 sand; " + CARSEL + "; peat as above"),
        Figure(0.5, "M", "Mualem's own"),
    ),
}

SLOW = {
    PEAT_MIX.name: Conductivity(Figure(99.1, "V-2nd", SPHAGNUM_SLOW), Figure(-0.89, "V-2nd", SPHAGNUM_SLOW)),
    COIR.name: Conductivity(Figure(99.1, "ours", "as peat"), Figure(-0.89, "ours", "as peat")),
    BARK_MIX.name: Conductivity(Figure(_BARK_KS, "D", OMEARA), Figure(_BARK_POWER, "D", OMEARA)),
    LOAM_MIX.name: Conductivity(
        Figure(22.4, "ours", "a tenth: about the loam's own"), Figure(0.5, "M", "Mualem's own")
    ),
}
