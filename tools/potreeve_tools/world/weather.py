"""Real hourly weather: two TMY3 years, in years/ beside this file (made by bench/weatherfile.py).

TMY3 is public-domain US data (NREL); each month comes from its own year. Rows
are stamped at the END of their hour; sun and sky are hour sums, temperature and
humidity are read at the stamp. Here every value is moved to the MIDDLE of its
hour, so index i stands for the time i + 0.5 h after 1 January, local standard.

Illuminance is derived with the measured luminous efficacies of Littlefair (1988,
Lighting Res. Technol. 20(4):177-188; seen in the abstract). The files' own
illuminance columns are not used: they are modelled, and count in other units in
one file than in the other, in Sand Point even from month to month.
"""

import gzip
import json
import math
from dataclasses import dataclass
from pathlib import Path

from .fao56 import saturation_kpa

HOURS = 8760
FILES = ("greensboro", "sand-point")
COLUMNS = ("temp_c", "rh_pct", "beam_wm2", "global_wm2", "diffuse_wm2", "cloud_tenths", "zenith_deg", "azimuth_deg")
GLOBAL_EFFICACY = 109.0  # lm/W, sun and sky, average conditions; all efficacies: Littlefair 1988 (above)

# Glass: refractive index, and extinction (1/m) times thickness (m); De Soto, Klein, Beckman 2006, Solar Energy 80.
GLASS_INDEX = 1.526
GLASS_EXTINCTION = 4.0 * 0.002
# The share of an even sky, or of an even ground, that passes a vertical pane, of what passes at normal incidence: the
# same glass integrated over the quarter sphere (Marion 2017, Solar Energy 147). Both are tested against pvlib.
DIFFUSE_SHARE = 0.9444047946


@dataclass(frozen=True)
class Pane:
    """The window's glass, upright. Angles in degrees, azimuth clockwise from north."""

    azimuth_deg: float = 180.0
    ground_albedo: float = 0.2
    horizon_deg: float = 0.0  # anything lower in the sky is hidden by what stands opposite
    layers: int = 2  # panes of glass, for the loss at slanting angles only


@dataclass(frozen=True)
class Hours:
    """One year of outdoor hours; lists of 8760 floats.

    `pane_wm2` and `pane_lux` are on the outer face of the pane, already reduced
    for slanting incidence (1 = normal incidence) but not by the glass itself.
    """

    place: str
    utc_offset_h: float
    latitude_deg: float
    longitude_deg: float
    pressure_kpa: float
    temp_c: list
    vapour_kpa: list
    pane_wm2: list
    pane_lux: list


def path_of(data):
    """The file of a weather year."""
    return Path(__file__).with_name("years") / f"{data}.csv.gz"


def read_hours(data, pane):
    """Read a year and turn it onto the pane. Returns Hours. `data` is one of FILES."""
    if data not in FILES:
        raise ValueError(f"weather data {data!r} is unknown; choose one of {', '.join(sorted(FILES))}")
    head, _, *lines = gzip.decompress(path_of(data).read_bytes()).decode().splitlines()
    facts = json.loads(head[1:])
    temp, vapour, wm2, lux = [], [], [], []
    for line in lines:
        temp_c, rh_pct, *light = (float(word) for word in line.split(","))
        temp.append(temp_c)
        vapour.append(saturation_kpa(temp_c) * rh_pct / 100.0)
        on_pane = onto_pane(pane, *light) if light else (0.0, 0.0)
        wm2.append(on_pane[0])
        lux.append(on_pane[1])
    return Hours(
        place=facts["place"],
        utc_offset_h=facts["utc_offset_h"],
        latitude_deg=facts["latitude_deg"],
        longitude_deg=facts["longitude_deg"],
        pressure_kpa=facts["pressure_kpa"],
        temp_c=_to_middle(temp),
        vapour_kpa=_to_middle(vapour),
        pane_wm2=wm2,
        pane_lux=lux,
    )


def onto_pane(pane, beam, total, diffuse, cloud_tenths, zenith_deg, azimuth_deg):
    """Irradiance (W/m2) and illuminance (lx) on the pane in one hour, angle losses taken off."""
    elevation = 90.0 - zenith_deg
    # The cosine of the angle between the sun and the pane's normal, which is level.
    cosine = math.sin(math.radians(zenith_deg)) * math.cos(math.radians(azimuth_deg - pane.azimuth_deg))
    direct = 0.0
    if cosine > 0.0 and elevation > pane.horizon_deg:
        direct = beam * cosine * glass_share(cosine) ** pane.layers
    # An upright pane sees half of an even sky, of which a long obstruction of elevation h leaves 1 - sin h, and half of
    # an even ground.
    diffuse_share = 0.5 * DIFFUSE_SHARE**pane.layers
    sky = diffuse * (1.0 - math.sin(math.radians(pane.horizon_deg))) * diffuse_share
    ground = total * pane.ground_albedo * diffuse_share
    lux = direct * beam_efficacy(elevation) + sky * sky_efficacy(cloud_tenths / 10.0) + ground * GLOBAL_EFFICACY
    return direct + sky + ground, lux


def glass_share(cosine):
    """What one pane lets through at this cosine of incidence, of what it does at normal incidence.

    Fresnel's reflection, the mean of both polarisations, and absorption along the bent path.
    """
    inside = math.sqrt(1.0 - (1.0 - cosine * cosine) / GLASS_INDEX**2)
    across = (cosine - GLASS_INDEX * inside) / (cosine + GLASS_INDEX * inside)
    along = (inside - GLASS_INDEX * cosine) / (inside + GLASS_INDEX * cosine)
    passed = (1.0 - (across * across + along * along) / 2.0) * math.exp(-GLASS_EXTINCTION / inside)
    straight = (1.0 - ((1.0 - GLASS_INDEX) / (1.0 + GLASS_INDEX)) ** 2) * math.exp(-GLASS_EXTINCTION)
    return passed / straight


def beam_efficacy(elevation_deg):
    """lm/W of direct sun: 70 at 10 degrees rising to 95 at 60."""
    return 70.0 + 25.0 * (min(max(elevation_deg, 10.0), 60.0) - 10.0) / 50.0


def sky_efficacy(cloud):
    """lm/W of the sky: 144 clear, falling in a line with cloud cover to 115 overcast."""
    return 144.0 - 29.0 * cloud


def _to_middle(stamped):
    """Values at the end of each hour, moved to its middle (the year is a ring)."""
    return [(stamped[i - 1] + stamped[i]) / 2.0 for i in range(len(stamped))]
