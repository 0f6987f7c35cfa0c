"""A window-sill's climate from outdoor weather, by a stated model.

Light. Sun and sky are turned onto the pane (weather.py), then pass the glass
(`solar_transmittance`, `visible_transmittance` at normal incidence) and reach
the plants in part (`sill_share`: frame, reveal, what stands about). Illuminance
takes the same way, with published luminous efficacies (weather.py).

Warmth. Without heating or cooling the room sits `free_gain_c` above the running
mean of the outdoor temperature (24 h); heating holds it from below (lower at
night), cooling from above. At the sill the air is pulled towards outdoors
through the cold glass (`glass_pull`) and warmed by the sun.

Vapour. Indoor vapour is outdoor vapour (6 h running mean: air change and what
walls and books buffer) plus a moisture excess, larger in cold weather. Shape:
Kalamees, Vinha, Kurnitski (2006), J. Building Physics 29(3): +4 g/m3 up to 5
degC and +1.5 g/m3 from 15 degC at the 10 % critical level in thinly occupied
houses. A reading room has more air per person, so our excess is about a quarter.
A cooled room is dried to at most `rh_max_pct`.

Every default without a source named here is our choice, not a measurement.
"""

from dataclasses import dataclass
from datetime import timedelta, timezone
from functools import lru_cache

from . import fao56
from .air import Air
from .weather import Pane, read_hours

DAYS_BEFORE = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
KPA_PER_G_M3 = 461.5e-6  # per kelvin: the gas constant of water vapour


@dataclass(frozen=True)
class Site:
    """Which year of weather. `data` is 'greensboro' or 'sand-point'."""

    data: str = "greensboro"


@dataclass(frozen=True)
class Window:
    """The window. Azimuth in degrees clockwise from north, horizon in degrees up."""

    azimuth_deg: float = 135.0
    horizon_deg: float = 10.0
    panes: int = 2
    solar_transmittance: float = 0.66  # double clear .57-.76, window-efficiency tables; the middle
    visible_transmittance: float = 0.81  # double clear, same tables
    sill_share: float = 0.5  # 30-60 % of the pane's light, from memory

    def __post_init__(self):
        for key, low, high in (
            ("azimuth_deg", 0.0, 360.0),
            ("horizon_deg", 0.0, 89.0),
            ("panes", 1, 4),
            ("solar_transmittance", 0.0, 1.0),
            ("visible_transmittance", 0.0, 1.0),
            ("sill_share", 0.0, 1.0),
        ):
            if not low <= getattr(self, key) <= high:
                raise ValueError(f"window {key} = {getattr(self, key)!r} must be from {low} to {high}")


@dataclass(frozen=True)
class Room:
    """The room behind the window."""

    heat_day_c: float = 20.0
    heat_night_c: float = 18.0
    day_from_h: float = 7.0
    day_to_h: float = 20.0
    cool_c: float = 26.0
    free_gain_c: float = 5.0
    glass_pull: float = 0.10
    sun_warms_c_per_wm2: float = 0.012
    excess_cold_g_m3: float = 1.0  # outdoors at or below 5 degC
    excess_warm_g_m3: float = 0.5  # outdoors at or above 15 degC
    rh_max_pct: float = 60.0  # upper comfort line (Kent et al., ASHRAE Trans. 72, quoted by others); when cooling


