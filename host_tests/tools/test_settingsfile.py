"""Settings files on the desktop: what is refused, and in which words."""

import json

import pytest
from potreeve.logic import settings as logic
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal.faultlist import BadInput


@pytest.fixture
def good(finished):
    return json.loads(json.dumps(finished.checked))


def faults_of(tmp_path, content, name="s.toml"):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(BadInput) as caught:
        settingsfile.load(path)
    for line in caught.value.faults:
        assert line.startswith(str(path)) and line.isprintable(), line
    return [line[len(str(path)) + 2 :] for line in caught.value.faults]


def test_toml_and_json_give_the_same(tmp_path, good):
    (tmp_path / "s.toml").write_text(settingsfile.to_toml(good))
    (tmp_path / "s.json").write_text(json.dumps(good))
    (tmp_path / "s.txt").write_text("\ufeff \n" + json.dumps(good))
    loaded = [settingsfile.load(tmp_path / name) for name in ("s.toml", "s.json", "s.txt")]
    wanted, faults = logic.check(good)
    assert not faults and loaded == [wanted] * 3


def test_written_toml_names_units_and_ranges(good):
    text = settingsfile.to_toml(good)
    low, high = next(row[3:5] for row in logic.RIG_KEYS if row[0] == "wake_s")
    before, _, after = text.partition("\nwake_s = ")
    assert f"{low} to {high} s" in before.rsplit("\n\n")[-1] + after.split("\n")[0]


@pytest.mark.parametrize("name", ['a "quoted" pot', "Töpfchen", "tab\there", "\x7f del", "back\\slash"])
def test_odd_names_survive(tmp_path, good, name):
    good["channels"][0]["name"] = name
    path = tmp_path / "s.toml"
    path.write_text(settingsfile.to_toml(good), encoding="utf-8")
    assert settingsfile.load(path)["channels"][0]["name"] == name


def test_every_fault_at_once(tmp_path, good):
    good["wake_s"] = 5
    good["battery_kind"] = "lead"
    good["channels"][1]["pot_ml"] = "much"
    found = faults_of(tmp_path, json.dumps(good), "s.json")
    assert len(found) == 3
    assert found[0].startswith("wake_s = 5: ") and "give a whole number" in found[0]


def test_misspelt_keys_get_a_hint(tmp_path, good):
    good["wake_seconds"] = 1800
    good["channels"][2]["pumpul_s"] = 4000
    found = faults_of(tmp_path, json.dumps(good), "s.json")
    assert 'wake_seconds = 1800: no such key (did you mean "wake_s"?)' in found[0]
    assert 'channels[2].pumpul_s = 4000: no such key (did you mean "pump_ul_s"?)' in found[1]


def test_a_key_like_nothing_gets_the_list(tmp_path, good):
    good["qqqq"] = 1
    assert "known keys: name, wake_s" in faults_of(tmp_path, json.dumps(good), "s.json")[0]


@pytest.mark.parametrize(
    "name, content, words",
    [
        ("s.toml", "wake_s = = 3", "not valid TOML"),
        ("s.toml", "wake_s = 1\nwake_s = 2", "not valid TOML"),
        ("s.json", '{"wake_s": 1', "not valid JSON"),
        ("s.json", '{"wake_s": 1, "wake_s": 2}', '"wake_s" is given twice'),
        ("s.json", "", "not valid JSON"),
        ("s.json", "[1, 2]", "give a table of keys"),
        ("s.toml", b"name = '\xff'", "not UTF-8"),
        ("s.toml", b"name = 'a\0b'", "not valid TOML"),
        ("s.toml", "wake_s = 0x" + "f" * 5000, "bits"),
        ("s.json", '{"wake_s": ' + "9" * 5000 + "}", "not valid JSON"),
        ("s.json", "[" * 32_000 + "]" * 32_000, "nested too deep"),
        ("s.toml", "a = " + "[" * 50_000, "nested too deep"),
        ("s.json", '{"a": ' + "[" * 20 + "]" * 20 + "}", "nested too deep"),
        ("s.toml", "# " + "x" * 300_000, "no such file is that large"),
        ("s.json", '{"wa\\nke": 1}', "no such key"),
    ],
)
def test_unreadable_files_give_one_clear_line(tmp_path, name, content, words):
    found = faults_of(tmp_path, content, name)
    assert any(words in line for line in found), found


def test_brackets_without_end_give_one_clear_line(tmp_path):
    """How deep its reader of JSON goes is each Python's own: from 3.14 on it comes to the end of these."""
    (found,) = faults_of(tmp_path, "[" * 60_000, "s.json")
    assert "nested too deep" in found or "not valid JSON" in found


def test_empty_toml_says_what_is_missing(tmp_path):
    found = faults_of(tmp_path, "")
    assert any(line.startswith("tray_headroom_ml is missing") for line in found)
    assert any(line.startswith("channels = ") for line in found)


@pytest.mark.parametrize("path", ["nowhere.toml", ".", "nul\0byte"])
def test_no_such_file(path):
    with pytest.raises(BadInput) as caught:
        settingsfile.load(path)
    assert len(caught.value.faults) == 1 and "can't be read" in caught.value.faults[0]


@pytest.mark.parametrize(
    "value", [1.5, float("nan"), float("inf"), True, None, "1800", [1800], {"s": 1800}, -1, 10**30]
)
def test_wrong_kinds_of_values(good, value):
    good["wake_s"] = value
    with pytest.raises(BadInput) as caught:
        settingsfile.check(good, "here")
    assert len(caught.value.faults) == 1 and caught.value.faults[0].startswith("here: wake_s")
