"""The report: whole, self-contained, safe with odd names, and thinned without losing extremes."""

import copy
import json
import random
import re

import pytest
from freezegun import freeze_time
from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.report import page, panels, series

COMMAND = "potreeve rehearse --days 4 --seed 3"


@pytest.fixture(scope="module")
def text(finished, outcome):
    with freeze_time("2027-02-03 04:05:06"):
        return page.make_page(finished, outcome, COMMAND)


def course_of(text):
    return json.loads(re.search(r'<script type="application/json" id="course">(.*?)</script>', text, re.S)[1])


def own_part(text):
    """The page without the plotting library."""
    return text.split('<script type="application/json"')[0] + text[text.rindex("<script>") :]


def test_says_how_it_was_made(text, outcome):
    for word in (
        COMMAND,
        outcome["digest"],
        outcome["settings_digest"],
        "TMY3",
        "Greensboro",
        "3 February 2027, 04:05",
        "seed 3",
    ):
        assert word in text, word


def test_needs_no_network(text):
    own = own_part(text)
    assert not re.search(r"(src|href)\s*=", own) and "url(" not in own and "@import" not in own
    assert not re.search(r"https?://", own)
    assert re.search(r"plotly\.js v\d", text)


def test_invented_data_is_said_to_be_invented(finished, outcome, text):
    assert "The rig is that of dry.toml" in text
    room = copy.copy(finished)
    room.world = copy.copy(finished.world)
    room.world.rig = copy.copy(finished.world.rig)
    room.world.rig.where = str(page.DEFAULT_RIG)
    assert "invented data" in own_part(page.make_page(room, outcome, COMMAND))


def test_panels_and_their_places(text, outcome):
    found = course_of(text)
    names = [panel["id"] for panel in found["panels"]]
    assert names == ["pot0", "pot1", "pot2", "tray", "reservoir", "battery", "climate", "light"]
    assert all(f'<div id="{name}"' in text for name in names)
    assert found["start"] == outcome["start"] and found["minutes"] >= outcome["days"] * 1440


def test_moisture_panel_shows_levels_reading_and_doses(text, finished, outcome):
    panel = course_of(text)["panels"][0]
    names = [trace["name"] for trace in panel["data"]]
    assert names[:3] == ["nearest dose", "as the probe read it", "in the pot"]
    assert [note["text"] for note in panel["layout"]["annotations"]] == ["capacity", "refill"]
    levels = [shape["y0"] for shape in panel["layout"]["shapes"]]
    assert 1000 in levels and definitions.dosing.refill_point_pm(finished.checked["channels"][0]) in levels
    assert sum(panel["data"][0]["y"]) == pytest.approx(outcome["pots"][0]["given_ml"], abs=len(panel["data"][0]["y"]))
    assert len(panel["data"][0]["y"]) == outcome["pots"][0]["doses"]


def test_a_name_can_do_no_harm(finished, outcome):
    evil = '</script><img src=x onerror="boom()">'
    nasty = copy.deepcopy(outcome)
    nasty["rig_name"] = nasty["pots"][0]["name"] = evil
    nasty["alerts"] = [{"day": 1, "when": "2026-06-01 10:00", "pot": evil, "kind": "note", "what": evil, "do": evil}]
    made = page.make_page(finished, nasty, f"potreeve rehearse --rig '{evil}'")
    assert evil not in made and "<img" not in own_part(made)
    assert made.count("<script") == 3 or own_part(made).count("<script") == 1
    assert course_of(made)["panels"][0]["data"][-1]["text"][0].startswith("&lt;/script>")


def test_thinning_keeps_ends_and_extremes():
    rng = random.Random(1)
    values = [rng.gauss(0, 1) for _ in range(20_000)]
    times = list(range(20_000))
    values[7777], values[12345], values[15_000] = 99.0, -99.0, None
    some_times, some = series.thin(times, values, 1000)
    assert len(some) <= 1010
    assert some_times == sorted(set(some_times)) and (some_times[0], some_times[-1]) == (0, 19_999)
    assert 99.0 in some and -99.0 in some and all(values[t] == v for t, v in zip(some_times, some, strict=True))


def test_short_series_stay_whole():
    assert series.thin([1, 2], [None, 3]) == ([1, 2], [None, 3])


def test_all_layouts_are_plain_json(finished, outcome):
    rows = definitions.decoded(finished)
    found = panels.make_panels(series.course(finished, rows), finished, outcome)
    json.dumps(found, allow_nan=False)
