"""Weather of one's own: what is read is what stands there, gaps are filled and told, and every fault has its line."""

import datetime
import gzip
import json
import math
import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world import ownclimate, ownparts, rigfile, setting, weather, weatherfile
from potreeve_tools.world.sill import Room, SillClimate, Site, Window

UTC = datetime.UTC
START = datetime.datetime(2026, 6, 1, tzinfo=UTC)
HEAD = "time,temp_c,rh_pct,light_lx"
NOWHERE = {"utc_offset_h": 0.0, "latitude_deg": -999.0, "longitude_deg": -999.0}


def rows(hours, start=START, lux=lambda hour: 1000):
    """Lines of a good file: temperature is the number of the hour, modulo 40."""
    return [
        f"{(start + datetime.timedelta(hours=hour)).isoformat()},{hour % 40}.5,50,{lux(hour)}" for hour in range(hours)
    ]


def text(lines, head=HEAD):
    return "\n".join([head, *lines]) + "\n"


def faults(words):
    with pytest.raises(BadInput) as caught:
        weatherfile.parse(words, "my.csv")
    return caught.value.faults


def test_a_good_file_is_what_it_says():
    series = weatherfile.parse(text(rows(48)), "my.csv")
    assert series.first_s == START.timestamp() and series.hours == 48 and series.filled == 0 and series.notes == ()
    assert series.columns["temp_c"][:3] == [0.5, 1.5, 2.5] and series.indoors


@pytest.mark.parametrize(
    "words",
    [
        "# a remark\n\n" + text(rows(24)).replace("\n", "\r\n"),
        text(rows(24)).replace(",", ";"),
        text(rows(24)).replace(",", "\t"),
        text(rows(24), '"time","temp_c","rh_pct","light_lx"'),
        text(rows(24)).replace("+00:00", "Z"),
        text([row + "," for row in rows(24)], HEAD + ",solar_wm2").replace(",1000,", ",1000,9.2"),
    ],
)
def test_other_spellings_of_the_same_file(words):
    assert weatherfile.parse(words, "my.csv").columns["temp_c"] == [hour + 0.5 for hour in range(24)]


def test_an_hour_that_comes_twice_at_a_change_of_clocks_is_two_hours():
    """Central Europe's autumn: with offsets the hours go on, without them nobody can tell."""
    night = [
        "2026-10-25T00:00+02:00,1,50,0",
        "2026-10-25T01:00+02:00,2,50,0",
        "2026-10-25T02:00+02:00,3,50,0",
        "2026-10-25T02:00+01:00,4,50,0",
        "2026-10-25T03:00+01:00,5,50,0",
    ]
    assert weatherfile.parse(text(night), "my.csv").columns["temp_c"] == [1, 2, 3, 4, 5]
    told = faults(text([re.sub(r"\+0\d:00", "", row) for row in night]))
    assert len(told) == 5 and "line 2: " in told[0] and "without an offset" in told[0]


def test_spring_has_no_gap():
    night = ["2026-03-29T01:00+01:00,1,50,0", "2026-03-29T03:00+02:00,2,50,0", "2026-03-29T04:00+02:00,3,50,0"]
    assert weatherfile.parse(text(night), "my.csv").filled == 0


def test_short_gaps_are_filled_by_a_line_and_told():
    lines = rows(48)
    del lines[10:12]
    series = weatherfile.parse(text(lines), "my.csv")
    assert series.columns["temp_c"][9:13] == [9.5, 10.5, 11.5, 12.5] and series.filled == 2
    assert series.notes == (
        "2 of 48 hours were missing and are filled, the longest gap 2 h, the first before line 12.",
    )


def test_an_empty_cell_is_a_missing_hour():
    lines = rows(30)
    lines[5] = lines[5].replace(",50,", ",,")
    assert weatherfile.parse(text(lines), "my.csv").filled == 1


def test_longer_gaps_are_filled_by_the_same_hour_of_days_beside_them():
    """A straight line through a day would leave the plants in twilight."""
    lines = rows(96, lux=lambda hour: 100 * (hour % 24))
    del lines[30:54]
    lux = weatherfile.parse(text(lines), "my.csv").columns["light_lx"]
    assert lux == [100 * (hour % 24) for hour in range(96)]


def test_what_is_missing_too_long_is_no_weather():
    lines = rows(24 * 9)
    del lines[30:80]
    (told,) = faults(text(lines))
    assert "line 32: 50 hours are missing before it, from 2026-06-02T06:00Z" in told and "cut the file" in told
    scarce = [row for hour, row in enumerate(rows(100)) if hour % 2]
    assert "too little to go by" in faults(text(scarce))[0]


