"""The vectors of every logic module, in CPython and in 64- and 32-bit MicroPython, byte for byte.

Sensors of air and light have their own (test_sensor_vectors.py).
"""

import importlib
import io
import os
import shutil
import subprocess
import sys
from contextlib import redirect_stdout
from pathlib import Path

import pytest
from potreeve_tools.link import selftest_vectors
from potreeve_tools.rehearsal import wasm
from vectors import ANY

sys.path.append(str(selftest_vectors.TEXT.parent))
import vector_runner  # noqa: E402

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE.parents[1] / "firmware"
NAMES = sorted(path.stem for path in (HERE / "vectors").glob("*.py") if path.stem not in ("__init__", "made"))
ELSEWHERE = {"air", "light", "sht4x", "htu21d", "diode", "ds18b20", "__init__"}
ONLY_NAMES = {"reasons", "errors", "settings_help"}

# The collector of the 32-bit build is off (it does not see what WebAssembly keeps in
# locals), so one instance runs few vectors: the walks of whole wakes come one by one, single wakes a few at a time.
WALKS = 3
WAKES = 20
# Rigs that remember extras take more room, too.
RIGS = 30
CODE_32 = """
import gc
gc.disable()
import sys
sys.path.append("/input/firmware")
sys.path.append("/input/tests")
import vector_runner
vector_runner.run(%r, %d, %d)
"""


def vectors_of(name):
    return importlib.import_module("vectors." + name).VECTORS


@pytest.fixture(scope="module")
def here():
    """What this Python prints, per module."""
    told = {}
    for name in NAMES:
        out = io.StringIO()
        with redirect_stdout(out):
            vector_runner.run([name])
        told[name] = out.getvalue()
    return told


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The sources as the 32-bit guest sees them."""
    root = tmp_path_factory.mktemp("vectors")
    for source, name in (
        (FIRMWARE / "potreeve" / "logic", "firmware/potreeve/logic"),
        (HERE / "vectors", "tests/vectors"),
    ):
        shutil.copytree(source, root / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(FIRMWARE / "potreeve" / "__init__.py", root / "firmware/potreeve")
    for path in (HERE / "vector_runner.py", selftest_vectors.TEXT):
        shutil.copy(path, root / "tests")
    return root


def test_every_module_that_decides_has_vectors():
    modules = {path.stem for path in (FIRMWARE / "potreeve" / "logic").glob("*.py")}
    assert modules - ELSEWHERE - ONLY_NAMES <= set(NAMES)
    assert set(NAMES) <= modules


@pytest.mark.parametrize("name", NAMES)
def test_every_public_function_has_vectors(name):
    module = importlib.import_module("potreeve.logic." + name)
    vectors = (HERE / "vectors" / f"{name}.py").read_text()
    public = [
        key
        for key, value in vars(module).items()
        if callable(value)
        and not key.startswith("_")
        and not isinstance(value, type)
        and value.__module__ == module.__name__
    ]
    assert public
    missing = [key for key in public if f'("{key}"' not in vectors and f"{name}.{key}(" not in vectors]
    assert missing == []


@pytest.mark.parametrize("name", NAMES)
def test_expected_values(name):
    results = vector_runner.results(name)
    vectors = vectors_of(name)
    assert len(results) == len(vectors)
    wrong = [
        f"{name} {number} {function}{arguments} = {text} instead of {vector_runner.text_of(expected)}"
        for (number, function, text), (_, arguments, expected) in zip(results, vectors)
        if expected != ANY and text != vector_runner.text_of(expected)
    ]
    assert wrong == []


def test_in_64_bit_micropython(here):
    code = f"import vector_runner; vector_runner.run({NAMES!r})"
    done = subprocess.run(
        [Path(sys.executable).with_name("micropython"), "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "MICROPYPATH": f"{HERE}:{selftest_vectors.TEXT.parent}:{FIRMWARE}"},
        check=False,
    )
    assert done.stderr == ""
    assert done.stdout == "".join(here[name] for name in NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_in_32_bit_micropython(name, here, folder):
    parts = [(0, 100000)]
    if name == "cycle":
        parts = [(first, first + 1) for first in range(WALKS)]
        parts += [(first, first + WAKES) for first in range(WALKS, len(vectors_of(name)), WAKES)]
    elif name in ("wet", "tub_guard"):
        parts = [(first, first + RIGS) for first in range(0, len(vectors_of(name)), RIGS)]
    text = ""
    for first, last in parts:
        text += wasm.run_code(CODE_32 % ([name], first, last), lambda text: "", folder)[0]
    assert text == here[name]


def test_the_walks_meet_what_they_should():
    """A walk that never doses, rations or holds would compare nothing."""
    import vectors.cycle as cycle

    met = [cycle.walk(*arguments) for function, arguments, _ in cycle.VECTORS if function == "walk"]
    assert all(pulses > 0 for _, _, pulses, _, _ in met)
    assert all(sum(rungs[rung] for _, _, _, rungs, _ in met) > 0 for rung in range(3))
    # Their clock runs through the end of 31-bit integers.
    assert all(up_s > 1 << 30 for *_, up_s in met)
