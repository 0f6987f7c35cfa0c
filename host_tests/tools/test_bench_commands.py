"""`potreeve bench cuts`, `wear` and `days-left`: what they print, what they return, and how they say no."""

import json

import pytest
from click.testing import CliRunner
from potreeve_tools.bench import cuts, wear
from potreeve_tools.cli import cli
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput


def run(*words):
    return CliRunner().invoke(cli, ["bench", *words])


def test_the_overview_names_them_and_each_has_help():
    overview = run("--help")
    assert overview.exit_code == exits.OK
    for name in ("cuts", "wear", "days-left"):
        assert name in overview.output
        said = run(name, "--help")
        assert said.exit_code == exits.OK, said.output


def test_cuts_as_json():
    said = run("cuts", "--scenario", "settings", "--json")
    assert said.exit_code == exits.OK, said.output
    found = json.loads(said.output)
    assert found["schema"] == "potreeve-cuts/1"
    assert found["cuts"] == found["scenarios"][0]["cuts"] > 50
    assert found["faults"] == []


def test_cuts_as_a_table():
    said = run("cuts", "--scenario", "bad-settings")
    assert said.exit_code == exits.OK, said.output
    assert "holds" in said.output and "0 faults" in said.output


def test_a_cut_that_does_not_hold_is_printed_with_the_command_that_reruns_it(monkeypatch):
    row = {"scenario": "wake", "writes": 1, "erases": 1, "cuts": 2, "pairs": 0, "failed": 1, "shown": True}
    found = {
        "board": "esp32",
        "scenarios": [row],
        "faults": [{"id": "wake:1:w0", "fault": "W2: wet"}],
        "cuts": 2,
        "pairs": 0,
        "s": 0.1,
    }
    monkeypatch.setattr(cuts, "run", lambda *args, **options: found)
    said = run("cuts", "--board", "esp32")
    assert said.exit_code == exits.FAILED
    assert "broken" in said.output and "bench cuts --board esp32 --only wake:1:w0" in said.output


def test_what_was_not_shown_is_not_a_pass(monkeypatch):
    row = {"scenario": "wake", "writes": 1, "erases": 1, "cuts": 2, "pairs": 0, "failed": 0, "shown": False}
    found = {"board": "esp32", "scenarios": [row], "faults": [], "cuts": 2, "pairs": 0, "s": 0.1}
    monkeypatch.setattr(cuts, "run", lambda *args, **options: found)
    said = run("cuts")
    assert said.exit_code == exits.FAILED
    assert "not shown" in said.output


def test_unknown_scenarios_are_refused():
    with pytest.raises(BadInput, match='scenario = "wade"'):
        cuts.run(scenarios=("wade",))


def test_wear_counts_every_erase_and_reckons_in_years():
    row = wear.run(("latched",), days=2)[0]
    assert row["wakes"] > 60
    # At least two ledger writes or appends a wake; few of them without an erase.
    assert row["erases"] > row["wakes"]
    assert row["worst_block"] * row["used_blocks"] >= row["erases"]
    assert row["years"] == pytest.approx(wear.CYCLES * row["days"] / row["worst_block"] / 365, rel=0.05)
    assert 1.9 < row["days"] <= 2.0
    # The promise: the flash outlives the plants' owner's patience.
    assert row["years"] > 10


def test_wear_as_json():
    said = run("wear", "--board", "esp32", "--days", "1", "--json")
    assert said.exit_code == exits.OK, said.output
    found = json.loads(said.output)
    assert [row["board"] for row in found["boards"]] == ["esp32"]