BAD = [
    ("", "no rows"),
    (text([]), "no row has all its values"),
    (text(rows(2), "time,temp_c,rh_pct"), "line 1: columns missing: global_wm2"),
    (text(rows(2), "time,temp_c,rh_pct,lux"), 'line 1: "lux" is no column'),
    (text(rows(2), "tiem,temp_c,rh_pct,light_lx"), 'did you mean "time"'),
    (text(rows(2), "time,temp_c,temp_c,light_lx"), "the column temp_c comes twice"),
    (text(rows(2), "time,temp_c,light_lx,global_wm2"), "in one file"),
    (text(rows(2)).replace("0.5,50", "hot,50"), 'line 2: temp_c = "hot": no number'),
    (text(rows(2)).replace("0.5,50", "nan,50"), "no number"),
    (text(rows(2)).replace("0.5,50", "1_0,50"), "no number"),
    (text(rows(2)).replace("0.5,50", "99,50"), "out of range; give -60 to 60"),
    (text(rows(2)).replace(",50,", ",501,"), "out of range; give 0 to 100"),
    (text(rows(2)).replace(",", ";").replace("0.5", "0,5"), "no number; write 0.5"),
    (text([rows(2)[0], rows(2)[0]]), "line 3: the same hour as line 2"),
    (text(rows(2)[::-1]), "line 3: earlier than line 2"),
    (text([rows(1)[0], rows(1)[0].replace("T00:00", "T01:30")]), "line 3: not whole hours after the first row"),
    (text(["June,1,50,0"]), 'time = "June": no time; write it as'),
    (text(["1066-10-14T09:00Z,1,50,0"]), "not between 1970 and 2100"),
    (text(["2026-06-01T00:00Z,1,50"]), "line 2: "),
    (text(["2026-06-01T00:00Z,1,50,0" + " " * 500]), "line 2: "),
    (text(['2026-06-01T00:00Z,"1,50,0']), "line 2: "),
]


@pytest.mark.parametrize("words, told", BAD, ids=range(len(BAD)))
def test_what_is_wrong_is_told_with_its_line(words, told):
    found = faults(words)
    assert any(told in line for line in found), found
    for line in found:
        assert line.startswith("my.csv") and "; " in line and line.isprintable()


def test_many_faults_are_bounded():
    found = faults(text([row.replace(",50,", ",x,") for row in rows(20_000)]))
    assert len(found) == weatherfile.FAULTS_MOST + 1 and "19,980 faults more" in found[-1]


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=300) | st.binary(max_size=300).map(lambda data: data.decode("latin-1")))
def test_whatever_a_file_holds_is_weather_or_a_plain_fault(words):
    for whole in (words, HEAD + "\n" + words, text(rows(3)) + words):
        try:
            weatherfile.parse(whole, "my.csv")
        except BadInput as fault:
            assert 1 <= len(fault.faults) <= weatherfile.FAULTS_MOST + 1
            assert all(line.startswith("my.csv") and line.isprintable() and len(line) < 500 for line in fault.faults)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.booleans(), min_size=24, max_size=200), st.data())
def test_what_is_filled_lies_within_what_is_known(there, data):
    lines = [row for row, here in zip(rows(len(there)), there) if here]
    try:
        series = weatherfile.parse(text(lines), "my.csv")
    except BadInput:
        return
    known = [float(line.split(",")[1]) for line in lines]
    assert all(min(known) <= value <= max(known) for value in series.columns["temp_c"])
    assert series.hours - series.filled == len(lines)


def test_a_file_that_is_too_large_or_none_is_refused_at_once(tmp_path):
    path = tmp_path / "big.csv"
    path.write_text(HEAD + "\n" + "x" * (weatherfile.LARGEST_BYTES + 1))
    began = time.process_time()
    for odd, words in ((path, "no such file is that large"), ("/dev/zero", "is a device"), (tmp_path, "is a folder")):
        with pytest.raises(BadInput, match=words):
            weatherfile.load(odd)
    path.write_text(text(rows(1), HEAD) * 90_000)
    with pytest.raises(BadInput, match="ten years"):
        weatherfile.load(path)
    assert time.process_time() - began < 3.0


# ---- at the sill -------------------------------------------------------------------------


def climate(series, day, **site):
    return ownclimate.OwnClimate(series, {**NOWHERE, **site}, Window(), Room(), day)


def test_the_ring_begins_at_the_places_midnight_and_holds_whole_days():
    series = weatherfile.parse(text(rows(24 * 3 + 5)), "my.csv")
    here = climate(series, datetime.date(2026, 6, 2), utc_offset_h=2.0)
    # Midnight there is 22:00 UTC: hour 22 of the file.
    assert ownclimate.whole_days(series, 2.0) == (22, 48)
    assert here.at(1800).temp_c == 22.5 and here.at(1800 + 3600).temp_c == 23.5
    assert here.at(1800 + 48 * 3600).temp_c == 22.5, "then it begins again"
    instant = climate(series, datetime.datetime(2026, 6, 2, 4, tzinfo=UTC), utc_offset_h=2.0)
    assert instant.at(1800).temp_c == 28.5


