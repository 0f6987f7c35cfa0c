"""Mutation testing of the modules that bound water: are the tests worth their name?

Each mutant (see mutators.py) is put into the loaded firmware in a child process
and judged by what CI runs as well, fastest first: the vectors' expected values,
the unit tests of these modules, the state machine against its independent
model, and the verdicts of a few mishaps. One that none of them notices has
survived. Walks of a small rig (mutantwalk.py) then tell whether it decides
otherwise at all; that alone kills none. mutantpage.py lists what survived.
"""

import contextlib
import importlib
import io
import os
import random
import signal
import sys
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.bench import mutantwalk, mutators
from potreeve_tools.link import selftest_vectors
from potreeve_tools.rehearsal.engines import FIRMWARE, STANDINS
from potreeve_tools.terminal.faultlist import BadInput

MODULES = tuple(
    "limits ledger watch ladder water nights dosing proof closing tray moisture battery starving suffers".split()
)
TESTS = FIRMWARE.parent / "host_tests"
TESTS_FOR_ALL = (
    "logic/test_caution_edges.py",
    "logic/test_limits_properties.py",
    "owner/test_carry.py",
    "app/test_app_wake.py",
    "app/test_app_button.py",
    "app/test_keep_store.py",
    "app/test_unread_ledger.py",
    "logic/test_store_properties.py",
    "logic/test_step_properties.py",
)
MODEL_EXAMPLES, MODEL_STEPS = 100, 60
HAZARDS = (
    "tube_off_tray",
    "probe_out",
    "probe_broken",
    "probe_leaning",
    "watering_can",
    "tubes_crossed",
    "siphon",
    "dry_substrate",
    "reservoir_empty",
    "pump_stuck_on",
    "tray_filling_up",
    "battery_sagging",
    "brown_out",
    "repotted",
    "memory_lost",
)
BOARD = "rp2040_wifi"

JUDGES = ("vectors", "tests", "model", "mishaps")
# Longest each of them may take, and the walks after them: ten times and more what they take of the unchanged firmware.
# A mutant that needs more has hung.
_LONGEST_S = {"vectors": 20, "tests": 240, "model": 240, "mishaps": 240, "walks": 120}
CRASHED, HUNG, SURVIVED = "crashed", "hung", "survived"
_CODES = {10 + index: name for index, name in enumerate(JUDGES)}
_SEEN = 20


@dataclass(frozen=True)
class Judged:
    """One mutant and who noticed it: one of JUDGES, CRASHED, HUNG or SURVIVED. seen: whether a survivor was seen to
    decide otherwise in any walk."""

    module: str
    key: str
    line: int
    by: str
    seen: bool = False


def run(modules=MODULES, on_result=lambda judged, done, total: None, only=None, jobs=1, sample=None, seed=1):
    """Judge all mutants of some modules; returns a list of Judged, in order. only: text that a mutant's key must
    contain. jobs: how many are judged at a time. sample: only so many of each module, drawn by the seed."""
    unknown = [name for name in modules if not (FIRMWARE / "potreeve" / "logic" / f"{name}.py").exists()]
    if unknown:
        raise BadInput(
            [f"module = {', '.join(unknown)}: no such module of the logic; give one of {', '.join(MODULES)}"]
        )
    _prepare()
    plan = [(module, one) for module in modules for one in _chosen(module, only, sample, seed)]
    clean = _end(os.waitpid(_start(None, None), 0)[1])
    if clean != (SURVIVED, False):
        raise BadInput(
            [f"the unchanged firmware is noticed by its own {clean[0]}: mend that first, then look for mutants"]
        )
    found, running, waiting = {}, {}, list(enumerate(plan))
    while waiting or running:
        while waiting and len(running) < jobs:
            place, (module, mutant) = waiting.pop(0)
            running[_start(module, mutant)] = place
        pid, status = os.wait()
        place = running.pop(pid)
        module, mutant = plan[place]
        found[place] = Judged(module, mutant.key, mutant.line, *_end(status))
        on_result(found[place], len(found), len(plan))
    return [found[place] for place in sorted(found)]


def _chosen(module, only, sample, seed):
    found = [one for one in mutators.mutants(_source(module)) if only is None or only in one.key]
    if sample is None or sample >= len(found):
        return found
    places = random.Random(f"{seed} {module}").sample(range(len(found)), sample)
    return [found[place] for place in sorted(places)]


