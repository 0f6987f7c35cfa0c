"""A wheel of Potreeve in a fresh environment, far from any checkout: every command works there.

The environment has the packages of this one, but not this checkout.
"""

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest
from potreeve_tools.image import places
from potreeve_tools.link import vectors_here

ROOT = Path(__file__).resolve().parents[2]
LEFT_OUT = shutil.ignore_patterns(".git", ".venv*", "__pycache__", "*.egg-info", "build", ".*_cache", ".hypothesis")


def pip(*words):
    done = subprocess.run([sys.executable, "-m", "pip", *words], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """Path of a wheel built from a copy of this checkout, without a network."""
    place = tmp_path_factory.mktemp("wheel")
    shutil.copytree(ROOT, place / "source", ignore=LEFT_OUT)
    pip("wheel", "-q", "--no-deps", "--no-index", "--no-build-isolation", "-w", str(place), str(place / "source"))
    return next(place.glob("*.whl"))


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """installed(*words, input=) -> CompletedProcess of `potreeve` from that wheel, run in an empty folder."""
    place = tmp_path_factory.mktemp("installed")
    venv.create(place / "env", with_pip=False, symlinks=True)
    python = place / "env" / "bin" / "python"
    pip("--python", str(python), "install", "-q", "--no-deps", "--no-index", str(wheel))
    site = next((place / "env").glob("lib/python*/site-packages"))
    # As a plain entry of the path; the checkout's own .pth file is not followed from there.
    (site / "packages_of_the_tests.pth").write_text(sysconfig.get_path("purelib") + "\n")
    (place / "folder").mkdir()
    env = {
        "PATH": "/usr/bin:/bin",
        "HOME": str(place / "home"),
        "NO_COLOR": "1",
        "COLUMNS": "200",
        "POTREEVE_DATA_DIR": str(place / "data"),
    }

    def run(*words, popen=False, **more):
        command = [str(python.with_name("potreeve")), *words]
        options = {"cwd": place / "folder", "env": env, "text": True, **more}
        if popen:
            return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, **options)
        return subprocess.run(command, capture_output=True, timeout=300, **options)

    run.folder, run.site, run.python, run.env = place / "folder", site, python, env
    return run


def test_the_wheel_carries_what_the_checkout_has(wheel):
    with zipfile.ZipFile(wheel) as opened:
        names = set(opened.namelist())
        for folder, suffixes in (("firmware", {".py", ".json"}), ("boards", {".toml"})):
            for path in (ROOT / folder).rglob("*"):
                if path.suffix in suffixes and "__pycache__" not in path.parts:
                    name = f"potreeve_tools/shipped/{path.relative_to(ROOT).as_posix()}"
                    assert name in names and opened.read(name) == path.read_bytes()
    package = ROOT / "tools" / "potreeve_tools"
    data = {path for path in package.rglob("*") if path.is_file() and path.suffix not in (".pyc", ".png")}
    missing = {f"potreeve_tools/{path.relative_to(package).as_posix()}" for path in data} - names
    assert missing == set()
    assert not [name for name in names if name.startswith(("host_tests", "boards", "tools"))]


def test_a_wheel_from_the_source_archive_is_the_same(wheel, tmp_path):
    """As an installer that finds no wheel builds one: all that is needed is in the archive."""
    shutil.copytree(ROOT, tmp_path / "source", ignore=LEFT_OUT)
    code = "import sys; from setuptools import build_meta; print(build_meta.build_sdist(sys.argv[1]))"
    subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], cwd=tmp_path / "source", capture_output=True, check=True
    )
    shutil.rmtree(tmp_path / "source")
    pip("wheel", "-q", "--no-deps", "--no-index", "--no-build-isolation", "-w", str(tmp_path), *archives(tmp_path))
    with zipfile.ZipFile(wheel) as from_checkout, zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as from_archive:
        assert sorted(from_archive.namelist()) == sorted(from_checkout.namelist())


def archives(folder):
    return [str(path) for path in folder.glob("*.tar.gz")]


def test_it_runs_from_the_wheel_and_nowhere_else(installed):
    code = (
        "import potreeve, potreeve_tools; from potreeve_tools.image import places; "
        "print(potreeve.__file__, potreeve_tools.__file__, places.FIRMWARE, places.BOARDS, sep='\\n')"
    )
    done = subprocess.run(
        [installed.python, "-c", code], capture_output=True, text=True, env=installed.env, cwd=installed.folder
    )
    lines = done.stdout.splitlines()
    assert len(lines) == 4 and all(line.startswith(str(installed.site)) for line in lines), done.stdout + done.stderr


def test_a_rehearsal_and_a_mishap(installed):
    done = installed("rehearse", "--days", "1", "--json", "--report", "day.html")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["days"] == 1 and (installed.folder / "day.html").stat().st_size > 40_000
    done = installed("mishaps", "--only", "tube_off_tray", "--seeds", "1")
    assert done.returncode == 0 and "1 holds" in done.stdout, done.stdout + done.stderr


