"""Where the sun stands, by Spencer's series, against pvlib's solar position algorithm (NREL's SPA)."""

import datetime

import pvlib
import pytest
from potreeve_tools.world import ownclimate


@pytest.mark.parametrize("place", [(36.1, -79.95), (55.3, -160.5), (52.5, 13.4), (-33.9, 151.2), (0.0, 0.0)])
def test_the_sun_stands_where_pvlib_says(place):
    """Within a third of a degree of height at any hour of a year, sideways where it does not stand high."""
    start = datetime.datetime(2026, 1, 1, 0, 30, tzinfo=datetime.UTC)
    times = [start + datetime.timedelta(hours=7 * step) for step in range(1250)]
    theirs = pvlib.solarposition.get_solarposition(pvlib.tools.pd.DatetimeIndex(times), *place)
    for when, elevation, azimuth in zip(times, theirs["elevation"], theirs["azimuth"], strict=True):
        ours = ownclimate.sun(when.timestamp(), *place)
        assert ours[0] == pytest.approx(elevation, abs=0.33)
        if abs(elevation) < 60.0:
            assert abs((ours[1] - azimuth + 180.0) % 360.0 - 180.0) < 0.8
