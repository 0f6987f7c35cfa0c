"""The weather files and the glass against pvlib, which the tests install and a rehearsal does not need."""

import gzip
import math

import pvlib
import pytest
from potreeve_tools.bench import weatherfile
from potreeve_tools.world.weather import (
    DIFFUSE_SHARE,
    FILES,
    HOURS,
    Pane,
    beam_efficacy,
    glass_share,
    path_of,
    read_hours,
    sky_efficacy,
)


@pytest.mark.parametrize("data", FILES)
def test_the_files_are_what_their_maker_makes(data):
    kept = gzip.decompress(path_of(data).read_bytes())
    assert len(kept.splitlines()) == HOURS + 2
    assert kept == gzip.decompress(weatherfile.make(data))


@pytest.mark.parametrize("angle_deg", [0.0, 5.0, 30.0, 55.0, 70.0, 80.0, 89.0, 89.99])
def test_glass(angle_deg):
    assert glass_share(math.cos(math.radians(angle_deg))) == pytest.approx(
        float(pvlib.iam.physical(angle_deg)), abs=1e-9
    )


def test_even_light_on_upright_glass():
    spread = pvlib.iam.marion_diffuse("physical", 90.0)
    assert DIFFUSE_SHARE == pytest.approx(spread["sky"], abs=1e-9) == pytest.approx(spread["ground"], abs=1e-9)


@pytest.mark.parametrize("data", FILES)
@pytest.mark.parametrize("azimuth_deg, horizon_deg, layers", [(135.0, 10.0, 2), (270.0, 0.0, 1), (0.0, 30.0, 3)])
def test_a_year_on_the_pane(data, azimuth_deg, horizon_deg, layers):
    """Each hour, by pvlib's own sun, transposition and angle losses, from its own file."""
    folder = weatherfile.Path(pvlib.__file__).parent / "data"
    frame, meta = pvlib.iotools.read_tmy3(folder / weatherfile.SOURCES[data], coerce_year=2023, map_variables=True)
    middle = frame.index - pvlib.tools.pd.Timedelta(minutes=30)
    sun = pvlib.solarposition.get_solarposition(middle, meta["latitude"], meta["longitude"], altitude=meta["altitude"])
    sun.index = frame.index
    zenith, azimuth = sun["apparent_zenith"], sun["azimuth"]
    parts = pvlib.irradiance.get_total_irradiance(
        90.0, azimuth_deg, zenith, azimuth, frame["dni"], frame["ghi"], frame["dhi"], albedo=0.2, model="isotropic"
    )
    shares = pvlib.iam.physical(pvlib.irradiance.aoi(90.0, azimuth_deg, zenith, azimuth)) ** layers
    spread = pvlib.iam.marion_diffuse("physical", 90.0)
    beam = (parts["poa_direct"].clip(lower=0.0) * (90.0 - zenith > horizon_deg) * shares).fillna(0.0)
    sky = parts["poa_sky_diffuse"] * (1.0 - math.sin(math.radians(horizon_deg))) * spread["sky"] ** layers
    ground = parts["poa_ground_diffuse"] * spread["ground"] ** layers
    hours = read_hours(data, Pane(azimuth_deg, horizon_deg=horizon_deg, layers=layers))
    assert hours.pane_wm2 == pytest.approx((beam + sky + ground).to_list(), abs=1e-5)
    beam_lux = [one * beam_efficacy(90.0 - angle) for one, angle in zip(beam, zenith)]
    sky_lux = [one * sky_efficacy(tenths / 10.0) for one, tenths in zip(sky, frame["TotCld (tenths)"])]
    lux = [sum(three) for three in zip(beam_lux, sky_lux, ground * 109.0)]
    assert hours.pane_lux == pytest.approx(lux, abs=1e-2)