def test_its_boards(installed):
    done = installed("rehearse", "--board", "nonsense")
    assert done.returncode == 2
    assert all(path.stem in done.stderr for path in (ROOT / "boards").glob("*.toml")), done.stderr
    done = installed("rehearse", "--board", "esp32", "--days", "1")
    assert done.returncode == 0 and "board esp32" in done.stdout, done.stderr


def test_new_settings(installed):
    words = "settings new new.toml --plant mint --pot 12x10.5 --substrate peat_mix --tray-cm2 740 --tray-wall-mm 15"
    done = installed(*words.split())
    assert done.returncode == 0 and "depletion_pm" in (installed.folder / "new.toml").read_text(), done.stderr


def test_every_command_has_its_help(installed):
    from potreeve_tools import cli

    for name in cli.COMMANDS:
        done = installed(name, "--help")
        assert done.returncode == 0 and "Usage: potreeve" in done.stdout, done.stderr


def test_a_flash_with_its_gate(installed):
    with installed("virtual-board", "--link", "./board", popen=True, stderr=subprocess.DEVNULL) as board:
        assert board.stdout.readline().strip() == "board"
        done = installed("flash", "--port", "./board", "--board", "rp2040_wifi")
        assert done.returncode == 0, done.stderr
        assert "The host tests need a checkout of Potreeve" in done.stderr
        for title in ("vectors of the logic in MicroPython", "rehearsal of 14 days", "8 mishaps"):
            assert f"Gate: {title} passed in" in done.stderr
        assert "now runs Potreeve" in done.stdout
        done = installed("selftest", "--port", "./board")
        assert "good logic" in done.stdout and "good pins" in done.stdout, done.stdout + done.stderr
        board.terminate()


def test_vectors_that_differ_are_named(tmp_path, capsys, monkeypatch):
    firmware = shutil.copytree(places.FIRMWARE, tmp_path / "firmware", ignore=LEFT_OUT)
    dosing = firmware / "potreeve" / "logic" / "dosing.py"
    assert "return " in dosing.read_text()
    dosing.write_text(
        dosing.read_text().replace("def refill_point_pm(pot):", "def refill_point_pm(pot):\n    return 7\n")
    )
    count, wrong = vectors_here.run(firmware)
    assert count > 1000 and wrong and {module for module, _, _ in wrong} >= {"dosing"}
    (firmware / "potreeve" / "logic" / "dosing.py").write_text("def nonsense(\n")
    assert len(vectors_here.run(firmware)[1]) > 10
    assert vectors_here.run()[1] == []
    monkeypatch.setattr(vectors_here, "run", lambda: (count, wrong))
    assert vectors_here.main() == 1 and "FAILED " in capsys.readouterr().out


def test_where_things_lie(tmp_path):
    assert places.CHECKOUT == ROOT and places.FIRMWARE == ROOT / "firmware" and places.BOARDS == ROOT / "boards"
    stranger = tmp_path / "lib" / "site-packages" / "potreeve_tools"
    stranger.mkdir(parents=True)
    # A folder "firmware" that happens to lie above the installed package is none of ours.
    (tmp_path / "lib" / "firmware").mkdir()
    (tmp_path / "lib" / "firmware" / "main.py").touch()
    assert places.checkout(stranger) is None
    assert os.access(places.FIRMWARE / "main.py", os.R_OK)


@pytest.mark.slow
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("board", ["rp2040_wifi", "esp32"])
def test_a_walk_from_an_empty_folder_to_a_tended_pot(installed, board, tmp_path):
    """The README's road, by an installed wheel. Every question is read, done at the rig and answered; soaking and
    draining take their hour and a half of the board's time, a day takes a day."""
    from potreeve_tools.pictures import tour, walk

    steps = tour.on(board, tour.lines((ROOT / "README.md").read_text(encoding="utf-8")))
    with walk.Walk(board, tmp_path, installed.python, installed.env) as person:
        try:
            truth = person.go(steps)
        finally:
            print(person.text())
        by_itself = {delivery[1] for delivery in person.board.world.deliveries[person.by_hand :]}
    told = dict(person.told)
    assert "The host tests need a checkout" in "\n".join(told[f"potreeve flash --port ./board --board {board}"])
    assert "3 of 3 channels are right." in told["potreeve calibrate wiring --soak 1800 --port ./board"]
    status = told["potreeve status --port ./board"]
    assert sum(": tended, moisture" in line for line in status) == 3, status
    assert all(pot["alive"] for pot in truth["pots"]) and truth["tray_ml"] < 100
    # Each pot was watered by the board alone, and stands between its stress point and container capacity.
    assert by_itself == {0, 1, 2}
    assert all(500 < pot["moisture_pm"] < 1020 for pot in truth["pots"]), truth
    assert len(person.asked) > 25
