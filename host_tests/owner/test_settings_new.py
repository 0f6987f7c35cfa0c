"""`potreeve settings new`: options, questions on a terminal, one line per thing that can't be used; nothing lost."""

import re

import pytest
from click.testing import CliRunner
from potreeve_tools.commands import settings_new
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import screen
from potreeve_tools.terminal.faultlist import BadInput

TWO = (
    "--plant mint --pot 12x10.5 --plant strawberry --pot 1.5 --substrate peat --substrate bark "
    "--tray-cm2 740 --tray-wall-mm 15 --rig sill"
).split()


def run(*words, text=None):
    result = CliRunner().invoke(settings_new.command, [str(word) for word in words], input=text, catch_exceptions=True)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def test_what_is_told_becomes_settings_that_pass(tmp_path):
    path = tmp_path / "my.toml"
    result = run(path, *TWO)
    assert result.exit_code == 0 and "an ordinary day's drink" in result.output
    made = settingsfile.load(path)
    mint, strawberry = made["channels"]
    assert made["name"] == "sill" and made["tray_headroom_ml"] == 943 and made["pots_in_tray"] is True
    assert (mint["name"], mint["pot_ml"], strawberry["pot_ml"]) == ("mint", 1188, 1500)
    assert mint["depletion_pm"] == 400 and strawberry["depletion_pm"] == 200, "FAO-56 Table 22"
    assert mint["curve"] == () or mint["curve"] == [], "no water before it is calibrated"
    assert mint["pump_ul_s"] == 0 and made["insist"] is False


@pytest.mark.parametrize(("tray_ml", "small"), [(183, True), (184, False)])
def test_a_small_tray_is_said(tmp_path, tray_ml, small):
    """Four ordinary days of 39 ml; 85 of 100 of a tray count."""
    result = run(tmp_path / "my.toml", *f"--plant mint --pot 1.2 --tray-cm2 740 --tray-ml {tray_ml}".split())
    made = settingsfile.load(tmp_path / "my.toml")
    assert (made["tray_headroom_ml"] < 4 * made["channels"][0]["ration_ml"]) is small
    assert ("A larger tray gives it room" in result.output) is small, result.output


def test_feet_scale_and_battery_are_taken(tmp_path):
    path = tmp_path / "my.toml"
    words = "--plant mint --pot 1.2 --weighed-ml 480 --tray-cm2 740 --tray-ml 900 --on-feet"
    words += " --battery nimh --cells 3 --mah 2000"
    assert run(path, *words.split()).exit_code == 0
    made = settingsfile.load(path)
    assert made["channels"][0]["holds_ml"] == 480 and made["pots_in_tray"] is False
    assert (made["battery_kind"], made["battery_stop_mv"], made["tray_headroom_ml"]) == ("nimh", 3240, 765)


def test_a_tray_below_feet_that_dries_too_little_is_refused_in_the_options_own_words(tmp_path):
    """39 ml a day charge 3.25 ml, which 65 cm2 dry at half a millimetre."""
    words = "--plant mint --pot 1.2 --tray-ml 900 --on-feet --tray-cm2".split()
    with pytest.raises(BadInput) as refused:
        run(tmp_path / "my.toml", *words, "64")
    assert any(
        "65 cm2" in line and "--tray-cm2" in line and "without --on-feet" in line for line in refused.value.faults
    )
    assert not (tmp_path / "my.toml").exists() and run(tmp_path / "my.toml", *words, "65").exit_code == 0


def test_a_file_that_is_there_stays(tmp_path):
    path = tmp_path / "my.toml"
    path.write_text("mine")
    with pytest.raises(BadInput, match="is there already"):
        run(path, *TWO)
    assert path.read_text() == "mine"
    assert run(path, *TWO, "--force").exit_code == 0 and path.read_text() != "mine"


def test_nobody_there_to_ask(tmp_path):
    with pytest.raises(BadInput) as caught:
        run(tmp_path / "my.toml", "--tray-cm2", 740, "--tray-wall-mm", 15)
    assert [line.split()[0] for line in caught.value.faults] == ["--plant", "--pot"]
    with pytest.raises(BadInput, match="--tray-wall-mm or --tray-ml is missing"):
        run(tmp_path / "my.toml", "--plant", "mint", "--pot", "1.2", "--tray-cm2", 740)
    assert list(tmp_path.iterdir()) == []


def test_a_person_is_asked_for_what_is_missing(tmp_path, monkeypatch):
    monkeypatch.setattr(screen, "is_terminal", lambda stream: True)
    path = tmp_path / "my.toml"
    result = run(path, text="2\nmint\ncherry tomato\n1.2\n16x14\npeat\ncoir\n740\n20\n")
    assert result.exit_code == 0, result.output
    made = settingsfile.load(path)
    assert [pot["plant"] for pot in made["channels"]] == ["mint", "cherry_tomato"]
    assert made["tray_headroom_ml"] == 1258


def test_a_tray_too_small_for_its_pots_is_refused_with_what_would_do(tmp_path):
    """Eight litres over a quarter of a litre of tray: the water that must be given before a probe is sure to see it
    won't fit."""
    with pytest.raises(BadInput) as caught:
        run(tmp_path / "my.toml", *"--plant mint --pot 8 --tray-cm2 300 --tray-ml 250".split())
    line, larger = caught.value.faults
    assert line.startswith("settings new: tray_headroom_ml = 212: ") and "ml or more" in line
    assert list(tmp_path.iterdir()) == []
    # What it asks for passes, and so does who insists.
    tray_ml = re.match(r"a tray that takes (\d+) ml ", larger)[1]
    assert run(tmp_path / "my.toml", *f"--plant mint --pot 8 --tray-cm2 300 --tray-ml {tray_ml}".split()).exit_code == 0
    words = "--plant mint --pot 8 --tray-cm2 300 --tray-ml 250 --insist".split()
    assert run(tmp_path / "other.toml", *words).exit_code == 0 and settingsfile.load(tmp_path / "other.toml")["insist"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("--tray-cm2 nan --tray-wall-mm 15", "--tray-cm2 = nan: give a number"),
        ("--tray-cm2 740 --tray-wall-mm nan", "--tray-wall-mm = nan: give a number"),
        ("--tray-cm2 740 --tray-ml nan", "--tray-ml = nan: give a number"),
        ("--tray-cm2 740 --tray-ml 900 --weighed-ml nan", "--weighed-ml = nan: give a number"),
        ("--tray-cm2 740 --tray-ml 900 --weighed-ml inf", "--weighed-ml = inf: give a number"),
        ("--tray-cm2 740 --tray-ml 900 --tray-wall-mm 9", "--tray-wall-mm = 9 beside --tray-ml = 900: give the height"),
        ("--tray-ml 900", "--tray-cm2 is missing and nobody is there to ask"),
    ],
)
def test_what_cant_be_used_is_named(tmp_path, words, says):
    with pytest.raises(BadInput) as caught:
        run(tmp_path / "my.toml", "--plant", "mint", "--pot", "1.2", *words.split())
    (line,) = caught.value.faults
    assert line.startswith(says) and list(tmp_path.iterdir()) == []


def test_pots_on_feet_are_warned_of(tmp_path):
    words = "--plant mint --pot 1.2 --tray-cm2 740 --tray-ml 900".split()
    assert "Pots on feet" in run(tmp_path / "on.toml", *words, "--on-feet").output
    assert "Pots on feet" not in run(tmp_path / "in.toml", *words).output