# ---- one mutant ---------------------------------------------------------------------------


def _source(module):
    return (FIRMWARE / "potreeve" / "logic" / f"{module}.py").read_text(encoding="utf-8")


_baseline = {}


def _prepare():
    """Load everything once, so that each child only has to think; take the unchanged walks and rehearsals."""
    for folder in (TESTS / "logic", TESTS / "app", STANDINS, selftest_vectors.TEXT.parent):
        if str(folder) not in sys.path:
            sys.path.insert(0, str(folder))
    for path in sorted((FIRMWARE / "potreeve" / "logic").glob("*.py")):
        if path.stem != "__init__":
            importlib.import_module("potreeve.logic." + path.stem)
    import machine  # noqa: F401 - the state machine's, loaded here so that no child has to
    import pytest  # noqa: F401
    import vector_runner

    from potreeve_tools.mishaps import scenario

    _baseline["vectors"] = [
        path.stem
        for path in sorted((TESTS / "logic" / "vectors").glob("*.py"))
        if path.stem not in ("__init__", "made")
    ]
    for name in _baseline["vectors"]:
        vector_runner.results(name)
    _baseline["mishaps"] = [scenario.load(scenario.HAZARDS / f"{name}.toml") for name in HAZARDS]
    _baseline["walks"] = [list(mutantwalk.sums(number)) for number in range(mutantwalk.WALKS)]


def _start(module, mutant):
    """Begin to judge a mutant in a process of its own; returns its number."""
    pid = os.fork()
    if pid == 0:
        # Whoever runs this may have a handler of its own for it.
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
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
    return pid


def _end(status):
    """(who noticed, whether it decides otherwise in a walk), from the status a child left."""
    if os.WIFSIGNALED(status):
        return (HUNG if os.WTERMSIG(status) == signal.SIGALRM else CRASHED), True
    code = os.WEXITSTATUS(status)
    if code in (0, _SEEN):
        return SURVIVED, code == _SEEN
    return _CODES.get(code, CRASHED), True


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
    for place, judge in enumerate((_vectors, _tests, _model, _mishaps)):
        signal.alarm(_LONGEST_S[JUDGES[place]])
        try:
            noticed = judge(module)
        except Exception:
            noticed = True
        if noticed:
            return 10 + place
    signal.alarm(_LONGEST_S["walks"])
    return _SEEN if _walks() else 0


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


def _tests(module):
    """Whether a unit test fails: those of all modules, and those named after this one."""
    import pytest

    files = [str(TESTS / name) for name in TESTS_FOR_ALL]
    files += [str(path) for path in sorted((TESTS / "logic").glob(f"test_{module or '*'}_edges.py"))]
    with contextlib.redirect_stdout(io.StringIO()):
        # Its own time-out would take the alarm of this one.
        options = ["-x", "-q", "-p", "no:cacheprovider", "-o", "timeout=0", "--no-header", "-k", "not micropython"]
        return pytest.main([*options, *dict.fromkeys(files)]) != 0


def _model(module):
    """Whether the state machine finds a counterexample."""
    from hypothesis import HealthCheck, Phase, settings
    from hypothesis.stateful import run_state_machine_as_test
    from machine import Rules

    budget = settings(
        max_examples=MODEL_EXAMPLES,
        stateful_step_count=MODEL_STEPS,
        derandomize=True,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(Rules, settings=budget)
    return False


def _mishaps(module):
    """Whether a mishap no longer ends as its file promises."""
    from potreeve_tools.mishaps import judge, run

    bench = _bench()
    return any(run.one(scenario, bench, 1).verdict != judge.HOLDS for scenario in _baseline["mishaps"])


def _bench():
    from potreeve_tools.boards import boardfile as boards
    from potreeve_tools.mishaps import trial
    from potreeve_tools.terminal.faultlist import read_toml
    from potreeve_tools.world.rigfile import DEFAULT_RIG

    return trial.Bench(
        read_toml(DEFAULT_RIG), DEFAULT_RIG.name, boards.load(BOARD).device_dict(), interpreter="cpython"
    )


def _walks():
    """Whether any walk's records differ from those of the unchanged firmware."""
    return any(
        one != other
        for number, before in enumerate(_baseline["walks"])
        for one, other in zip(mutantwalk.sums(number), before, strict=True)
    )
