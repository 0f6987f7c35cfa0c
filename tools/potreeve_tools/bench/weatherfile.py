"""Makes the files of world/years from the TMY3 years inside the pvlib package, which only the tests install.

    python -m potreeve_tools.bench.weatherfile

Kept of each hour: temperature and humidity at its end; beam (DNI), global (GHI) and diffuse (DHI) irradiance over it,
cloud cover; and where the sun stands in its middle, by pvlib's solar position (NREL SPA, refraction included). The sun
is left out in hours without light. TMY3 is public-domain data of the US (NREL).
"""

import gzip
import json
from importlib.metadata import version
from pathlib import Path

from potreeve_tools.world.weather import COLUMNS, FILES, path_of

SOURCES = {"greensboro": "723170TYA.CSV", "sand-point": "703165TY.csv"}


def make(data):
    """The bytes of one file."""
    import pvlib

    folder = Path(pvlib.__file__).parent / "data"
    frame, meta = pvlib.iotools.read_tmy3(folder / SOURCES[data], coerce_year=2023, map_variables=True)
    # Rows are stamped at the end of their hour.
    middle = frame.index - pvlib.tools.pd.Timedelta(minutes=30)
    sun = pvlib.solarposition.get_solarposition(middle, meta["latitude"], meta["longitude"], altitude=meta["altitude"])
    head = {
        "place": meta["Name"].strip('"').title(),
        "utc_offset_h": meta["TZ"],
        "latitude_deg": meta["latitude"],
        "longitude_deg": meta["longitude"],
        "pressure_kpa": round(float(frame["pressure"].mean()) / 10.0, 2),
        "source": f"TMY3 {SOURCES[data]} (NREL, public domain); sun by pvlib {version('pvlib')}",
    }
    lines = ["# " + json.dumps(head), ",".join(COLUMNS)]
    names = ("temp_air", "relative_humidity", "dni", "ghi", "dhi", "TotCld (tenths)")
    for hour, values in enumerate(zip(*(frame[name] for name in names))):
        line = f"{values[0]:.1f},{values[1]}"
        if any(values[2:5]):
            zenith, azimuth = sun["apparent_zenith"].iloc[hour], sun["azimuth"].iloc[hour]
            line += f",{','.join(str(int(one)) for one in values[2:])},{zenith:.9f},{azimuth:.9f}"
        lines.append(line)
    return gzip.compress("\n".join(lines).encode() + b"\n", 9, mtime=0)


if __name__ == "__main__":
    for one in FILES:
        path_of(one).write_bytes(make(one))
