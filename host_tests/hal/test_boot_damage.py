"""Flipped bits in what is installed: a board tends, says what is damaged, or restarts; it never hangs, and no pump
runs.

A few hundred here; POTREEVE_BOOT_FLIPS=5000 pytest host_tests/hal/test_boot_damage.py tries as many of each kind,
others each time.
"""

import collections
import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link.flash import image as images
from potreeve_tools.rehearsal.engines import STANDINS

HERE = Path(__file__).resolve().parent
MICROPYTHON = Path(sys.executable).with_name("micropython")
MANY = int(os.environ.get("POTREEVE_BOOT_FLIPS", "0"))
# Of all that run in one process, so many; of those that need one each, so many.
QUICK, SLOW = (MANY, MANY // 10) if MANY else (300, 16)
SEED = random.randrange(1 << 30) if MANY else 13
LONGEST_S = 20
# Files whose sums the manifest holds; a flip in what is not code may do no harm.
HARMLESS = ("main.py", "manifest.json")


@pytest.fixture(scope="module")
def tree(tmp_path_factory):
    """A board's file system as flashed, with the bench beside it."""
    folder = tmp_path_factory.mktemp("board")
    for path, data in images.make_image(boards.load("rp2040_wifi").device_json().encode()).files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    (folder / "data").mkdir()
    (folder / "standins").symlink_to(STANDINS)
    return folder


def files_of(tree):
    return sorted(
        path.relative_to(tree).as_posix() for path in tree.rglob("*") if path.is_file() and "standins" not in path.parts
    )


def drawn(tree, count, paths):
    """[path, [[byte, mask], ...]] of one to three flipped bits."""
    rng = random.Random(SEED)
    flips = []
    for _ in range(count):
        path = rng.choice(paths)
        size = (tree / path).stat().st_size
        flips.append([path, [[rng.randrange(size), 1 << rng.randrange(8)] for _ in range(rng.choice((1, 1, 3)))]])
    return [flip for flip in flips if all(flip[1].count(bit) == 1 for bit in flip[1])]


def ended(tree, tmp_path, flips):
    """[[path, how it ended, pumps seen high], ...] in one process; the last is "hang" where that did not come back."""
    listed = tmp_path / "flips.json"
    listed.write_text(json.dumps(flips))
    command = [MICROPYTHON, "-X", "heapsize=8m", HERE / "flips.py", tree, listed]
    try:
        said = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S + len(flips) / 10)
        out, broke = said.stdout, said.stderr
    except subprocess.TimeoutExpired as late:
        out, broke = (late.stdout or b"").decode(), "hang"
    found = [json.loads(line) for line in out.splitlines() if line.startswith("[")]
    if len(found) < len(flips):
        found.append([flips[len(found)][0], f"hang: {flips[len(found)][1]} {broke}", []])
    return found


def test_a_board_as_it_was_flashed_runs(tree, tmp_path):
    assert ended(tree, tmp_path, [["board.json", []]]) == [["board.json", "ran", []]]


def test_no_damaged_module_is_ever_loaded(tree, tmp_path):
    flips = drawn(tree, QUICK, [path for path in files_of(tree) if path not in HARMLESS])
    wrong = [one for one in ended(tree, tmp_path, flips) if one[1:] != ["told", []]]
    assert len(flips) > QUICK * 9 // 10 and wrong == []


def test_a_damaged_manifest_or_main_ends_somewhere(tree, tmp_path):
    """Each flip in a process of its own where it must be: what hangs takes only itself along, and is counted."""
    flips = drawn(tree, QUICK // 3, list(HARMLESS))
    left, found = flips, []
    while left:
        some = ended(tree, tmp_path, left)
        found += some
        left = left[len(some) :]
    seen = collections.Counter(one[1] for one in found)
    assert set(seen) <= {"ran", "told", "waits", "prompt", "reset"}, [one for one in found if one[1].startswith("hang")]
    assert not [one for one in found if one[2]] and len(found) == len(flips)


@pytest.mark.parametrize(
    "path", ["main.py", "potreeve/hal/__init__.mpy", "potreeve/app.mpy", "manifest.json", "board.json"]
)
def test_the_real_board_boots_or_says_why_not(tree, path):
    """Nothing stood in for but pins and time: the loader itself would meet the flipped bits."""
    rng = random.Random(SEED)
    sound = (tree / path).read_bytes()
    for _ in range(max(1, SLOW // 5)):
        data = bytearray(sound)
        for _ in range(rng.choice((1, 3))):
            data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
        (tree / path).write_bytes(data)
        try:
            done = subprocess.run(
                [MICROPYTHON, "-X", "heapsize=8m", HERE / "boot.py", tree, "90000", "-1"],
                capture_output=True,
                text=True,
                timeout=LONGEST_S,
            )
        finally:
            (tree / path).write_bytes(sound)
        line = [line for line in done.stdout.splitlines() if line.startswith("RESULT ")]
        assert line, done.stdout + done.stderr
        result = json.loads(line[0][7:])
        assert not [event for event in result["events"] if event[0] == "pin" and event[1] in (6, 7, 8, 10) and event[2]]
        if path not in HARMLESS:
            assert done.stdout.count("not started, pumps are off") > 50, done.stdout[-500:]
