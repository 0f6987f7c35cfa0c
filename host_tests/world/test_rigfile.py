"""Rig files: good ones load whole; each slip gives one line with file, key, value and remedy."""

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.rigfile import check_rig, load_rig
from small_rigs import rig_data


def test_the_default_rig_loads():
    rig = load_rig()
    assert [pot["name"] for pot in rig.pots] == ["mint", "strawberry", "cherry tomato"]
    assert rig.tray_capacity_ml > 900
    assert rig.reservoir["base_mm"] + rig.reservoir["height_mm"] < 0
    assert all(12 <= pot["diameter_cm"] <= 17 for pot in rig.pots)


def test_the_outlet_defaults_to_just_above_the_soil():
    data = rig_data()
    del data["pot"][0]["outlet_mm"]
    assert check_rig(data, "r").pots[0]["outlet_mm"] == 105 + 15


def put(*path_and_value):
    """Return a change that sets data[a][b]... = value."""
    *path, key, value = path_and_value

    def change(data):
        for step in path:
            data = data[step]
        data[key] = value

    return change


def drop(*path):
    def change(data):
        for step in path[:-1]:
            data = data[step]
        del data[path[-1]]

    return change


def both(*changes):
    def change(data):
        for one in changes:
            one(data)

    return change


BAD = [
    # name, change, words that must be in the one line
    ("tray missing", drop("tray"), ["[tray]", "missing", "add"]),
    ("battery missing", drop("battery"), ["[battery]", "missing", "add"]),
    ("no pots", put("pot", []), ["pot", "0 items", "1 to 8"]),
    (
        "nine pots",
        lambda d: d.update(pot=[{**d["pot"][0], "name": str(i)} for i in range(9)]),
        ["pot", "9 items", "1 to 8"],
    ),
    ("table unknown", put("trai", {"wall_mm": 3}), ["trai", "unknown key", '"tray"']),
    ("key unknown", put("tray", "wal_mm", 15), ["wal_mm", "15", '"wall_mm"']),
    ("pot key unknown", put("pot", 1, "pump_mls", 4), ["[[pot]] 2", "pump_mls", '"pump_ml_s"']),
    ("key missing", drop("tray", "wall_mm"), ["wall_mm", "(missing)", "2 to 300 mm"]),
    ("text for number", put("tray", "area_cm2", "big"), ["area_cm2", '"big"', "give a number"]),
    ("number for text", put("rig", "name", 7), ["name", "7", "text in quotes"]),
    ("true for number", put("reservoir", "level_mm", True), ["level_mm", "true", "give a number"]),
    ("number for true", put("reservoir", "lid", 1), ["lid", "1", "true or false"]),
    ("fraction of a cell", put("battery", "cells", 1.5), ["cells", "1.5", "whole number"]),
    ("not a number", put("tray", "wall_mm", math.nan), ["wall_mm", "nan", "finite"]),
    ("endless", put("tray", "area_cm2", math.inf), ["area_cm2", "inf", "finite"]),
    ("negative", put("pot", 0, "pump_ml_s", -1), ["pump_ml_s", "-1", "0.05 to 60 ml/s"]),
    ("too large", put("window", "azimuth_deg", 400), ["azimuth_deg", "400", "0 to 360"]),
    ("choice misspelt", put("battery", "chemistry", "lithum"), ["chemistry", '"lithum"', '"lithium"']),
    ("plant unknown", put("pot", 0, "plant", "oak tree"), ["plant", '"oak tree"', '"mint"']),
    ("substrate unknown", put("pot", 0, "substrate", "mud"), ["substrate", '"mud"', '"coir"']),
    ("weather unknown", put("site", "data", "atlantis"), ["data", '"atlantis"', '"greensboro"']),
    ("table is a number", put("tray", 12), ["tray", "12", "a table"]),
    ("pot is a table", lambda d: d.update(pot=d["pot"][0]), ["pot", "wrong type", "list"]),
    ("pot is a word", put("pot", 0, "mint"), ["pot[0]", '"mint"', "a table"]),
    ("not a date", put("rig", "start", "2026-13-01"), ["start", '"2026-13-01"', "YYYY-MM-DD"]),
    ("a date of feelings", put("rig", "start", "midsummer!"), ["start", '"midsummer!"', "YYYY-MM-DD"]),
    (
        "electronics below the spill line",
        put("electronics", "height_mm", 10),
        ["height_mm", "10", "spill line", "higher"],
    ),
    ("electronics at the spill line", put("electronics", "height_mm", 15), ["height_mm", "15", "spill line", "higher"]),
    ("tray smaller than its pots", put("tray", "area_cm2", 300), ["area_cm2", "300", "pots", "larger tray"]),
    ("tray fuller than full", put("tray", "water_ml", 5000), ["water_ml", "5000", "less water"]),
    ("tub above its brim", put("reservoir", "level_mm", 400), ["level_mm", "400", "brim", "220"]),
    ("inlet above the brim", put("reservoir", "inlet_mm", 220), ["inlet_mm", "220", "lower the inlet"]),
    (
        "siphon that floods",
        both(put("reservoir", "base_mm", 100), put("pot", 0, "air_hole", False)),
        ["base_mm", "100", "siphon", "air_hole"],
    ),
    ("too many cells", put("battery", "cells", 2), ["cells", "2", "8400 mV", "fewer"]),
    (
        "too few cells",
        both(put("battery", "chemistry", "nimh"), put("battery", "cells", 1)),
        ["cells", "1400 mV", "more cells"],
    ),
    ("probe through the floor", put("pot", 0, "probe_depth_cm", 12), ["probe_depth_cm", "12", "10.5", "less"]),
    ("tube in the soil", put("pot", 0, "outlet_mm", 60), ["outlet_mm", "60", "soil", "above"]),
    ("pump too weak to lift", put("pot", 2, "pump_lift_mm", 400), ["pump_lift_mm", "400", "477 mm", "stronger"]),
    (
        "a pot like a pipe",
        both(put("pot", 0, "height_cm", 50), put("pot", 0, "outlet_mm", 520), put("pot", 0, "pump_lift_mm", 2000)),
        ["height_cm", "50", "check both"],
    ),
    ("two of a name", put("pot", 1, "name", "mint"), ["[[pot]] 2", '"mint"', "own name"]),
    ("mishap unknown", put("fault", [{"kind": "tube_of", "start_h": 1.0}]), ["kind", '"tube_of"', '"tube_off"']),
    ("mishap without kind", put("fault", [{"start_h": 1.0}]), ["kind", "(missing)", "give one of"]),
    ("mishap without start", put("fault", [{"kind": "tube_off", "channel": 0}]), ["start_h", "(missing)", "hours"]),
    (
        "mishap that is none",
        put("fault", [{"kind": "battery_cold", "start_h": 1.0, "by_degc": 0.0}]),
        ["by_degc", "changes nothing"],
    ),
    (
        "mishap that ends first",
        put("fault", [{"kind": "radio_down", "start_h": 5.0, "end_h": 1.0}]),
        ["end", "3600", "later"],
    ),
    (
        "mishap with two starts",
        put("fault", [{"kind": "radio_down", "start_h": 5.0, "start_s": 1}]),
        ["start_h", "one of the two"],
    ),
    ("mishap on no channel", put("fault", [{"kind": "probe_out", "start_h": 5.0}]), ["channel", "(missing)", "0 to 2"]),
    (
        "mishap on channel 3 of 3",
        put("fault", [{"kind": "probe_out", "start_h": 5.0, "channel": 3}]),
        ["channel", "3", "0 to 2"],
    ),
    (
        "mishap crossed with itself",
        put("fault", [{"kind": "tubes_crossed", "start_h": 5.0, "channel": 1, "other": 1}]),
        ["other", "1", "not another"],
    ),
    (
        "mishap's own key out of range",
        put("fault", [{"kind": "tube_clogged", "start_h": 5.0, "channel": 1, "left": 3.0}]),
        ["left", "3.0", "0 to 0.95"],
    ),
]


