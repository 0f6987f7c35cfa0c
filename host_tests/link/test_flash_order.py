"""Every state a broken-off flash can leave, booted in real MicroPython: whole, or safe and saying that it is
unfinished."""

import ast
import json
import os
import shutil
import subprocess
from pathlib import Path

import flash_kit
import pytest
from potreeve_tools.bench.device import MICROPYTHON
from potreeve_tools.image import compiled
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash import plan as plans
from potreeve_tools.rehearsal.engines import STANDINS

HAL_TESTS = Path(__file__).resolve().parents[1] / "hal"
BOARD_TABLE = json.loads(flash_kit.BOARD_JSON)
PUMPS = (10, 11, 12, 13)

# Stands in for the application: it tells whether all its modules are of one firmware, then switches a pump.
APP = """
import sys
def run(rig):
    from potreeve.logic import MODULES
    found = set()
    for name in MODULES:
        found.add(__import__("potreeve.logic." + name, None, None, ["OF"]).OF())
    for name in sys.modules:
        if name.startswith("potreeve"):
            found.add(sys.modules[name].OF())
    from potreeve import keep
    print("RUNS", sorted(found), "whole" if keep.code_whole(rig.code) else "held")
"""
SERVICE = "def attend(rig):\n    pass\n"


def imported(text):
    """Names of the logic modules a source imports."""
    found = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.ImportFrom) and node.module == "potreeve.logic":
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("potreeve.logic."):
            found.add(node.module.split(".")[2])
    return found


def small(folder, version, without=(), more=()):
    """The real main.py, hal and keep, with a stand-in for the application and only the modules these need."""
    made = flash_kit.firmware(folder, version, changed=())
    package = made / "potreeve"
    logic = package / "logic"
    (package / "app.py").write_text(APP)
    (package / "service.py").write_text(SERVICE)
    needed, look_at = set(), [package / "keep.py", *(package / "hal").glob("*.py")]
    while look_at:
        fresh = imported(look_at.pop().read_text()) - needed
        needed |= fresh
        look_at += [logic / f"{name}.py" for name in fresh]
    for path in logic.glob("*.py"):
        if path.stem not in needed | {"__init__"}:
            path.unlink()
    for name in more:
        (made / name).write_text("")
    for name in without:
        (made / name).unlink()
    # A flash sends a board no module of a sensor it has not.
    sent = compiled.for_board(
        {f"potreeve/logic/{path.stem}.mpy": path.stem for path in logic.glob("*.py")}, BOARD_TABLE
    )
    (logic / "__init__.py").write_text(f"MODULES = {sorted(set(sent.values()) - {'__init__'})!r}\n")
    for path in package.rglob("*.py"):
        # A function: a constant that no module asks for is not sent.
        path.write_text(path.read_text() + f"\n\ndef OF():\n    return {version!r}\n")
    return made


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """(old folder, old image, new image, image from before there was a mark)."""
    folder = tmp_path_factory.mktemp("firmware")
    old = small(folder / "old", "old", more=["potreeve/logic/gone.py"])
    new = small(folder / "new", "new", more=["potreeve/logic/fresh.py"])
    older = shutil.copytree(old, folder / "older")
    main = older / "main.py"
    text = main.read_text()
    assert 'if there("/unfinished"):' in text
    main.write_text(text.replace('if there("/unfinished"):', "if False:"))
    return (old, *(images.make_image(flash_kit.BOARD_JSON, each) for each in (old, new, older)))


def sources_of(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*.py"))}


def boards_before(made):
    """{words: files on the board before the flash}."""
    old_folder, old, _, older = made
    by_hand = {**sources_of(old_folder), images.BOARD: flash_kit.BOARD_JSON}
    by_mip = {path if path == images.MAIN else "lib/" + path: data for path, data in sources_of(old_folder).items()}
    return {
        "blank": {},
        "flashed before": dict(old.files),
        "older than the mark": dict(older.files),
        "sources by hand": by_hand,
        "sources by mip": {**by_mip, images.BOARD: flash_kit.BOARD_JSON},
        "another program": {"main.py": b"print('hello')\n", "boot.py": b"", "lib/other.py": b"x = 1\n"},
    }


def boot(folder, files):
    """Console and pump pins' levels of one boot of a board that holds these files."""
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir()
    for path, data in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    (folder / "standins").symlink_to(STANDINS)
    (folder / "data").mkdir(exist_ok=True)
    if images.MAIN not in files:
        return "", []
    done = subprocess.run(
        [*MICROPYTHON, HAL_TESTS / "boot.py", folder, "5000", "-1"],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "MICROPYPATH": ""},
    )
    line = [line for line in done.stdout.splitlines() if line.startswith("RESULT ")]
    assert line, done.stdout + done.stderr
    levels = [event[2] for event in json.loads(line[0][7:])["events"] if event[0] == "pin" and event[1] in PUMPS]
    return done.stdout + done.stderr, levels