def test_less_than_a_day_is_no_weather():
    with pytest.raises(BadInput, match="no whole day"):
        climate(weatherfile.parse(text(rows(30)), "my.csv"), START.date(), utc_offset_h=1.0)


def greensboro():
    """The built-in year as a file of one's own would have it: rows by the beginning of their hours, at UTC-5."""
    head, names, *lines = gzip.decompress(weather.path_of("greensboro").read_bytes()).decode().splitlines()
    facts, found = json.loads(head[1:]), ["time,temp_c,rh_pct,global_wm2,beam_wm2,diffuse_wm2,cloud_tenths"]
    offset = datetime.timezone(datetime.timedelta(hours=facts["utc_offset_h"]))
    when = datetime.datetime(2025, 1, 1, tzinfo=offset)
    for line in lines:
        cells = dict(zip(weather.COLUMNS, line.split(",")))
        light = [cells.get(name, "0") for name in ("global_wm2", "beam_wm2", "diffuse_wm2", "cloud_tenths")]
        found.append(",".join([when.isoformat(), cells["temp_c"], cells["rh_pct"], *light]))
        when += datetime.timedelta(hours=1)
    return "\n".join(found), facts


def test_weather_from_outdoors_comes_through_the_window_as_the_built_in_years_do():
    words, facts = greensboro()
    series = weatherfile.parse(words, "my.csv")
    site = {key: facts[key] for key in ("utc_offset_h", "latitude_deg", "longitude_deg")}
    ours = climate(series, datetime.date(2025, 6, 1), **site)
    built_in = SillClimate(Site("greensboro"), start=(6, 1))
    days = range(0, 360, 7)

    def light(sill, day):
        return sum(sill.at((day * 24 + hour + 0.5) * 3600.0).lux for hour in range(24))

    for day in days:
        # Its sun is FAO-56's, the file's the data set's own: half a degree, which matters where it grazes the pane.
        assert math.isclose(light(ours, day), light(built_in, day), rel_tol=0.08), day
        for hour in (3, 15):
            at_s = (day * 24 + hour) * 3600.0
            assert abs(ours.at(at_s).temp_c - built_in.at(at_s).temp_c) < 1.5


def test_times_that_are_hours_off_show_by_light_at_night():
    words, facts = greensboro()
    series = weatherfile.parse(words, "my.csv")
    site = {key: facts[key] for key in ("utc_offset_h", "latitude_deg", "longitude_deg")}
    with pytest.raises(BadInput, match="sun is down"):
        climate(series, datetime.date(2025, 6, 1), **{**site, "longitude_deg": -facts["longitude_deg"]})


# ---- in a rig file -----------------------------------------------------------------------


def rig_text(**site):
    keys = "\n".join(f"{key} = {json.dumps(value)}" for key, value in site.items())
    words = rigfile.DEFAULT_RIG.read_text(encoding="utf-8")
    return re.sub(r'^data = "greensboro".*$', keys, words, flags=re.M)


def test_a_rig_file_names_it_beside_itself(tmp_path, monkeypatch):
    (tmp_path / "my.csv").write_text(text(rows(24 * 8, START)))
    path = tmp_path / "rig.toml"
    path.write_text(rig_text(weather="my.csv"))
    monkeypatch.chdir("/")
    rig = rigfile.load_rig(path)
    assert setting.make_climate(rig).at(1800).temp_c == 0.5
    assert ownparts.told(rig, 30)["weather"]["notes"] == ["It ends on 2026-06-08; then its 8 days begin again."]
    assert ownparts.told(rig, 8)["weather"]["notes"] == []


def test_a_rig_begins_with_its_weather_and_never_outside_it(tmp_path):
    (tmp_path / "my.csv").write_text(text(rows(24 * 8, START.replace(month=3))))
    path = tmp_path / "rig.toml"
    path.write_text(rig_text(weather="my.csv"))
    with pytest.raises(BadInput, match=r'start = "2026-06-01": not in .*my.csv, whose whole days are 2026-03-01 to'):
        rigfile.load_rig(path)
    path.write_text(re.sub("^start = .*$", "", rig_text(weather="my.csv"), flags=re.M))
    assert rigfile.load_rig(path).rig["start"] == "2026-03-01"


def test_faults_of_the_file_are_the_rigs(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(rig_text(weather="none.csv"))
    with pytest.raises(BadInput, match=r"\[site\]: weather: .*none.csv: can't be read"):
        rigfile.load_rig(path)
    head = "time,temp_c,rh_pct,global_wm2,beam_wm2,diffuse_wm2"
    (tmp_path / "out.csv").write_text(text([f"{row.rsplit(',', 1)[0]},0,0,0" for row in rows(48)], head))
    path.write_text(rig_text(weather="out.csv"))
    with pytest.raises(BadInput) as caught:
        rigfile.load_rig(path)
    assert ["latitude_deg" in line or "longitude_deg" in line for line in caught.value.faults] == [True, True]
