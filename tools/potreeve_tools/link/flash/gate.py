"""What must hold before a board gets new firmware: quick tests, a rehearsal, mishaps, with its own settings.

Each check is an ordinary command run as one; what is shown for a failed check
is the command that shows it again.
"""

import json
import os
import re
import shlex
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from importlib.util import find_spec

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.image import places
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

TESTS = "quick tests"
VECTORS = "vectors of the logic in MicroPython"
WITHOUT_TESTS = (
    "The host tests need a checkout of Potreeve (python3 tools/go.py flash); this gate runs the vectors of the logic, "
    "a rehearsal and mishaps instead."
)
REHEARSAL_DAYS = 14
TIMEOUT_S = 900
SHARE = re.compile(r"\[ *(\d+)%\]$")
"""How far pytest says it has come, at the end of its lines."""

QUICK_TESTS = (
    "host_tests/logic",
    "host_tests/app",
    "host_tests/hal/test_adapters.py",
    "host_tests/hal/test_board_files.py",
    "host_tests/hal/test_boot.py",
)
"""What the firmware must pass on any board; all but those that search with chance or try every place where something
can fail."""

NOT_QUICK = tuple(
    f"--ignore-glob=*_{name}.py"
    for name in (
        "properties",
        "state_machine*",
        "coverage",
        "failing_calls",
        "reset_loops",
        "power_cuts",
        "pulse_interrupts",
    )
)

MISHAPS = (
    "tube_off_tray",
    "probe_out",
    "reservoir_empty",
    "brown_out",
    "settings_half_written",
    "flash_full",
    "file_damaged",
    "clock_lost",
)
"""Of water, probe, tub, power, settings, storage, files and time one each."""


@dataclass(frozen=True)
class Check:
    """One check. words: its arguments after `python -m`; title: what it is; shown: the command for a person."""

    title: str
    words: tuple
    shown: str


def has_tests():
    """True where the host tests are at hand, and what runs them."""
    return bool(places.CHECKOUT and (places.CHECKOUT / "host_tests").is_dir() and find_spec("pytest"))


def logic_check():
    """The check of the firmware itself: quick tests, or the vectors where the tests are not at hand."""
    if not has_tests():
        words = ("potreeve_tools.link.vectors_here",)
        return Check(VECTORS, words, "python -m potreeve_tools.link.vectors_here")
    tests = ("pytest", "-q", "-x", "-m", "not slow", "-p", "no:cacheprovider", "--no-header", *NOT_QUICK, *QUICK_TESTS)
    return Check(TESTS, tests, "python3 tools/go.py test " + shlex.join(QUICK_TESTS))


def checks(setting, days=REHEARSAL_DAYS, mishaps=MISHAPS):
    """The checks in their order."""
    rehearse = ("rehearse", "--days", str(days), *setting.options)
    found = [
        logic_check(),
        Check(
            f"rehearsal of {_count(days, 'day')}",
            ("potreeve_tools", *rehearse, "--json"),
            "potreeve " + shlex.join(rehearse),
        ),
    ]
    chosen, left_out = fitting(mishaps, setting)
    if chosen:
        words = ("mishaps", *(word for name in chosen for word in ("--only", name)), "--seed", "1", *setting.options)
        title = _count(len(chosen), "mishap") + (
            f" (without {', '.join(left_out)}, which this rig has no pot for)" if left_out else ""
        )
        found.append(Check(title, ("potreeve_tools", *words, "--json"), "potreeve " + shlex.join(words)))
    return found


def _count(count, what):
    return f"{count} {what}{'' if count == 1 else 's'}"


def fitting(names, setting):
    """(names of mishaps that can be shown on a rig, those that can't because it has too few pots)."""
    from potreeve_tools.mishaps import scenario
    from potreeve_tools.world import rigfile, rooms

    if setting.rig:
        data, path = rigfile.read(setting.rig), setting.rig
    else:
        data, path = rooms.mapping_for(boards.load(setting.options[1]).device_dict())
    chosen, left_out = [], []
    for name in names:
        try:
            scenario.the_rig(scenario.load(scenario.HAZARDS / f"{name}.toml"), data, str(path))
            chosen.append(name)
        except BadInput:
            left_out.append(name)
    return chosen, left_out


