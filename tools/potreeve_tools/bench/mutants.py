"""Mutation testing of the modules that bound water: are the tests worth their name?

Each mutant (see mutators.py) is put into the loaded firmware in a child process
and judged, fastest first: by the vectors' expected values, by walks whose
records must not change (mutantwalk.py), by the unit tests that are about these
modules, and by rehearsals of a few mishaps whose records must not change. One
that none of them notices has survived; the survivors are listed in a file that
keeps the reasons given there.
"""

import contextlib
import importlib
import io
import os
import signal
import sys
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.bench import mutantwalk, mutators
from potreeve_tools.faultlist import BadInput
from potreeve_tools.rehearsal.engines import FIRMWARE

MODULES = ("limits", "ledger", "watch", "ladder", "water", "dosing")
SCHEMA = "potreeve-mutants/1"
AIM_PCT = 90.0
TESTS = FIRMWARE.parent / "host_tests"
SURVIVORS = Path(__file__).with_name("mutants_survivors.md")
TESTS_FOR_ALL = ("logic/test_caution_edges.py", "logic/test_limits_properties.py", "app/test_app_wake.py", "app/test_app_button.py")
HAZARDS = ("tube_off_tray", "probe_broken", "watering_can", "tubes_crossed", "siphon")
HAZARD_DAYS = 6
BOARD = "rp2040_wifi"

# Longest a child may take; a mutant that needs more has hung.
TIMEOUT_S = 120
JUDGES = ("vectors", "walks", "tests", "mishaps")
CRASHED, HUNG, SURVIVED = "crashed", "hung", "survived"
_CODES = {10 + index: name for index, name in enumerate(JUDGES)}


@dataclass(frozen=True)
class Judged:
    """One mutant and who noticed it: one of JUDGES, CRASHED, HUNG or SURVIVED."""

    module: str
    key: str
    line: int
    by: str


def run(modules=MODULES, on_result=lambda judged, done, total: None, only=None):
    """Judge all mutants of some modules; returns a list of Judged. only: text that a mutant's key must contain."""
    unknown = [name for name in modules if not (FIRMWARE / "potreeve" / "logic" / f"{name}.py").exists()]
    if unknown:
        raise BadInput([f"module = {', '.join(unknown)}: no such module of the logic; give one of {', '.join(MODULES)}"])
    _prepare()
    plan = [(module, one) for module in modules for one in mutators.mutants(_source(module)) if only is None or only in one.key]
    clean = _child(None, None)
    if clean != SURVIVED:
        raise BadInput([f"the unchanged firmware is noticed by its own {clean}: mend that first, then look for mutants"])
    found = []
    for module, mutant in plan:
        found.append(Judged(module, mutant.key, mutant.line, _child(module, mutant)))
        on_result(found[-1], len(found), len(plan))
    return found


def report(judged, took_s):
    """What `potreeve bench mutants --json` prints."""
    rows = []
    for module in dict.fromkeys(one.module for one in judged):
        mine = [one for one in judged if one.module == module]
        alive = [one for one in mine if one.by == SURVIVED]
        by = {name: sum(one.by == name for one in mine) for name in (*JUDGES, CRASHED, HUNG)}
        rows.append({"module": module, "mutants": len(mine), "killed": len(mine) - len(alive),
                     "killed_pct": round(100.0 * (len(mine) - len(alive)) / len(mine), 1), "by": by,
                     "survivors": [{"line": one.line, "change": one.key} for one in alive]})
    return {"schema": SCHEMA, "aim_pct": AIM_PCT, "modules": rows, "s": round(took_s, 1),
            "good": all(row["killed_pct"] >= AIM_PCT for row in rows)}


# ---- one mutant ---------------------------------------------------------------------------


def _source(module):
    return (FIRMWARE / "potreeve" / "logic" / f"{module}.py").read_text(encoding="utf-8")


_baseline = {}


def _prepare():
    """Load everything once, so that each child only has to think; take the unchanged walks and rehearsals."""
    for folder in ("logic", "app"):
        path = str(TESTS / folder)
        if path not in sys.path:
            sys.path.insert(0, path)
    for path in sorted((FIRMWARE / "potreeve" / "logic").glob("*.py")):
        if path.stem != "__init__":
            importlib.import_module("potreeve.logic." + path.stem)
    import pytest  # noqa: F401
    import vector_runner

    _baseline["vectors"] = [path.stem for path in sorted((TESTS / "logic" / "vectors").glob("*.py"))
                            if path.stem not in ("__init__", "made")]
    for name in _baseline["vectors"]:
        vector_runner.results(name)
    _baseline["walks"] = [list(mutantwalk.sums(number)) for number in range(mutantwalk.WALKS)]
    _baseline["mishaps"] = [_rehearse(name) for name in HAZARDS]


def _child(module, mutant):
    """Judge a mutant in a process of its own; returns who noticed it."""
    pid = os.fork()
    if pid == 0:
        signal.alarm(TIMEOUT_S)
        code = 99
        try:
            _silence()
            if mutant is not None:
                put_in(module, mutant.tree)
            code = _judge(module)
        except BaseException:
            code = 98
        finally:
            os._exit(code)
    _, status = os.waitpid(pid, 0)
    if os.WIFSIGNALED(status):
        return HUNG if os.WTERMSIG(status) == signal.SIGALRM else CRASHED
    return _CODES.get(os.WEXITSTATUS(status), SURVIVED if os.WEXITSTATUS(status) == 0 else CRASHED)


