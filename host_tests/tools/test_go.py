"""The set-up's own judgements, without setting anything up."""

import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

GO = Path(__file__).resolve().parents[2] / "tools" / "go.py"


@pytest.fixture
def go(tmp_path, monkeypatch):
    """go.py as a module whose repository is a folder of the test."""
    spec = importlib.util.spec_from_file_location("potreeve_go", GO)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    root = tmp_path / "repository"
    (root / "tools").mkdir(parents=True)
    (root / "pyproject.toml").write_text("[project]\n")
    (root / "tools" / "go.py").write_text("# here\n")
    for name, value in (
        ("ROOT", root),
        ("VENV", root / ".venv"),
        ("MARKER", root / ".venv" / "potreeve-ready"),
        ("UNFINISHED", root / ".venv" / "potreeve-unfinished"),
        ("LOCK", root / ".venv.lock"),
    ):
        monkeypatch.setattr(module, name, str(value))
    return module


@pytest.mark.parametrize(
    "version, suits",
    [((3, 10), False), ((3, 11), True), ((3, 13, 2), True), ((3, 14), True), ((3, 15), False), ((2, 7), False)],
)
def test_versions(go, version, suits):
    assert go.suits(version) is suits


@pytest.mark.parametrize("version, word", [((3, 9, 1), "too old"), ((3, 15, 0), "too new")])
def test_python_that_does_not_suit_is_named_with_a_remedy(go, monkeypatch, version, word):
    monkeypatch.setattr(go.sys, "version_info", version)
    monkeypatch.setattr(go.shutil, "which", lambda name: None)
    with pytest.raises(go.Missing, match=word) as caught:
        go.find_python()
    assert "install one" in str(caught.value)


def test_another_python_on_the_path_is_taken(go, monkeypatch):
    monkeypatch.setattr(go.sys, "version_info", (3, 15, 0))
    monkeypatch.setattr(go.shutil, "which", lambda name: "/opt/" + name if name == "python3.12" else None)
    monkeypatch.setattr(go, "version_of", lambda path: (3, 12))
    assert go.find_python() == "/opt/python3.12"


def test_ready_only_for_the_same_pins_and_place(go, monkeypatch):
    python = Path(go.venv_python())
    assert not go.ready(sys.executable, "")
    python.parent.mkdir(parents=True)
    python.touch()
    go.write(go.MARKER, go.fingerprint(sys.executable, "") + "\n")
    assert go.ready(sys.executable, "")
    Path(go.ROOT, "pyproject.toml").write_text("[project]\nversion = '2'\n")
    assert not go.ready(sys.executable, "")
    Path(go.ROOT, "pyproject.toml").write_text("[project]\n")
    assert go.ready(sys.executable, "")
    python.unlink()
    assert not go.ready(sys.executable, "")


def test_the_packages_of_the_tests_come_when_asked_for_and_serve_all(go):
    python = Path(go.venv_python())
    python.parent.mkdir(parents=True)
    python.touch()
    go.write(go.MARKER, go.fingerprint(sys.executable, "") + "\n")
    assert go.ready(sys.executable, "") and not go.ready(sys.executable, "test")
    go.write(go.MARKER, go.fingerprint(sys.executable, "test") + "\n")
    assert go.ready(sys.executable, "") and go.ready(sys.executable, "test")


@pytest.mark.parametrize(
    "args, extra",
    [
        ([], ""),
        (["rehearse", "--days", "7"], ""),
        (["rehearse", "--interpreter=micropython32"], "test"),
        (["rehearse", "--interpreter", "micropython32"], "test"),
        (["test"], "test"),
        (["flash"], "test"),
        (["bench", "swarm"], "test"),
        (["station", "--broker", "builtin"], "station"),
        (["rehearse", "--station"], "station"),
        (["rehearse", "--station=127.0.0.1"], "station"),
    ],
)
def test_what_a_command_needs(go, args, extra):
    assert go.extra_for(args) == extra


def test_half_made_environment_is_cleared_but_nothing_foreign(go):
    venv = Path(go.VENV)
    venv.mkdir()
    (venv / "pyvenv.cfg").touch()
    go.clear()
    assert not venv.exists()
    venv.mkdir()
    (venv / "potreeve-unfinished").touch()
    go.clear()
    assert not venv.exists()
    venv.mkdir()
    (venv / "thesis.txt").touch()
    with pytest.raises(go.Missing, match="move it away"):
        go.clear()
    assert (venv / "thesis.txt").exists()


def test_a_file_in_the_way(go):
    Path(go.VENV).touch()
    with pytest.raises(go.Missing, match="move it away"):
        go.make(sys.executable, "")


