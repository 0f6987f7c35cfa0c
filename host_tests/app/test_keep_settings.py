"""Which settings run: the file's, the last good ones, or none. Bad ones never do (W7)."""

import json

import kit
import pytest
from bad_settings import BAD
from potreeve import keep
from potreeve.logic import errors
from stores import MemoryStore

GOOD = json.dumps(kit.make_data(2, name="old")).encode()
NEW = json.dumps(kit.make_data(2, name="new")).encode()
FOUR = json.dumps(kit.make_data(4)).encode()


def make_store(new=None, good=None):
    store = MemoryStore()
    if new is not None:
        store.files["settings.json"] = new
    if good is not None:
        store.files["settings.good.json"] = good
    return store


MATRIX = [
    # file, last good -> whose name runs, error bit, last good afterwards
    (NEW, GOOD, "new", 0, NEW),
    (NEW, NEW, "new", 0, NEW),
    (NEW, None, "new", 0, NEW),
    (NEW, b"{", "new", 0, NEW),
    (b"{", GOOD, "old", errors.SETTINGS, GOOD),
    (None, GOOD, "old", errors.SETTINGS, GOOD),
    (b"", GOOD, "old", errors.SETTINGS, GOOD),
    (FOUR, GOOD, "old", errors.SETTINGS, GOOD),
    (FOUR, FOUR, None, errors.SETTINGS, FOUR),
    (b"{", b"{", None, errors.SETTINGS, b"{"),
    (b"{", None, None, errors.SETTINGS, None),
    (None, None, None, errors.SETTINGS, None),
    (NEW[: len(NEW) // 2], GOOD, "old", errors.SETTINGS, GOOD),
    (NEW[:-1], GOOD, "old", errors.SETTINGS, GOOD),
]


@pytest.mark.parametrize(("new", "good", "name", "bits", "after"), MATRIX)
def test_fallback(new, good, name, bits, after):
    store = make_store(new, good)
    settings, found = keep.load_settings(store, 2)
    assert (settings and settings["name"]) == name
    assert found == bits
    assert store.files.get("settings.good.json") == after
    assert store.files.get("settings.json") == new


@pytest.mark.parametrize(("name", "channels", "runs"), [("new", 2, True), ("new", 1, False), ("new", 4, True)])
def test_never_more_channels_than_the_board_has(name, channels, runs):
    settings, bits = keep.load_settings(make_store(NEW), channels)
    assert (settings is not None) == runs
    assert bits == (0 if runs else errors.SETTINGS)


def test_a_last_good_copy_that_can_not_be_written_is_told():
    store = make_store(NEW, GOOD)
    store.fails = lambda count, call, name: call == "replace"
    settings, bits = keep.load_settings(store, 2)
    assert settings["name"] == "new"
    assert bits == errors.SETTINGS


@pytest.mark.parametrize(("failing", "name"), [("settings.json", "old"), ("settings.good.json", "new")])
def test_an_unreadable_file_is_no_file(failing, name):
    store = make_store(NEW, GOOD)
    store.fails = lambda count, call, path: call == "read" and path == failing
    settings, _ = keep.load_settings(store, 2)
    assert settings["name"] == name


def test_the_last_good_copy_is_written_once_only():
    store = make_store(NEW)
    for _ in range(5):
        keep.load_settings(store, 2)
    assert [event for event in store.events if event[0] == "replace"] == [("replace", "settings.good.json")]


RAW = [case for case in BAD if case.raw is not None and case.kind == "json"]


def as_json(case):
    """The case as a file, or None where it is not something JSON can say."""
    try:
        return json.dumps(case.make()).encode()
    except (TypeError, ValueError, RecursionError):
        return None


TABLES = [case for case in BAD if case.raw is None and as_json(case)]


@pytest.mark.parametrize("case", RAW, ids=lambda case: case.name)
def test_bad_text_never_runs(case):
    store = make_store(case.raw, GOOD)
    settings, bits = keep.load_settings(store, 2)
    assert settings["name"] == "old"
    assert bits == errors.SETTINGS
    assert store.files["settings.good.json"] == GOOD


@pytest.mark.parametrize("case", TABLES, ids=lambda case: case.name)
def test_bad_values_never_run(case):
    text = as_json(case)
    settings, bits = keep.load_settings(make_store(text, GOOD), 2)
    assert settings["name"] == "old"
    assert bits == errors.SETTINGS
    settings, _ = keep.load_settings(make_store(text), 2)
    assert settings is None


def test_most_bad_settings_reach_the_board_as_json():
    assert len(TABLES) >= 60