def run(check, on_tick=lambda seconds, share: None):
    """(whether a check holds, seconds, lines: what failed, or what a person should know although it holds).

    on_tick: called once a second with the seconds so far and how far it has come, 0 to 100, None where it does not say.
    """
    began = time.monotonic()
    told = {"out": [], "err": []}
    with subprocess.Popen(
        [sys.executable, "-m", *check.words],
        # What lies in the folder one stands in must not pass for a module.
        cwd=places.CHECKOUT or places.PACKAGE.parent,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "NO_COLOR": "1", "COLUMNS": "300"},
    ) as process:
        readers = [
            threading.Thread(target=told[name].extend, args=(stream,), daemon=True)
            for name, stream in (("out", process.stdout), ("err", process.stderr))
        ]
        for reader in readers:
            reader.start()
        try:
            code = _wait(process, began, lambda seconds: on_tick(seconds, _share(told["out"])))
        except BaseException:
            process.kill()
            raise
        for reader in readers:
            reader.join()
    out, err = "".join(told["out"]), "".join(told["err"])
    seconds = time.monotonic() - began
    if code is None:
        return False, seconds, [f"it did not end within {TIMEOUT_S // 60} minutes"]
    if code == 0:
        return True, seconds, _outcome_lines(out, held=True)
    return False, seconds, failures(out, err)


def _wait(process, began, on_tick):
    """The exit code of a process, None for one that took too long and was ended."""
    while True:
        try:
            return process.wait(1.0)
        except subprocess.TimeoutExpired:
            seconds = time.monotonic() - began
            on_tick(seconds)
            if seconds > TIMEOUT_S:
                process.kill()
                return None


def _share(lines):
    """The last share in per cent that pytest told, None for none."""
    found = [SHARE.search(line.rstrip()) for line in lines[-4:]]
    return next((int(one[1]) for one in reversed(found) if one), None)


def failures(said, complained, most=8):
    """What failed, from the output of pytest, a rehearsal or mishaps: at most so many lines."""
    lines = [line for line in said.splitlines() if line.startswith(("FAILED ", "ERROR "))]
    if not lines and said.lstrip().startswith("{"):
        lines = _outcome_lines(said, held=False)
    lines = lines or [line.removeprefix("potreeve: ") for line in complained.splitlines() if line.strip()]
    lines = lines or [line for line in said.splitlines() if line.strip()][-most:]
    return lines[:most] or ["it gave no reason"]


def _outcome_lines(said, held):
    """What a rehearsal or mishaps, as JSON, have to say beyond that all is well; nothing of any other output."""
    from potreeve_tools.mishaps import judge
    from potreeve_tools.rehearsal import verdict

    try:
        found = json.loads(said)
        if "mishaps" not in found:
            grade, headline, points = verdict.judge(found)
            return [] if grade == verdict.GOOD else [headline, *points]
        wanted = judge.NOT_SHOWN if held else judge.BROKEN
        # What it did comes first with what does not hold.
        return [
            f"{row['name']}: "
            f"{'' if row['verdict'] == judge.BROKEN else 'not shown with these settings, '}{row['what_it_did'][0]}"
            for row in found["mishaps"]
            if row["verdict"] == wanted
        ]
    except (ValueError, KeyError, TypeError, IndexError):
        return []


def refuse(check, lines):
    """The Stop for a check that failed."""
    shown = check.shown
    if check.title == TESTS:
        named = [line.split(" ")[1] for line in lines if line.startswith("FAILED ")]
        shown = f"{shown if not named else 'python3 tools/go.py test ' + shlex.join(named)}    (in {places.CHECKOUT})"
    return exits.Stop(
        exits.FAILED,
        [
            f"not flashed, {check.title} failed:",
            *(f"  {line}" for line in lines),
            f"See it again with: {shown}",
            "Nothing on the board was changed. To flash all the same: --no-gate, which asks for the board's name.",
        ],
    )
