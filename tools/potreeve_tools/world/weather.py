"""Real hourly weather: two TMY3 years that ship inside the pvlib package.

TMY3 is public-domain US data (NREL); each month comes from its own year. Rows
are stamped at the END of their hour; sun and sky are hour sums, temperature and
humidity are read at the stamp. Here every value is moved to the MIDDLE of its
hour, so index i stands for the time i + 0.5 h after 1 January, local standard.

Illuminance is derived with the measured luminous efficacies of Littlefair (1988,
Lighting Res. Technol. 20(4):177-188; seen in the abstract). The files' own
illuminance columns are not used: they are modelled, and count in other units in
one file than in the other, in Sand Point even from month to month.
"""

import math
from dataclasses import dataclass

from .fao56 import saturation_kpa

HOURS = 8760
GLOBAL_EFFICACY = 109.0  # lm/W, sun and sky, average conditions; all efficacies: Littlefair 1988 (below)
FILES = {"greensboro": "723170TYA.CSV", "sand-point": "703165TY.csv"}


@dataclass(frozen=True)
class Pane:
    """The window's glass plane. Angles in degrees, azimuth clockwise from north."""

    azimuth_deg: float = 180.0
    tilt_deg: float = 90.0
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


def read_hours(data, pane):
    """Read a TMY3 year and turn it onto the pane. Returns Hours.

    `data` is a key of FILES. Sun position, transposition (isotropic sky) and the
    angle-of-incidence modifiers (Fresnel with absorption; sky and ground by
    Marion's integration) are pvlib's. pvlib is imported here because it takes a
    second to load and most runs find the result in the cache.
    """
    if data not in FILES:
        raise ValueError(f"weather data {data!r} is unknown; choose one of {', '.join(sorted(FILES))}")
    from pathlib import Path

    import pvlib

    frame, meta = pvlib.iotools.read_tmy3(
        Path(pvlib.__file__).parent / "data" / FILES[data], coerce_year=2023, map_variables=True
    )
    # From here on a row means the middle of its hour, for sun and sky alike.
    frame.index = frame.index - pvlib.tools.pd.Timedelta(minutes=30)
    sun = pvlib.solarposition.get_solarposition(
        frame.index, meta["latitude"], meta["longitude"], altitude=meta["altitude"]
    )
    wm2, lux = _onto_pane(pvlib, pane, sun, frame)
    temp = frame["temp_air"].to_list()
    vapour = [saturation_kpa(t) * rh / 100.0 for t, rh in zip(temp, frame["relative_humidity"].to_list())]
    return Hours(
        place=meta["Name"].strip('"').title(),
        utc_offset_h=float(meta["TZ"]),
        latitude_deg=float(meta["latitude"]),
        longitude_deg=float(meta["longitude"]),
        pressure_kpa=round(float(frame["pressure"].mean()) / 10.0, 2),
        temp_c=_to_middle(temp),
        vapour_kpa=_to_middle(vapour),
        pane_wm2=wm2,
        pane_lux=lux,
    )


def _onto_pane(pvlib, pane, sun, frame):
    """Irradiance (W/m2) and illuminance (lx) on the pane, angle losses taken off."""
    elevation = 90.0 - sun["apparent_zenith"]
    angle = pvlib.irradiance.aoi(pane.tilt_deg, pane.azimuth_deg, sun["apparent_zenith"], sun["azimuth"])
    parts = pvlib.irradiance.get_total_irradiance(
        pane.tilt_deg,
        pane.azimuth_deg,
        sun["apparent_zenith"],
        sun["azimuth"],
        frame["dni"],
        frame["ghi"],
        frame["dhi"],
        albedo=pane.ground_albedo,
        model="isotropic",
    )
    spread = pvlib.iam.marion_diffuse("physical", pane.tilt_deg)
    # A long obstruction of elevation h leaves a vertical pane (1 - sin h) of its sky.
    sky_share = 1.0 - math.sin(math.radians(pane.horizon_deg))
    beam = parts["poa_direct"].clip(lower=0.0) * (elevation > pane.horizon_deg)
    beam = (beam * pvlib.iam.physical(angle) ** pane.layers).fillna(0.0)
    sky = parts["poa_sky_diffuse"] * sky_share * float(spread["sky"]) ** pane.layers
    ground = parts["poa_ground_diffuse"] * float(spread["ground"]) ** pane.layers
    lux = (
        beam * beam_efficacy(elevation) + sky * sky_efficacy(frame["TotCld (tenths)"] / 10.0) + ground * GLOBAL_EFFICACY
    )
    return (beam + sky + ground).to_list(), lux.to_list()


def beam_efficacy(elevation_deg):
    """lm/W of direct sun: 70 at 10 degrees rising to 95 at 60 (a pandas series)."""
    return 70.0 + 25.0 * (elevation_deg.clip(10.0, 60.0) - 10.0) / 50.0


def sky_efficacy(cloud):
    """lm/W of the sky: 144 clear, falling in a line with cloud cover to 115 overcast."""
    return 144.0 - 29.0 * cloud


def _to_middle(stamped):
    """Values at the end of each hour, moved to its middle (the year is a ring)."""
    return [(stamped[i - 1] + stamped[i]) / 2.0 for i in range(len(stamped))]
