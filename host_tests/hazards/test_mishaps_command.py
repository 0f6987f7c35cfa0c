"""`potreeve mishaps`: its result, its exit codes, and what it refuses before a long run."""

import json

import pytest
from click.testing import CliRunner
from potreeve_tools import cli
from potreeve_tools.mishaps import judge, run
from potreeve_tools.mishaps.findings import Finding
from potreeve_tools.world.rigfile import DEFAULT_RIG

FAST = ("mishaps", "--interpreter", "cpython", "--jobs", "1", "--seeds", "1")
KEYS = {
    "name",
    "verdict",
    "seeds",
    "water_beyond_need_ml",
    "tray_peak_ml",
    "tray_headroom_ml",
    "plants",
    "what_it_did",
    "findings",
    "deaths",
    "rerun",
}


class Result:
    def __init__(self, code, stdout, stderr):
        self.code, self.stdout, self.stderr = code, stdout, stderr


def call(*args, columns="150", monkeypatch=None):
    outcome = CliRunner(env={"COLUMNS": columns, "NO_COLOR": "1"}).invoke(cli.cli, list(args), standalone_mode=True)
    return Result(outcome.exit_code, outcome.stdout, outcome.stderr)


def test_one_mishap_as_json():
    result = call(*FAST, "--only", "clock_lost", "--json")
    told = json.loads(result.stdout)
    assert result.code == 0 and told["schema"] == run.SCHEMA and set(told) == {"schema", "mishaps"}
    (row,) = told["mishaps"]
    assert set(row) == KEYS
    assert (row["name"], row["verdict"], row["seeds"]) == ("clock_lost", "holds", 1)
    assert row["plants"] == {"mint": "alive", "strawberry": "alive", "cherry tomato": "alive"}
    assert row["rerun"] == "python3 tools/go.py mishaps --only clock_lost --seed 1 --interpreter cpython"


@pytest.mark.parametrize("columns", ["60", "150"])
def test_a_table_that_says_how_to_run_each_again(columns):
    result = call(*FAST, "--only", "clock_lost", columns=columns)
    assert result.code == 0 and "clock lost" in result.stdout and "1 holds" in result.stdout
    assert "--only clock_lost --seed 1" in " ".join(result.stdout.split())


def test_broken_leaves_with_1_and_is_told_in_full(monkeypatch):
    much = Finding("W2", "over_day", 0, "mint", 0.0, {"ml": 300.0, "cap_ml": 200})
    broken = judge.Verdict("clock_lost", 1, judge.BROKEN, broken=[much], plants={"mint": "dead"})
    monkeypatch.setattr(run, "one", lambda *task: broken)
    result = call(*FAST, "--only", "clock_lost")
    assert result.code == 1 and "does not hold: W2" in result.stdout and "1 broken" in result.stdout


def test_not_shown_is_no_pass_but_breaks_nothing(monkeypatch):
    never = Finding("", "never_mattered", figures={"kind": "clock_lost"})
    idle = judge.Verdict("clock_lost", 1, judge.NOT_SHOWN, unshown=[never])
    monkeypatch.setattr(run, "one", lambda *task: idle)
    result = call(*FAST, "--only", "clock_lost")
    assert result.code == 0 and "1 not shown" in result.stdout and "holds;" not in result.stdout


def test_a_name_that_is_none():
    result = call(*FAST, "--only", "clock_losst")
    assert result.code == 2 and 'did you mean "clock_lost"' in result.stderr and result.stdout == ""


def test_all_that_is_wrong_with_the_files_at_once(tmp_path):
    bad = tmp_path / "rig.toml"
    bad.write_text("[tray]\narea_cm2 = -1\n")
    result = call(*FAST, "--rig", str(bad), "--board", "esp33", "--settings", str(tmp_path / "none.toml"))
    assert result.code == 2
    assert "area_cm2" in result.stderr and "esp33" in result.stderr and "none.toml" in result.stderr


