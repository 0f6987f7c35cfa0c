"""The report: whole, self-contained, safe with odd names, and thinned without losing extremes."""

import copy
import json
import random
import re

import pytest
from freezegun import freeze_time
from potreeve_tools.plots import panel as panel_kit
from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.report import drawing, page, panels, series
from potreeve_tools.world import rigfile

COMMAND = "potreeve rehearse --days 4 --seed 3"


@pytest.fixture(scope="module")
def text(finished, outcome):
    with freeze_time("2027-02-03 04:05:06"):
        return page.make_page(finished, outcome, COMMAND)


def course_of(text):
    return json.loads(re.search(r'<script type="application/json" id="course">(.*?)</script>', text, re.S)[1])


def without_data(text):
    """The page without its figures: all that a browser takes as markup, style or program."""
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
    own = without_data(text)
    assert (
        not re.search(r"(src|href)\s*=", own)
        and not re.search(r"url\((?!#)", own.replace('"url(#"', ""))
        and "@import" not in own
    )
    assert set(re.findall(r"https?://[^\"]*", own)) <= {"http://www.w3.org/2000/svg"}, (
        "a name space, which nobody fetches"
    )
    assert not re.search(r"\b(fetch|XMLHttpRequest|import|WebSocket|sendBeacon)\b\s*\(", own)


def test_is_light(text):
    """4 days; a month has some 200 kB. A plotting library made it 4.9 MB once."""
    assert len(text.encode()) < 150_000


def test_invented_data_is_said_to_be_invented(finished, outcome, text):
    assert "The rig is that of dry.toml" in text
    room = copy.copy(finished)
    room.world = copy.copy(finished.world)
    room.world.rig = copy.copy(finished.world.rig)
    room.world.rig.where = str(rigfile.DEFAULT_RIG)
    assert "invented data" in without_data(page.make_page(room, outcome, COMMAND))


def test_panels_and_their_places(text, outcome):
    found = course_of(text)
    names = [panel["id"] for panel in found["panels"]]
    assert names == ["pot0", "pot1", "pot2", "tray", "reservoir", "battery", "climate", "light"]
    assert all(f'<div class="plot" id="{name}"' in text for name in names)
    assert found["start"] == outcome["start"] and found["minutes"] >= outcome["days"] * 1440


def test_moisture_panel_shows_levels_reading_and_doses(text, finished, outcome):
    panel = course_of(text)["panels"][0]
    assert [line["name"] for line in panel["lines"]] == ["as the probe read it", "in the pot"]
    refill_pm = definitions.dosing.refill_point_pm(finished.checked["channels"][0])
    assert [(level["text"], level["at"]) for level in panel["levels"]] == [("capacity", 1000), ("refill", refill_pm)]
    bars = panel["bars"]
    assert sum(bars["v"]) == pytest.approx(outcome["pots"][0]["given_ml"], abs=len(bars["v"]))
    assert len(bars["v"]) == len(bars["m"]) == len(bars["text"]) == outcome["pots"][0]["doses"]


def test_everything_drawn_has_a_place_in_its_legend(finished, outcome):
    made = panels.make_panels(series.course(finished, definitions.decoded(finished)), finished, outcome)
    for panel in made:
        key = panel_kit.legend(panel)
        names = [line["name"] for line in panel["lines"]] + [level["text"] for level in panel.get("levels", ())]
        names += [panel[part]["name"] for part in ("bars", "marks") if panel.get(part)]
        assert all(f"</svg>{name}</li>" in key for name in names), panel["id"]
        assert key.count("<li>") == len(names) + bool(panel.get("band"))
        dashes = [(line["ink"], line["dash"]) for line in panel["lines"]]
        assert len({dash for _, dash in dashes}) == len(dashes), "told apart by colour alone"


def test_figures_of_a_plot_as_a_table(finished, outcome):
    made = panels.make_panels(series.course(finished, definitions.decoded(finished)), finished, outcome)
    table = panel_kit.figures(made[0], definitions_day(outcome), 4 * 1440)
    rows = re.findall(r'<tr><th scope="row">(.*?)</th><td>(.*?)</td><td>(.*?)</td><td>(.*?)</td></tr>', table)
    assert [row[0] for row in rows] == ["1 Jun", "2 Jun", "3 Jun", "4 Jun"]
    assert sum(int(row[3].replace(",", "")) for row in rows) == sum(made[0]["bars"]["v"])
    lowest = min(int(row[2].split(" to ")[0].replace(",", "")) for row in rows)
    assert lowest == min(
        v for m, v in zip(made[0]["lines"][1]["m"], made[0]["lines"][1]["v"], strict=True) if m < 4 * 1440
    )
    long_one = panel_kit.figures(made[0], definitions_day(outcome), 400 * 1440)
    assert "for each 7 days" in long_one and long_one.count("<tr>") < 70 and "not known" in long_one


