"""Settings on the desktop: the commented file, keys by name, differences, what they mean."""

import made
import pytest
from potreeve.logic import battery, dosing
from potreeve.logic import settings as logic
from potreeve.logic.settings_help import CHANNEL_HELP, RIG_HELP
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link import settings_diff, settings_keys, settings_meaning
from potreeve_tools.settings import settings_toml, settingsfile
from potreeve_tools.terminal.faultlist import BadInput

BOARD = boards.load("rp2040_wifi").device_dict()


def test_the_file_explains_every_key_and_reads_back_the_same(tmp_path):
    for settings in (made.settings(1), made.settings(3, name='a "quoted" \\ name', beep=False)):
        path = tmp_path / "s.toml"
        path.write_text(settings_toml.to_toml(settings))
        assert settingsfile.load(path) == settings
        text = " ".join(line.lstrip("# ") for line in path.read_text().splitlines())
        for row, meaning in [(row, RIG_HELP) for row in logic.RIG_KEYS] + [
            (row, CHANNEL_HELP) for row in logic.CHANNEL_KEYS
        ]:
            assert meaning[row[0]][1:] in text, row[0]
            if row[1] == logic.INT:
                assert f"{row[3]} to {row[4]}" in text


def test_json_for_the_board_passes_the_same_check():
    settings = made.settings(2, name="größe · 植物")
    import json

    assert logic.check(json.loads(settingsfile.to_json(settings)))[0] == settings


@pytest.mark.parametrize(
    "key, value",
    [
        ("wake_s", 1800),
        ("mint.day_ml", 200),
        ("channels[1].name", "strawberry"),
        ("2.pump_ul_s", 4000),
        ("cherry tomato.fill_pm", 900),
    ],
)
def test_get(key, value):
    assert settings_keys.get(made.settings(), key)[0] == value


@pytest.mark.parametrize(
    "key, words",
    [
        ("wake", "wake_s"),
        ("day_ml", "mint.day_ml"),
        ("mnt.day_ml", "mint"),
        ("mint.day", "day_ml"),
        ("7.day_ml", "channels[0]"),
        ("", "no such key"),
        (".", "no such key"),
        ("mint.", "no such key"),
        ("channels", "no such key"),
    ],
)
def test_a_wrong_key_names_the_right_one(key, words):
    with pytest.raises(BadInput) as fault:
        settings_keys.get(made.settings(), key)
    assert words in fault.value.faults[0] and len(fault.value.faults) == 1


def test_pots_of_the_same_name_are_told_apart_by_place():
    settings = made.settings(2)
    settings["channels"][1]["name"] = "mint"
    with pytest.raises(BadInput, match="channels\\[0\\] to channels\\[1\\]"):
        settings_keys.get(settings, "mint.day_ml")
    assert settings_keys.get(settings, "channels[1].day_ml")[0] == 200


@pytest.mark.parametrize(
    "key, text, value",
    [
        ("wake_s", "1200", 1200),
        ("wake_s", "often", "often"),
        ("beep", "false", False),
        ("name", "sill", "sill"),
        ("name", '"12"', "12"),
        ("name", "12", "12"),
        ("mint.curve", "[[50000, 0], [20000, 1000]]", [[50000, 0], [20000, 1000]]),
        ("wake_s", "1\nname = 'x'", "1\nname = 'x'"),
        ("battery_kind", "nimh", "nimh"),
    ],
)
def test_set(key, text, value):
    before = made.settings()
    changed = settings_keys.with_value(before, key, text)
    assert settings_keys.get(changed, key)[0] == value
    assert before == made.settings()


def test_differences_name_pot_and_unit():
    old, new = made.settings(), made.settings(rig_day_ml=500)
    new["channels"][1] = {**new["channels"][1], "day_ml": 250, "curve": [(52000, 0), (21000, 1000)]}
    assert [change.line() for change in settings_diff.changes(old, new)] == [
        "rig_day_ml: 400 -> 500 ml",
        "strawberry.curve: [[52000, 0], [22000, 1000]] -> [[52000, 0], [21000, 1000]]",
        "strawberry.day_ml: 200 -> 250 ml",
    ]
    assert settings_diff.same(old, made.settings())


def test_a_pot_more_and_a_pot_less():
    assert any(
        "channels[2] (cherry tomato): gone" in change.line()
        for change in settings_diff.changes(made.settings(3), made.settings(2))
    )
    assert any(
        change.line() == "cherry tomato.pot_ml = 1200 ml"
        for change in settings_diff.changes(made.settings(2), made.settings(3))
    )


def test_what_it_means():
    old = made.settings()
    new = made.settings(rig_day_ml=1000, wake_s=900)
    new["channels"][0] = {**new["channels"][0], "depletion_pm": 300}
    lines = settings_meaning.meaning(old, new, BOARD)
    assert lines[0] == "Most water in any 24 hours: 600 ml (before: 400 ml); the tray can take 960 ml."
    # 48 looks by day, 12 by night, 3 s each; 3 pots x 200 ml at 4 ml/s
    uah = settings_meaning.day_uah(60, 3000, 3 * 50000, BOARD["energy"], 0) + battery.leak_uah_day(new)
    spare_pm = 1000 - battery.refused_pm(1000, 0, new)
    assert f"about {2500 * spare_pm // uah} days on a full battery" in lines[1] and f"{uah / 1000:.1f} mAh" in lines[1]
    assert "every 15 min by day" in lines[2] and "before: 30 min and 1 h" in lines[2]
    now, was = dosing.refill_point_pm(new["channels"][0]), dosing.refill_point_pm(old["channels"][0])
    assert lines[3] == f"Refill point of mint: {now} ‰ of container capacity (before: {was} ‰)."
    assert len(lines) == 4


def test_more_than_the_tray_can_take_is_said():
    assert (
        "would stop the water after 140 ml"
        in settings_meaning.meaning(None, made.settings(tray_headroom_ml=140), None)[0]
    )


def test_state_tells_what_comes_next(tmp_path):
    life = made.Life(tmp_path, pm=560).wake(3)
    old = made.settings()
    new = made.settings()
    new["channels"][0] = {**new["channels"][0], "depletion_pm": 300}
    lines = settings_meaning.meaning(old, new, BOARD, life.state)
    assert any("so it is due for water" in line for line in lines), lines
    assert ", then in " in lines[2]


def test_an_uncalibrated_pot_is_named():
    settings = made.settings(1)
    settings["channels"][0] = {**settings["channels"][0], "curve": (), "pump_ul_s": 0}
    assert settings_meaning.meaning(None, settings, BOARD)[-1] == (
        "mint gets no water yet: its probe and its pump were never calibrated."
    )


def test_what_is_insisted_on_is_said_by_the_tool():
    settings = made.settings(2, soak_s=300, insist=True)
    said = settings_meaning.meaning(None, settings, BOARD)[-1]
    assert (
        said.startswith("You insist, so the board will warn") and "soak_s = 300" in said and "insist" not in said[12:]
    )
    assert not any("insist" in line for line in settings_meaning.meaning(None, made.settings(), BOARD))