def test_scenarios_that_do_not_fit_the_rig_are_told_before_any_runs(tmp_path):
    rig = tmp_path / "one.toml"
    text = DEFAULT_RIG.read_text(encoding="utf-8")
    rig.write_text(text[: text.index("[[pot]]", text.index("[[pot]]") + 5)], encoding="utf-8")
    result = call(*FAST, "--rig", str(rig))
    assert result.code == 2 and "has 1 pots" in result.stderr


def test_a_folder_of_ones_own(tmp_path):
    (tmp_path / "noon.toml").write_text(
        'name = "noon"\ntitle = "nothing at noon"\nabout = "A press at noon."\ndays = 1\n'
        '[[fault]]\nkind = "button"\nstart_h = 12.0\n',
        encoding="utf-8",
    )
    result = call(*FAST, "--hazards", str(tmp_path), "--json")
    (row,) = json.loads(result.stdout)["mishaps"]
    assert row["verdict"] == "holds" and str(tmp_path) in row["rerun"]
    empty = tmp_path / "empty"
    empty.mkdir()
    assert call(*FAST, "--hazards", str(empty)).code == 2


def test_an_interpreter_that_forgets_needs_a_board_that_does():
    result = call("mishaps", "--only", "clock_lost", "--interpreter", "micropython32")
    assert result.code == 2 and "keeps its memory" in result.stderr


@pytest.fixture
def written(tmp_path):
    """Settings as `rehearse --write-settings` leaves them."""
    from potreeve_tools.boards import boardfile
    from potreeve_tools.owner import commission
    from potreeve_tools.settings import settingsfile
    from potreeve_tools.world.rigfile import load_rig

    made = commission.make_settings(load_rig(DEFAULT_RIG), boardfile.load("rp2040_wifi").device_dict(), 1)
    path = tmp_path / "written.toml"
    path.write_text(settingsfile.to_toml(made), encoding="utf-8")
    return path


def played(monkeypatch):
    """Let every run end at once, but for its beginning."""
    from potreeve_tools.mishaps import trial

    seen = []

    def one(scenario, bench, seed):
        try:
            trial.make(scenario, bench, seed)
        except trial.Refused:
            pass  # as that scenario says
        except BaseException as fault:
            seen.append((scenario.name, fault))
        return judge.Verdict(scenario.name, seed, judge.HOLDS)

    monkeypatch.setattr(run, "one", one)
    return seen


def test_the_rigs_own_written_settings_go_with_every_mishap(written, monkeypatch):
    """`swarm_418` has two pots of its own, and all results were lost over it."""
    failed = played(monkeypatch)
    result = call(*FAST, "--settings", str(written))
    assert result.code == 0 and failed == [] and "will not be shown" not in result.stderr
    assert "swarm_418 brings pots of its own" in result.stderr


def test_settings_that_do_not_go_with_one_mishap_are_said_at_once_and_cost_only_that(written, tmp_path, monkeypatch):
    text = written.read_text(encoding="utf-8")
    folder = tmp_path / "mishaps"
    folder.mkdir()
    from potreeve_tools.mishaps.scenario import HAZARDS

    for name in ("clock_lost", "probe_out"):
        (folder / f"{name}.toml").write_text((HAZARDS / f"{name}.toml").read_text(encoding="utf-8"), encoding="utf-8")
    bad = (folder / "clock_lost.toml").read_text(encoding="utf-8").replace('name = "clock_lost"', 'name = "bad"')
    assert "[settings]" not in bad
    (folder / "bad.toml").write_text(bad + '\n[settings]\n"channels.0.dose_ml" = 9999\n', encoding="utf-8")
    assert text
    result = call(*FAST, "--settings", str(written), "--hazards", str(folder), "--json")
    rows = {row["name"]: row for row in json.loads(result.stdout)["mishaps"]}
    assert rows["clock_lost"]["verdict"] == rows["probe_out"]["verdict"] == "holds"
    assert rows["bad"]["verdict"] == judge.NOT_SHOWN and "dose_ml = 9999" in rows["bad"]["what_it_did"][0]
    assert "bad will not be shown:" in result.stderr and "dose_ml = 9999" in result.stderr