def definitions_day(outcome):
    return panel_kit.day_of(outcome["start"])


@pytest.mark.parametrize(
    "moisture_pm, looks", [(1000, 0.0), ("stress", 0.0), ("middle", 0.5), ("wilting", 1.0), (0, 1.0)]
)
def test_a_plant_looks_as_thirsty_as_it_is(finished, moisture_pm, looks):
    channel = finished.checked["channels"][0]
    stress, wilting = definitions.dosing.stress_point_pm(channel), channel["wilting_pm"]
    places = {"stress": stress, "middle": (stress + wilting) / 2, "wilting": wilting}
    assert drawing.thirst(places.get(moisture_pm, moisture_pm), channel) == looks


def test_the_drawing_tells_of_thirst_and_death(finished, outcome):
    dry = copy.copy(finished)
    dry.samples = [copy.deepcopy(finished.samples[-1])]
    dry.samples[-1]["pots"][0]["moisture_pm"] = 300
    told = copy.deepcopy(outcome)
    told["pots"][1]["alive"] = False
    drawn = drawing.sill(dry, told)
    label = re.search(r'aria-label="(.*?)"', drawn)[1]
    assert "mint at 300 per mille, thirsty" in label and re.search(r"strawberry at \d+ per mille, dead", label)
    looks = [float(look) for look in re.findall(r'data-thirst="(.*?)"', drawn)]
    assert looks[0] > 0.5 and looks[2] == 0.0
    assert drawing.DEAD in drawn and drawing.DEAD not in drawing.sill(finished, outcome)


@pytest.mark.parametrize("name", ["mint", "cherry tomato", "x" * 16, "a b c d e f g h i", "W" * 24, ""])
@pytest.mark.parametrize("slot", [580.0, 290.0, 193.0, 145.0])
def test_captions_stay_in_their_slots(name, slot):
    lines = drawing.fitted(name, slot - 8.0)
    assert 1 <= len(lines) < drawing.LINES_MOST and all(len(line) * drawing.LETTER <= slot - 8.0 for line in lines)


def test_alerts_that_say_the_same_are_one_row_and_what_matters_most_is_first(finished, outcome):
    full = copy.deepcopy(outcome)
    one = {"level": "note", "pot": "mint", "kind": "note", "what": "full tray", "do": "look", "count": 96}
    when = {"first_day": 2, "first_when": "2026-06-02 08:00", "last_day": 30, "last_when": "2026-06-30 09:00"}
    other = {**one, **when, "level": "call", "pot": None, "what": "flat", "do": "", "count": 1}
    full["alert_groups"] = [other, {**one, **when}]
    made = without_data(page.make_page(finished, full, "potreeve rehearse"))
    table = re.search(r'<table class="alerts">.*?</table>', made, re.S)[0]
    assert table.count("<tr>") == 3 and table.index("flat") < table.index("full tray")
    assert "2026-06-02 08:00<br>to 2026-06-30 09:00, ×96" in table and "×1<" not in table


def test_what_is_calm_is_no_alert_and_stands_below(finished, outcome):
    full = copy.deepcopy(outcome)
    when = {"first_day": 2, "first_when": "2026-06-02 08:00", "last_day": 2, "last_when": "2026-06-02 08:00"}
    calm = {"level": "calm", "pot": "mint", "kind": "note", "what": "used up", "do": "", "count": 1, **when}
    full["alert_groups"] = [calm]
    full["alerts"] = [{"day": 2, "when": "2026-06-02 08:00", **{key: calm[key] for key in ("level", "pot", "what")}}]
    made = page.make_page(finished, full, "potreeve rehearse")
    before, after = without_data(made).split("<h2>Alerts</h2><p>No alerts.</p>")
    assert "used up" not in before and after.startswith('<h2 id="calm">Calm') and "used up" in after
    assert not any("marks" in panel for panel in course_of(made)["panels"])


def test_a_name_can_do_no_harm(finished, outcome):
    evil = '</script><img src=x onerror="boom()">'
    nasty = copy.deepcopy(outcome)
    nasty["rig_name"] = nasty["pots"][0]["name"] = evil
    nasty["alerts"] = [{"day": 1, "when": "2026-06-01 10:00", "pot": evil, "what": evil, "do": evil}]
    nasty["alerts"][0] |= {"kind": "note", "level": "note"}
    when = {"first_day": 1, "first_when": "2026-06-01 10:00", "last_day": 1, "last_when": "2026-06-01 10:00"}
    nasty["alert_groups"] = [{**nasty["alerts"][0], **when, "count": 1}]
    made = page.make_page(finished, nasty, f"potreeve rehearse --rig '{evil}'")
    assert evil not in made and "<img" not in without_data(made)
    assert made.count("<script") == 2
    assert course_of(made)["panels"][0]["marks"]["text"] == [evil]


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