@pytest.mark.parametrize("change, words", [bad[1:] for bad in BAD], ids=[bad[0] for bad in BAD])
def test_a_bad_rig_gives_one_clear_line(change, words):
    data = rig_data()
    change(data)
    with pytest.raises(BadInput) as caught:
        check_rig(data, "my rig.toml")
    assert len(caught.value.faults) == 1, caught.value.faults
    line = caught.value.faults[0]
    assert line.startswith("my rig.toml") and "\n" not in line
    for word in words:
        assert word in line


def test_all_faults_are_told_at_once():
    data = rig_data()
    for change in (
        put("tray", "wall_mm", 0),
        put("battery", "cells", "one"),
        drop("reservoir", "area_cm2"),
        put("pot", 2, "colour", "red"),
    ):
        change(data)
    with pytest.raises(BadInput) as caught:
        check_rig(data, "r")
    assert len(caught.value.faults) == 4


@pytest.mark.parametrize(
    "content, words",
    [
        (b"[tray\nwall_mm = 3", ["not valid TOML", "line 1"]),
        (b"\xff\xfe", ["not UTF-8"]),
        (b"[tray]\nwall_mm = 3\nwall_mm = 4\n", ["not valid TOML"]),
    ],
    ids=["half a table", "not text", "key twice"],
)
def test_a_file_that_is_no_toml(tmp_path, content, words):
    path = tmp_path / "rig.toml"
    path.write_bytes(content)
    with pytest.raises(BadInput) as caught:
        load_rig(path)
    assert len(caught.value.faults) == 1
    for word in ["rig.toml", *words]:
        assert word in caught.value.faults[0]


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(BadInput, match="can't be read"):
        load_rig(tmp_path / "none.toml")
    with pytest.raises(BadInput, match="can't be read"):
        load_rig(tmp_path)


JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=20),
    st.lists(st.integers(), max_size=3),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
    st.dates(),
    st.times(),
)
PLACES = [(table, key) for table, keys in rig_data().items() if isinstance(keys, dict) for key in keys]
PLACES += [("pot", n, key) for n in range(3) for key in rig_data()["pot"][0]] + [(table,) for table in rig_data()]


@settings(max_examples=400, deadline=None)
@example([(("rig",), {"\n": 0})])
@example([(("rig", "name"), "\u2028\x7f")])
@given(st.lists(st.tuples(st.sampled_from(PLACES), JUNK), min_size=1, max_size=4))
def test_whatever_stands_in_a_rig_file_it_loads_or_says_why(slips):
    data = rig_data()
    for place, junk in slips:
        at = data
        try:
            for step in place[:-1]:
                at = at[step]
            at[place[-1]] = junk
        except (TypeError, IndexError, KeyError):
            pass  # an earlier slip has swept this place away
    try:
        check_rig(data, "r")
    except BadInput as bad:
        assert bad.faults and all(line.isprintable() and line.startswith("r") for line in bad.faults)