@pytest.mark.parametrize(
    "before", ["blank", "flashed before", "older than the mark", "sources by hand", "sources by mip", "another program"]
)
def test_every_state_in_between_is_whole_or_says_unfinished(made, tmp_path, before):
    new = made[2]
    files = boards_before(made)[before]
    plan = plans.make_plan(new, flash_kit.present(files))
    seen = []
    for words, now in flash_kit.states(files, plan):
        console, levels = boot(tmp_path / "board", now)
        assert not any(levels), (words, console)
        if "unfinished" in console:
            assert "RUNS" not in console and plans.MARK in now, (words, console)
            seen.append("unfinished")
        elif "RUNS" in console:
            version = console.split("RUNS ")[1].split("\n")[0]
            assert version in ("['old'] whole", "['new'] whole"), (words, console)
            seen.append(version)
        else:
            # Nothing of ours runs yet: a blank board, or somebody else's main.py.
            assert images.MAIN not in now or now[images.MAIN] == files.get(images.MAIN), (words, console)
            seen.append("nothing")
        # And the same command again completes it, from here.
        again = plans.make_plan(new, flash_kit.present(now))
        last = list(flash_kit.states(now, again))[-1][1]
        kept = {path: data for path, data in files.items() if path in ("boot.py", "lib/other.py")}
        assert last == {**new.files, **kept}, words
    assert seen[-1] == "['new'] whole" and "unfinished" in seen
    changes = [word for place, word in enumerate(seen) if place == 0 or word != seen[place - 1]]
    assert len(changes) <= 3, changes


def test_without_the_mark_a_half_changed_board_would_run_mixed(made, tmp_path):
    """The order is not what keeps it safe, the mark is: this test of the test finds a mixture once it is left out."""
    new, files = made[2], boards_before(made)["flashed before"]
    plan = plans.make_plan(new, flash_kit.present(files))
    mixed = 0
    for _, now in list(flash_kit.states(files, plan))[12:30:4]:
        now.pop(plans.MARK, None)
        console, _ = boot(tmp_path / "board", now)
        mixed += "RUNS" not in console or "'new', 'old'" in console
    assert mixed


def test_an_unchanged_board_needs_no_step(made):
    assert plans.make_plan(made[2], flash_kit.present(made[2].files)).steps == ()


def test_only_what_differs_is_sent(made):
    new = made[2]
    files = {**new.files, "potreeve/logic/air.mpy": b"damaged", "data/settings.json": b"{}"}
    plan = plans.make_plan(new, flash_kit.present(files))
    assert [step.path for step in plan.sends] == ["potreeve/logic/air.mpy"]
    assert [step.kind for step in plan.steps] == [plans.MARK_IT, plans.SEND, plans.UNMARK]


def test_a_mark_alone_is_taken_away(made):
    plan = plans.make_plan(made[2], flash_kit.present({**made[2].files, plans.MARK: b""}))
    assert [step.kind for step in plan.steps] == [plans.UNMARK]


@pytest.mark.parametrize(
    "path", ["../etc/passwd", "/main.py", "data/settings.json", "data/log.1", "data@ledger/@ledger"]
)
def test_no_manifest_can_name_what_is_not_ours_for_removal(made, path):
    files = {**made[2].files, path.lstrip("/"): b"x", "data/settings.json": b"{}", "data/log.1": b"x"}
    files[images.MANIFEST] = json.dumps({"files": {path: 1}}).encode()
    plan = plans.make_plan(made[2], flash_kit.present(files))
    assert plan.removes == []


def test_files_an_older_manifest_names_are_removed(made):
    files = {**made[2].files, "extra.mpy": b"x", "notes.txt": b"mine"}
    files[images.MANIFEST] = json.dumps({"files": {"extra.mpy": 1}}).encode()
    assert [step.path for step in plans.make_plan(made[2], flash_kit.present(files)).removes] == ["extra.mpy"]
