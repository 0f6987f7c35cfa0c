"""What a potting mix holds at a given suction, and a pot of it once drained.

Retention: van Genuchten (1980), Soil Sci. Soc. Am. J. 44:892-898, with
m = 1 - 1/n. Container capacity: the curve integrated over the height of a pot
standing on its own drainage level (Milks, Fonteno, Larson 1989, J. Amer. Soc.
Hort. Sci. 114(1):53-56).

Definitions used throughout, by volume (De Boodt & Verdonck 1972, Acta Hort.
26:37-44): air space is total porosity less theta at 1 kPa; easily available
water is theta at 1 kPa less theta at 5 kPa; water buffering capacity is theta
at 5 kPa less theta at 10 kPa. 1 kPa is taken as 10 cm of water.
"""

from dataclasses import dataclass
from typing import NamedTuple

CM_PER_KPA = 10.0  # the trade's convention; exactly 10.2
GAUSS = (
    (-0.906179845938664, 0.236926885056189),
    (-0.538469310105683, 0.478628670499366),
    (0.0, 0.568888888888889),
    (0.538469310105683, 0.478628670499366),
    (0.906179845938664, 0.236926885056189),
)


class Figure(NamedTuple):
    """A number with where it comes from.

    Marks: V seen in the source, V-abs in its abstract, V-2nd quoted by another,
    D derived, M from memory, ours chosen or fitted here.
    """

    value: float
    mark: str
    source: str


@dataclass(frozen=True)
class Retention:
    """van Genuchten parameters: theta_r, theta_s m3/m3; alpha 1/cm; n."""

    theta_r: float
    theta_s: float
    alpha_per_cm: float
    n: float

    def theta(self, suction_cm):
        """Water content (m3/m3) at a suction in cm of water; at or below 0 it is full."""
        if suction_cm <= 0.0:
            return self.theta_s
        m = 1.0 - 1.0 / self.n
        return self.theta_r + (self.theta_s - self.theta_r) / (1.0 + (self.alpha_per_cm * suction_cm) ** self.n) ** m

    def suction_cm(self, theta):
        """Suction (cm) at which the mix holds theta; theta must lie above theta_r."""
        if theta >= self.theta_s:
            return 0.0
        if theta <= self.theta_r:
            raise ValueError(f"theta {theta} is not above the residual {self.theta_r}; no suction holds it")
        fill = (theta - self.theta_r) / (self.theta_s - self.theta_r)
        m = 1.0 - 1.0 / self.n
        return (fill ** (-1.0 / m) - 1.0) ** (1.0 / self.n) / self.alpha_per_cm

    def mean_theta(self, from_cm, to_cm):
        """Mean water content where the suction runs from one value to another (cm)."""
        wet_cm = min(max(-from_cm, 0.0), to_cm - from_cm)  # the part below the water level is full
        total = wet_cm * self.theta_s
        low, span = from_cm + wet_cm, to_cm - from_cm - wet_cm
        pieces = 4  # five-point Gauss on each: exact to well under 1e-6 here
        for i in range(pieces):
            mid = low + span * (i + 0.5) / pieces
            total += sum(w * self.theta(mid + x * span / (2 * pieces)) for x, w in GAUSS) * span / (2 * pieces)
        return total / (to_cm - from_cm)

    def container_capacity(self, height_cm):
        """Mean water content of a straight pot of that height, soaked and drained."""
        return self.mean_theta(0.0, height_cm)


@dataclass(frozen=True)
class Substrate:
    """A mix as data. Contents are m3/m3; `loss` is lost container capacity, m3/m3."""

    name: str
    theta_r: Figure
    theta_s: Figure
    alpha_per_cm: Figure
    n: Figure
    theta_wilting: Figure  # below it roots get practically nothing
    theta_repel: Figure  # drying below it starts to make the mix shed water
    theta_repel_full: Figure  # and here it sheds all it can
    bypass: Figure  # share of poured water that runs past fully repellent mix
    loss: Figure  # container capacity missing while fully repellent
    swells_from: Figure  # volume when dry over volume when wet, 1 = does not swell

    @property
    def retention(self):
        return Retention(self.theta_r.value, self.theta_s.value, self.alpha_per_cm.value, self.n.value)

    @property
    def air_space(self):
        return self.theta_s.value - self.retention.theta(1 * CM_PER_KPA)

    @property
    def easily_available(self):
        return self.retention.theta(1 * CM_PER_KPA) - self.retention.theta(5 * CM_PER_KPA)

    @property
    def water_buffer(self):
        return self.retention.theta(5 * CM_PER_KPA) - self.retention.theta(10 * CM_PER_KPA)