def _silence():
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, 1)
    os.dup2(null, 2)


def put_in(module, tree):
    """Change a loaded module in place: whoever holds one of its functions has the changed one, and modules that took
    its constants by name take them anew."""
    _reload(sys.modules["potreeve.logic." + module], compile(tree, module + ".py", "exec"))
    for name, other in sorted(sys.modules.items()):
        if name.startswith("potreeve.logic.") and _takes_from(other, module):
            _reload(other, compile(_source(name.rsplit(".", 1)[1]), name, "exec"))


def _reload(module, code):
    held = {name: value for name, value in vars(module).items() if hasattr(value, "__code__")}
    exec(code, module.__dict__)  # noqa: S102 - the firmware's own module
    for name, function in held.items():
        new = module.__dict__.get(name)
        if new is not function and hasattr(new, "__code__") and function.__module__ == new.__module__:
            function.__code__, function.__defaults__ = new.__code__, new.__defaults__
            module.__dict__[name] = function


def _takes_from(other, module):
    """Whether a module says `from potreeve.logic.MODULE import ...`."""
    path = getattr(other, "__file__", None)
    return bool(path) and f"from potreeve.logic.{module} import" in Path(path).read_text(encoding="utf-8")


def _judge(module):
    for place, judge in enumerate((_vectors, _walks, _tests, _mishaps)):
        try:
            noticed = judge(module)
        except Exception:
            noticed = True
        if noticed:
            return 10 + place
    return 0


def _vectors(module):
    """Whether a vector's expected value no longer comes out. The module's own come first."""
    import vector_runner
    from vectors import ANY

    names = _baseline["vectors"]
    for name in [one for one in names if one == module] + [one for one in names if one != module]:
        vectors = sys.modules["vectors." + name].VECTORS
        for (_, _, text), (_, _, expected) in zip(vector_runner.results(name), vectors, strict=True):
            if expected != ANY and text != vector_runner.text_of(expected):
                return True
    return False


def _walks(module):
    return any(one != other for number, before in enumerate(_baseline["walks"])
               for one, other in zip(mutantwalk.sums(number), before, strict=True))


def _tests(module):
    """Whether a unit test fails: those of all modules, and those named after this one."""
    import pytest

    files = [str(TESTS / name) for name in TESTS_FOR_ALL]
    files += [str(path) for path in sorted((TESTS / "logic").glob(f"test_{module or '*'}_edges.py"))]
    with contextlib.redirect_stdout(io.StringIO()):
        return pytest.main(["-x", "-q", "-p", "no:cacheprovider", "--no-header", *dict.fromkeys(files)]) != 0


def _mishaps(module):
    return any(_rehearse(name) != digest for name, digest in zip(HAZARDS, _baseline["mishaps"], strict=True))


def _rehearse(name):
    """Digest of the records of a mishap's first days."""
    from potreeve_tools.bench import swarm

    data = _hazard(name)
    return swarm.run_data(data, 1).digest


def _hazard(name):
    from potreeve_tools.faultlist import read_toml
    from potreeve_tools.mishaps.scenario import HAZARDS as FOLDER

    data = read_toml(FOLDER / f"{name}.toml")
    return {**data, "days": min(data["days"], HAZARD_DAYS), "board": data.get("board") or BOARD}


# ---- survivors ----------------------------------------------------------------------------


def survivors_text(judged, before=""):
    """The list of survivors as Markdown; reasons in `before` (an earlier list) are kept."""
    reasons = read_reasons(before)
    lines = ["# Mutants that nothing notices", "",
             "Written by `potreeve bench mutants`, which keeps the reasons and drops what no longer survives. A reason begins with",
             "*equivalent* (the change can't be seen from outside), *not worth* (it can, and it does not matter) or *gap* (a test",
             "is missing). Without a reason it is a gap nobody has looked at.", ""]
    for module in dict.fromkeys(one.module for one in judged):
        mine = [one for one in judged if one.module == module]
        alive = [one for one in mine if one.by == SURVIVED]
        lines += [f"## {module}: {len(mine) - len(alive)} of {len(mine)} noticed", ""]
        if alive:
            lines += ["| change | reason |", "| --- | --- |"]
            lines += [f"| `{_cell(one.key)}` | {reasons.get((module, _cell(one.key)), '')} |" for one in alive]
            lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _cell(text):
    return text.replace("|", "\\|").replace("`", "'")


def read_reasons(text):
    """{(module, change): reason} from a list of survivors."""
    found, module = {}, ""
    for line in text.splitlines():
        if line.startswith("## "):
            module = line[3:].split(":")[0]
        elif line.startswith("| `"):
            change, _, reason = line[3:].rstrip(" |").partition("` | ")
            found[module, change.removesuffix("`")] = reason.strip()
    return found


def keep_others(judged, before):
    """Sections of `before` about modules that were not judged this time, as text."""
    judged_modules = {one.module for one in judged}
    kept, take = [], False
    for line in before.splitlines():
        if line.startswith("## "):
            take = line[3:].split(":")[0] not in judged_modules
        if take:
            kept.append(line)
    return "\n".join(kept)


def write_survivors(judged, path=SURVIVORS):
    """Write the list; sections of modules that were not judged stay."""
    before = path.read_text(encoding="utf-8") if path.exists() else ""
    text = survivors_text(judged, before)
    others = keep_others(judged, before)
    path.write_text(text + ("\n" + others.strip() + "\n" if others.strip() else ""), encoding="utf-8")
