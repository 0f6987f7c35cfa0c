"""Help that fits a terminal of 80 columns, commands before prose, an owner's apart from developers'; natural slips
get a hint."""

import click
import pytest
from click.testing import CliRunner
from potreeve_tools import cli
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world import rigfile

RIG = rigfile.DEFAULT_RIG
SETTINGS = """
tray_headroom_ml = 900
tray_area_cm2 = 700
rig_day_ml = 900
"""
POT = """
[[channels]]
name = "mint"
pot_ml = 1200
holds_ml = 500
"""


def walk(command, path=()):
    """Every command with its words, groups included."""
    yield path
    if isinstance(command, click.Group):
        with click.Context(command) as ctx:
            for name in command.list_commands(ctx):
                yield from walk(command.get_command(ctx, name), (*path, name))


ALL = list(walk(cli.cli))


def told(*words, columns=80):
    return CliRunner().invoke(cli.cli, list(words), env={"COLUMNS": str(columns)}, terminal_width=None)


@pytest.mark.parametrize("words", ALL, ids=lambda words: " ".join(words) or "potreeve")
@pytest.mark.parametrize("columns", [80, 200])
def test_help_fits_80_columns_and_has_an_example(words, columns):
    result = told(*words, "--help", columns=columns)
    assert result.exit_code == 0
    assert [line for line in result.stdout.splitlines() if len(line) > 80] == []
    assert "Example" in result.stdout
    assert "Leaves with" not in result.stdout


def test_there_are_commands_enough():
    assert len(ALL) >= 35 and ("settings", "push") in ALL and ("bench", "cuts") in ALL


@pytest.mark.parametrize("words", [(), ("settings",), ("calibrate",), ("logs",), ("bench",)])
def test_commands_come_before_prose(words):
    out = told(*words, "--help").stdout
    first = {
        (): "  flash ",
        ("settings",): "  push ",
        ("calibrate",): "  probe ",
        ("logs",): "  pull ",
        ("bench",): "  cuts ",
    }
    assert 0 < out.index(first[words]) < out.index("Example") < out.index("Options:")


def test_what_developers_run_stands_apart():
    out = told("--help").stdout
    own, others = out.index("Your rig"), out.index("For those who change Potreeve")
    assert own < out.index("\n  status ") < others < out.index("\n  bench ")


def fault_of(load, path):
    with pytest.raises(BadInput) as fault:
        load(path)
    return fault.value.faults


def test_a_rig_file_given_as_settings_and_the_other_way_round(tmp_path):
    faults = fault_of(settingsfile.load, RIG)
    assert len(faults) == 1 and "--rig" in faults[0] and "settings new" in faults[0]
    path = tmp_path / "my.toml"
    path.write_text(SETTINGS + POT)
    faults = fault_of(rigfile.load_rig, path)
    assert len(faults) == 1 and "--settings" in faults[0]


@pytest.mark.parametrize(
    "words, hint",
    [
        ("status ./board", "potreeve status --port ./board"),
        ("status /dev/ttyACM0", "potreeve status --port /dev/ttyACM0"),
        ("logs pull COM5", "potreeve logs pull --port COM5"),
        ("settings show socket://127.0.0.1:4000", "potreeve settings show --port socket://127.0.0.1:4000"),
        ("calibrate probe mint", "potreeve calibrate probe --channel mint"),
        ("calibrate pump mint --ms 300", "potreeve calibrate pump --channel mint --ms 300"),
        ("calibrate drop mint", "potreeve calibrate drop --channel mint"),
        ("rehearse --report month --days 1", "month.html"),
        ("rehearse --write-settings my --days 1", "my.toml"),
        ("settings new x.json --plant mint --pot 1.2 --tray-cm2 700 --tray-wall-mm 15", "x.toml"),
    ],
)
def test_slips(words, hint, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code = None
    import contextlib
    import io

    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
        code = cli.guarded(lambda: cli.cli.main(words.split(), standalone_mode=False))
    assert code == exits.BAD_INPUT and hint in said.getvalue(), said.getvalue()
    assert list(tmp_path.iterdir()) == []


def test_a_slip_that_is_none_of_these_stays_as_it_was():
    result = told("status", "nonsense")
    assert result.exit_code == exits.BAD_INPUT and "did you mean" not in result.stderr


def test_a_reversed_curve_is_told_how_it_goes(tmp_path):
    path = tmp_path / "my.toml"
    path.write_text(SETTINGS + POT + "curve = [[22000, 1000], [52000, 0]]\npump_ul_s = 4000\n")
    assert "from dry to wet, e.g. [[52000, 0], [22000, 1000]]" in fault_of(settingsfile.load, path)[0]


def test_two_pots_of_one_name(tmp_path):
    from potreeve_tools.link import settings_meaning

    path = tmp_path / "my.toml"
    path.write_text(SETTINGS + POT + POT)
    lines = settings_meaning.meaning(None, settingsfile.load(path), None)
    assert any("2 pots are called mint" in line and "(0, 1)" in line for line in lines), lines
