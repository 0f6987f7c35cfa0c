"""Every bad settings file gets its own line: key, value, remedy."""

import copy
import json
import sys

import kit
import pytest
from bad_settings import BAD, STARVING
from potreeve import logic
from potreeve.logic import radio_keys, settings, settings_help
from potreeve_tools.settings import judge

CASES = [case for case in BAD if case.raw is None]
RAW = [case for case in BAD if case.raw is not None]


def test_there_are_many():
    assert len(BAD) >= 80
    assert len({case.name for case in BAD}) == len(BAD)


def test_the_file_they_spoil_is_good():
    checked, faults = judge.check(kit.make_data(2))
    assert faults == []
    assert checked["wake_s"] == 1800


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_refused_with_its_own_words(case):
    checked, faults = judge.check(case.make())
    assert checked is None
    assert len(faults) == case.faults, faults
    assert any(all(word in line for word in case.words) for line in faults), faults
    for line in faults:
        assert "\n" not in line
        assert len(line) < 700


@pytest.mark.parametrize("case", STARVING[:-1], ids=lambda case: case.name)
def test_what_starves_a_plant_runs_when_the_owner_insists_and_says_so(case):
    data = {**case.make(), "insist": True}
    checked, faults = judge.check(data)
    assert faults == [] and checked["insist"] is True
    assert all("insist = true" in line for line in judge.check(case.make())[1])


def test_nothing_is_said_where_there_is_nothing_to_insist_on():
    checked, faults = judge.check(kit.make_data(2, insist=True))
    assert faults == [] and checked["insist"] is False


@pytest.mark.parametrize("case", RAW, ids=lambda case: case.name)
def test_text_that_is_no_settings(case):
    """What still is JSON for this Python must be refused by the check; the rest never gets there."""
    try:
        data = json.loads(case.raw.decode("utf-8"))
    except (ValueError, RecursionError):
        return
    checked, faults = judge.check(data)
    assert checked is None
    assert faults


def test_all_faults_at_once():
    data = kit.make_data(2, wake_s=1, soak_s="long", colour="green")
    data["channels"][1]["pot_ml"] = -1
    checked, faults = judge.check(data)
    assert checked is None
    assert [line.split(" =")[0] for line in faults] == ["wake_s", "soak_s", "colour", "channels[1].pot_ml"]


def test_the_check_leaves_its_input_alone():
    data = kit.make_data(2)
    before = copy.deepcopy(data)
    judge.check(data)
    assert data == before


def test_every_default_passes_its_own_check():
    for table in (settings.RIG_KEYS, settings.CHANNEL_KEYS):
        for key, kind, _, low, high, default in table:
            if default is not settings.REQUIRED:
                assert settings._wrong(default, kind, low, high) == 0, key


@pytest.mark.parametrize("table", ["rig", "pot"])
def test_both_ends_of_every_range(table):
    keys = settings.RIG_KEYS if table == "rig" else settings.CHANNEL_KEYS
    for key, kind, _, low, high, _ in keys:
        if kind != settings.INT:
            continue
        for value, wrong in ((low, False), (high, False), (low - 1, True), (high + 1, True)):
            data = kit.make_data(1)
            (data if table == "rig" else data["channels"][0])[key] = value
            _, faults = judge.check(data)
            place = key if table == "rig" else "channels[0]." + key
            named = any(line.startswith(f"{place} = {value}: give a whole number") for line in faults)
            assert named == wrong, (key, value, faults)


def test_every_key_is_explained_and_nothing_else():
    assert set(settings_help.RIG_HELP) == {row[0] for row in settings.RIG_KEYS}
    assert set(settings_help.CHANNEL_HELP) == {row[0] for row in settings.CHANNEL_KEYS}
    assert set(settings_help.RADIO_HELP) == {row[0] for row in radio_keys.KEYS}
    assert all(settings_help.RADIO_HELP.values())
    assert all(settings_help.RIG_HELP.values()) and all(settings_help.CHANNEL_HELP.values())


def test_a_board_that_was_sent_no_radio_passes_its_table_over(monkeypatch):
    monkeypatch.setitem(sys.modules, "potreeve.logic.radio_keys", None)
    monkeypatch.delattr(logic, "radio_keys", raising=False)
    checked, faults = settings.check(kit.make_data(1, radio={"colour": 5}))
    assert faults == [] and "radio" not in checked