class SillClimate:
    """The year at the sill; the year is a ring.

    `start` is (month, day) or 'MM-DD' (local midnight, standard time), or an
    aware datetime (that instant).
    """

    def __init__(self, site=Site(), window=Window(), start=(4, 1), room=Room()):
        self.site, self.window, self.room = site, window, room
        year = _sill_year(site, window, room)
        self._temp_c, self._rh_pct, self._solar_wm2, self._lux, head = year
        self.pressure_kpa, self.utc_offset_h, self.latitude_deg, self.longitude_deg = head
        self.start_h = self._start_hour(start)

    def _start_hour(self, start):
        if not hasattr(start, "utcoffset"):
            return float(hour_of_year(start))
        local = start.astimezone(timezone(timedelta(hours=self.utc_offset_h)))
        return hour_of_year((local.month, local.day)) + local.hour + local.minute / 60.0 + local.second / 3600.0

    def at(self, t_s):
        """Air at t_s seconds after the start."""
        position = t_s / 3600.0 + self.start_h - 0.5  # values stand at half past
        first = int(position // 1.0)
        share = position - first
        hours = len(self._temp_c)
        i = first % hours
        j = (i + 1) % hours
        rest = 1.0 - share
        return Air(
            self._temp_c[i] * rest + self._temp_c[j] * share,
            self._rh_pct[i] * rest + self._rh_pct[j] * share,
            self._solar_wm2[i] * rest + self._solar_wm2[j] * share,
            self._lux[i] * rest + self._lux[j] * share,
            self.pressure_kpa,
        )


def hour_of_year(start):
    """Hours from 1 January to a day of a 365-day year; 29 February counts as 1 March."""
    try:
        month, day = (int(part) for part in start.split("-")[-2:]) if isinstance(start, str) else start
        if not (1 <= month <= 12 and 1 <= day <= 31):
            raise ValueError
        if (month in (4, 6, 9, 11) and day > 30) or (month == 2 and day > 29):
            raise ValueError
    except (ValueError, TypeError, AttributeError):
        raise ValueError(f"start {start!r} is not a day of the year; write it as MM-DD, for example 04-15") from None
    return (DAYS_BEFORE[month - 1] + day - 1) * 24


@lru_cache(maxsize=8)
def _sill_year(site, window, room):
    """The five parts SillClimate needs."""
    pane = Pane(azimuth_deg=window.azimuth_deg, horizon_deg=window.horizon_deg, layers=window.panes)
    hours = read_hours(site.data, pane)
    solar = [x * window.solar_transmittance * window.sill_share for x in hours.pane_wm2]
    lux = [x * window.visible_transmittance * window.sill_share for x in hours.pane_lux]
    temp, rh = indoor_air(hours.temp_c, hours.vapour_kpa, solar, room)
    # Rounded, so that the last bit of another machine's library cannot change a run.
    return (
        [round(x, 4) for x in temp],
        [round(x, 4) for x in rh],
        [round(x, 3) for x in solar],
        [round(x, 1) for x in lux],
        [hours.pressure_kpa, hours.utc_offset_h, hours.latitude_deg, hours.longitude_deg],
    )


def indoor_air(outdoor_c, outdoor_kpa, solar_wm2, room):
    """Sill temperature (degC) and relative humidity (%) for each hour of a year."""
    daily_mean = _running_mean(outdoor_c, 24.0)
    buffered_kpa = _running_mean(outdoor_kpa, 6.0)
    temp, rh = [], []
    for i, outdoor in enumerate(outdoor_c):
        day = room.day_from_h <= i % 24 < room.day_to_h
        held = max(daily_mean[i] + room.free_gain_c, room.heat_day_c if day else room.heat_night_c)
        air_c = min(held, room.cool_c)
        cold = min(max((15.0 - daily_mean[i]) / 10.0, 0.0), 1.0)
        excess = room.excess_warm_g_m3 + cold * (room.excess_cold_g_m3 - room.excess_warm_g_m3)
        vapour = buffered_kpa[i] + excess * KPA_PER_G_M3 * (air_c + 273.15)
        if held > room.cool_c:
            vapour = min(vapour, fao56.saturation_kpa(air_c) * room.rh_max_pct / 100.0)
        sill_c = air_c + room.glass_pull * (outdoor - air_c) + room.sun_warms_c_per_wm2 * solar_wm2[i]
        temp.append(sill_c)
        rh.append(min(100.0 * vapour / fao56.saturation_kpa(sill_c), 95.0))
    return temp, rh


def _running_mean(values, hours):
    """First-order lag over a ring of hours, started from the end of the year."""
    share = 1.0 / hours
    level = sum(values[-24:]) / 24.0
    for value in values[-240:]:
        level += share * (value - level)
    lagged = []
    for value in values:
        level += share * (value - level)
        lagged.append(level)
    return lagged