@pytest.mark.parametrize(
    "said, told",
    [
        ("[Errno -3] Temporary failure in name resolution", "no network"),
        ("Could not find a version that satisfies the requirement x==9 (from versions: none)", "no network"),
        ("Could not find a version that satisfies the requirement x==9 (from versions: 1.0, 2.0)", "pinned package"),
        ("OSError: [Errno 28] No space left on device", "disk is full"),
        ("[Errno 13] Permission denied: '/x'", "can't be written"),
        ("something else", "could not be installed"),
    ],
)
def test_remedies_for_pip(go, monkeypatch, said, told):
    monkeypatch.setattr(go, "version_of", lambda path: (3, 12))
    assert told in go.pip_remedy(said)


def test_remedy_for_a_missing_venv_module(go):
    assert "apt install python3-venv" in go.venv_remedy("... ensurepip is not available ...")


def test_a_failed_step_shows_its_last_words(go):
    with pytest.raises(go.Missing) as caught:
        go.run(
            [sys.executable, "-c", "print('one'); print('two'); raise SystemExit(3)"],
            lambda text: "remedy of " + text[:3],
        )
    assert str(caught.value) == "remedy of one\n    one\n    two"


def test_one_set_up_at_a_time(go):
    code = (
        "import fcntl, sys; f = open(sys.argv[1], 'a+'); fcntl.flock(f, fcntl.LOCK_EX); print('held', flush=True); "
        "sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, go.LOCK], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        other.stdout.readline()
        go.LOCK_WAIT_S = 0
        with pytest.raises(go.Missing, match="another set-up"), go.locked():
            pass
        other.stdin.close()
        other.wait(10)
    with go.locked():
        pass


def test_commands(go, monkeypatch):
    monkeypatch.setattr(go.os, "cpu_count", lambda: 2)
    whole = ["py", "-m", "pytest", "-n", "3", "--dist", "worksteal"]
    assert go.command_for("py", ["test"]) == (whole, go.ROOT)
    assert go.command_for("py", ["test", "-q"]) == ([*whole, "-q"], go.ROOT)
    for chosen in (["-n", "0"], ["-k", "x"], ["-n4"], [f"{__file__}::test_x"], ["-x", str(go.ROOT)], ["--pdb"]):
        assert go.command_for("py", ["test", *chosen]) == (["py", "-m", "pytest", *chosen], go.ROOT)
    assert go.command_for("py", ["test", "--quick", "-x"]) == (
        ["py", "-m", "potreeve_tools.link.flash.quick", "-x"],
        go.ROOT,
    )
    assert go.extra_for(["test", "--quick"]) == "test"
    assert go.command_for("py", ["rehearse", "--days", "1"]) == (
        ["py", "-m", "potreeve_tools", "rehearse", "--days", "1"],
        None,
    )
    assert go.command_for("py", []) == (["py", "-m", "potreeve_tools"], None)


def test_environment_drops_what_leads_astray(go, monkeypatch):
    monkeypatch.setenv("PYTHONHOME", "/nowhere")
    monkeypatch.setenv("PYTHONPATH", "/nowhere")
    env = go.environment()
    assert "PYTHONHOME" not in env and "PYTHONPATH" not in env and "PATH" in env


def test_exit_codes(go, monkeypatch, capsys):
    def missing(extra):
        raise go.Missing("no bread")

    def interrupted(extra):
        raise KeyboardInterrupt

    monkeypatch.setattr(go, "prepare", missing)
    assert go.main([]) == 2 and "no bread" in capsys.readouterr().err
    monkeypatch.setattr(go, "prepare", interrupted)
    assert go.main([]) == 130
    monkeypatch.setattr(go, "prepare", lambda extra: "py")
    monkeypatch.setattr(go, "hand_over", lambda command, folder: 7)
    assert go.main(["rehearse"]) == 7


def test_code_out_of_form_is_not_tested(go, monkeypatch, capfd):
    monkeypatch.setattr(go, "prepare", lambda extra: sys.executable)
    monkeypatch.setattr(go, "hand_over", lambda command, folder: 7)
    Path(go.ROOT, "pyproject.toml").write_text("")
    file = Path(go.ROOT, "one.py")
    file.write_text("x = 1\n")
    assert go.main(["test"]) == 7
    for text in ("import os\n", "x  =  1\n"):
        file.write_text(text)
        assert go.main(["test"]) == 1
        assert "mend that first" in capfd.readouterr().err


def test_only_the_standard_library(go):
    import ast

    roots = set()
    for node in ast.walk(ast.parse(GO.read_text())):
        if isinstance(node, ast.Import):
            roots.update(alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            roots.add(node.module.split(".")[0])
    assert roots <= set(sys.stdlib_module_names)
