"""settings.check: no crash on anything JSON can say, and nothing out of range gets through."""

import copy

import kit
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import settings as logic_settings
from potreeve_tools.settings import judge as words
from profiles import PROFILE

LEAF = st.one_of(st.none(), st.booleans(), st.integers(), st.integers(-10, 10000), st.floats(), st.text(max_size=30))
TREE = st.recursive(
    LEAF,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=12), inner, max_size=4)),
    max_leaves=20,
)
RIG_NAMES = [row[0] for row in logic_settings.RIG_KEYS] + ["schema", "channels"]
POT_NAMES = [row[0] for row in logic_settings.CHANNEL_KEYS]
POINT = st.one_of(st.tuples(st.integers(-5, 70000), st.integers(-5, 1100)).map(list), TREE)


def verify(checked):
    """Every value of checked settings lies within its schema, whatever was put in."""
    assert 1 <= len(checked["channels"]) <= 4
    tables = [(checked, logic_settings.RIG_KEYS)] + [(pot, logic_settings.CHANNEL_KEYS) for pot in checked["channels"]]
    for table, keys in tables:
        for key, kind, _, low, high, _ in keys:
            value = table[key]
            if kind == logic_settings.INT:
                assert type(value) is int and low <= value <= high, key
            elif kind == logic_settings.BOOL:
                assert type(value) is bool, key
            elif kind == logic_settings.CHOICE:
                assert value in low, key
            elif kind == logic_settings.CURVE:
                assert len(value) in (0, *range(low, high + 1)), key
                assert all(0 <= raw <= 65535 and -1000 <= pm <= 1000 for raw, pm in value)
                raws = [raw for raw, _ in value]
                assert raws in (sorted(set(raws)), sorted(set(raws), reverse=True))
            else:
                assert type(value) is str and low <= len(value) <= high, key
        extra = set(table) - {row[0] for row in keys} - {"schema", "channels"}
        assert not extra
    for pot in checked["channels"]:
        assert pot["pulse_ml"] <= pot["dose_ml"] <= pot["day_ml"]
        assert pot["ration_ml"] <= pot["day_ml"]
        assert pot["holds_ml"] < pot["pot_ml"]
        if not checked["insist"]:
            # Six per cent of what a pot holds, given before it is condemned, fits every cap; a day's drink fits its
            # day.
            proof_ml = 0.06 * pot["holds_ml"]
            assert min(pot["dose_ml"], pot["day_ml"], checked["rig_day_ml"], checked["tray_headroom_ml"]) >= proof_ml
            assert pot["pulse_ml"] * pot["unproven_max"] >= 0.024 * pot["holds_ml"]
    if not checked["insist"]:
        assert checked["rig_day_ml"] >= sum(pot["ration_ml"] for pot in checked["channels"])


def judge(data):
    before = copy.deepcopy(data)
    checked, faults = logic_settings.check(data)
    assert repr(data) == repr(before)
    assert (checked is None) == bool(faults)
    for line in map(words.line, faults):
        assert isinstance(line, str) and line and "\n" not in line and "\r" not in line
    if checked:
        verify(checked)
        again, faults = logic_settings.check(checked)
        assert faults == []
        assert again == checked
    return checked


@settings(parent=PROFILE)
@given(TREE)
def test_anything_json_can_say(data):
    judge(data)


@settings(parent=PROFILE)
@given(
    st.dictionaries(st.sampled_from(RIG_NAMES), TREE, max_size=6),
    st.dictionaries(st.sampled_from(POT_NAMES), TREE, max_size=6),
)
def test_known_keys_with_anything_in_them(rig, pot):
    data = kit.make_data(2)
    data.update(rig)
    if isinstance(data["channels"], list) and data["channels"] and isinstance(data["channels"][0], dict):
        data["channels"][0].update(pot)
    judge(data)


NEAR = {}
for _key, _kind, _unit, _low, _high, _default in (*logic_settings.RIG_KEYS, *logic_settings.CHANNEL_KEYS):
    if _kind == logic_settings.INT:
        NEAR[_key] = st.one_of(st.integers(_low, _high), st.sampled_from([_low - 1, _low, _high, _high + 1]))


@settings(parent=PROFILE)
@given(st.data())
def test_numbers_in_and_near_their_ranges(data):
    keys = data.draw(st.lists(st.sampled_from(sorted(NEAR)), unique=True, max_size=5))
    made = kit.make_data(2)
    for key in keys:
        table = made if key in RIG_NAMES else made["channels"][1]
        table[key] = data.draw(NEAR[key])
    judge(made)


@settings(parent=PROFILE)
@given(st.lists(POINT, max_size=8))
def test_curves(points):
    judge(kit.make_data(1, {"curve": points}))


def test_good_data_does_get_through():
    assert judge(kit.make_data(4)) is not None
