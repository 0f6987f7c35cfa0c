"""A sill's climate from weather of one's own: measured at the plants, or outdoors and then reckoned through the window.

Where the sun stands: declination and equation of time by the Fourier series of Spencer (1971, Search 2(5):172; from
memory), at the middle of the hour, and spherical trigonometry; held against pvlib in the tests.
"""

import datetime
import math

from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world import fao56, weather
from potreeve_tools.world.sill import SillClimate, indoor_air
from potreeve_tools.world.weatherfile import HOUR_S

SEA_LEVEL_KPA = 101.3
DAY_H = 24
# Twilight gives some light; below this no sensor should see the sun.
DARK_BELOW_DEG = -6.0
DARK_WM2 = 30.0
DARK_SHARE = 0.02


class OwnClimate(SillClimate):
    """The ring of a Series' whole days.

    series: weatherfile.Series. site: the rig's table. window, room: as SillClimate's. day: date (local midnight,
    standard time) or aware datetime at which time 0 is. Raises BadInput.
    """

    def __init__(self, series, site, window, room, day):
        self.series, self.window, self.room = series, window, room
        self.utc_offset_h = site["utc_offset_h"]
        self.pressure_kpa = SEA_LEVEL_KPA
        skip, hours = whole_days(series, self.utc_offset_h)
        self.first_s = series.first_s + skip * HOUR_S
        columns = {name: column[skip : skip + hours] for name, column in series.columns.items()}
        if series.indoors:
            self._temp_c, self._rh_pct, self._lux = columns["temp_c"], columns["rh_pct"], columns["light_lx"]
            self._solar_wm2 = columns.get("solar_wm2") or [lux / weather.GLOBAL_EFFICACY for lux in self._lux]
        else:
            self._through_the_window(columns, site)
        self.start_h = (_unix_s(day, self.utc_offset_h) - self.first_s) / HOUR_S

    def _through_the_window(self, columns, site):
        window = self.window
        pane = weather.Pane(window.azimuth_deg, horizon_deg=window.horizon_deg, layers=window.panes)
        wm2, lux, dark = [], [], 0
        for at, (beam, total, diffuse) in enumerate(
            zip(columns["beam_wm2"], columns["global_wm2"], columns["diffuse_wm2"], strict=True)
        ):
            elevation, azimuth = sun(self.first_s + (at + 0.5) * HOUR_S, site["latitude_deg"], site["longitude_deg"])
            dark += elevation < DARK_BELOW_DEG and total > DARK_WM2
            # Unknown: as overcast as its diffuse share says.
            clouds = (
                columns["cloud_tenths"][at] if "cloud_tenths" in columns else 10.0 * min(1.0, diffuse / (total or 1.0))
            )
            on = (
                weather.onto_pane(pane, beam, total, diffuse, clouds, 90.0 - elevation, azimuth)
                if total
                else (0.0, 0.0)
            )
            wm2.append(on[0] * window.solar_transmittance * window.sill_share)
            lux.append(on[1] * window.visible_transmittance * window.sill_share)
        if dark > DARK_SHARE * len(wm2):
            raise BadInput(
                [
                    f"{self.series.where}: global_wm2 is above {DARK_WM2:g} in {dark} hours in which the sun is down; "
                    "times, their offsets, or latitude_deg and longitude_deg of [site] are wrong"
                ]
            )
        vapour = [
            fao56.saturation_kpa(temp) * rh / 100.0
            for temp, rh in zip(columns["temp_c"], columns["rh_pct"], strict=True)
        ]
        temp, rh = indoor_air(columns["temp_c"], vapour, wm2, self.room)
        # Rounded, so that the last bit of another machine's library cannot change a run.
        self._temp_c, self._rh_pct = [round(x, 4) for x in temp], [round(x, 4) for x in rh]
        self._solar_wm2, self._lux = [round(x, 3) for x in wm2], [round(x, 1) for x in lux]


def whole_days(series, utc_offset_h):
    """(hours before the first midnight of the place, hours of whole days from there). Raises BadInput."""
    local_s = series.first_s + round(utc_offset_h * HOUR_S)
    skip = -(local_s // HOUR_S) % DAY_H
    hours = (series.hours - skip) // DAY_H * DAY_H
    if hours <= 0:
        raise BadInput(
            [f"{series.where}: {series.hours} hours hold no whole day from midnight to midnight; give a few days more"]
        )
    return skip, hours


def days(series, utc_offset_h):
    """(first day, last day) of the place that the ring holds whole."""
    skip, hours = whole_days(series, utc_offset_h)
    first_s = series.first_s + skip * HOUR_S + round(utc_offset_h * HOUR_S)
    first = datetime.datetime.fromtimestamp(first_s, datetime.UTC).date()
    return first, first + datetime.timedelta(days=hours // DAY_H - 1)


def _unix_s(day, utc_offset_h):
    if isinstance(day, datetime.datetime):
        return day.timestamp()
    return datetime.datetime.combine(day, datetime.time(), datetime.UTC).timestamp() - utc_offset_h * HOUR_S


def sun(unix_s, latitude_deg, longitude_deg):
    """(elevation, azimuth clockwise from north) of the sun in degrees; longitude east of Greenwich is positive."""
    when = datetime.datetime.fromtimestamp(unix_s, datetime.UTC)
    utc_h = when.hour + when.minute / 60.0 + when.second / 3600.0
    a = 2.0 * math.pi * (when.timetuple().tm_yday - 1 + utc_h / 24.0) / 365.25
    dec = (
        0.006918
        - 0.399912 * math.cos(a)
        + 0.070257 * math.sin(a)
        - 0.006758 * math.cos(2.0 * a)
        + 0.000907 * math.sin(2.0 * a)
        - 0.002697 * math.cos(3.0 * a)
        + 0.00148 * math.sin(3.0 * a)
    )
    ahead = (
        0.000075
        + 0.001868 * math.cos(a)
        - 0.032077 * math.sin(a)
        - 0.014615 * math.cos(2.0 * a)
        - 0.040849 * math.sin(2.0 * a)
    )
    hour, lat = math.radians(15.0 * (utc_h - 12.0) + longitude_deg) + ahead, math.radians(latitude_deg)
    up = math.sin(lat) * math.sin(dec) + math.cos(lat) * math.cos(dec) * math.cos(hour)
    north = math.cos(lat) * math.sin(dec) - math.sin(lat) * math.cos(dec) * math.cos(hour)
    east = -math.cos(dec) * math.sin(hour)
    return math.degrees(math.asin(max(-1.0, min(1.0, up)))), math.degrees(math.atan2(east, north)) % 360.0
