"""Constants put in place when the firmware is compiled: the same meaning, and nothing asked for that is gone."""

import ast
import json
import re
import struct
import subprocess
import sys

import pytest
from potreeve_tools.image import compiled, constants, worked
from potreeve_tools.rehearsal.engines import FIRMWARE, STANDINS
from potreeve_tools.terminal.faultlist import BadInput

TOOLS = STANDINS.parent
PACKED = struct.pack("<20H", *range(1000, 1020))
# Where programs begin that run beside compiled firmware: in place of a board, and on one.
STARTS = ["unix_start", "wasm_start", "weigh_start", "weighed", "stubchip"]
ON_BOARDS = [*(TOOLS / "link" / "device").glob("*.py"), *(TOOLS / "virtual" / "device").glob("*.py")]


@pytest.fixture
def tree(tmp_path):
    """tree(logic name=source, ...) -> a firmware folder of those modules in potreeve/logic, and an empty app."""

    def make(**sources):
        logic = tmp_path / "potreeve" / "logic"
        logic.mkdir(parents=True, exist_ok=True)
        (tmp_path / "potreeve" / "app.py").write_text("")
        for name, source in sources.items():
            (logic / f"{name}.py").write_text(source)
        return tmp_path

    return make


def put(firmware, name):
    return constants.in_place(firmware, f"potreeve/logic/{name}.py").strip()


def test_a_number_takes_the_place_of_its_name(tree):
    firmware = tree(
        one="from potreeve.logic.units import const\nA = 3\n_B = const(A * 2)\nC, D = (0, -7)\nE = 1 << _B | A",
        two="from potreeve.logic import one\nfrom potreeve.logic.one import A as first\nF = one.E\nx = [first, one.D, "
        "F]",
    )
    assert constants.of(str(firmware))["potreeve.logic.one", "E"] == 67
    assert put(firmware, "two") == "x = [3, -7, 67]"
    assert put(firmware, "one") == ""


@pytest.mark.parametrize(
    "source",
    [
        "A = 1\nA = 2\nx = A",
        "A = 1\n\ndef f(A):\n    return A",
        "A = 1\n\ndef f():\n    global A\n    A = 2",
        "A = 1\n\ndef f():\n    for A in (2, 3):\n        pass\n    return A",
        "A = 1\nfrom time import A\nx = A",
        "A = 1\n\ndef A():\n    pass\nx = A",
        "A = True\nx = A",
        "A = max('abc')\nx = A",
        "A = [1, 2]\nx = A",
        "A = {'a': 1}\nx = A",
        "A = 1 // 0\nx = A",
        "A = 'text'\nx = [A, A]",
        "A = (1, 2)\nx = [A, A]",
        "class B:\n    A = 1\nx = B.A",
    ],
)
def test_what_is_no_constant_stays(tree, source):
    assert put(tree(one=source), "one") == source


@pytest.mark.parametrize(
    "source, made",
    [
        ("A = 'text'\nx = A", "x = 'text'"),
        ("A = (1, 'b', b'c')\n\ndef f():\n    return A", "def f():\n    return (1, 'b', b'c')"),
        ("A = 'eleven' + '%d' % 3\nB = len(A)\nx = [A, A, B]", "A = 'eleven3'\nx = [A, A, 7]"),
        ("import struct\nA = struct.calcsize('<HI')\nx = A", "import struct\nx = 6"),
        ("A, B = columns('one H two I')\nx = [A, A, B]", "A = 'one two'.split()\nx = [A, A, 'HI']"),
        ("A, B = columns('one H two I')\nx = A", "x = 'one two'.split()"),
        ("def columns(text):\n    return text\nA, B = columns('one H')\nx = B", "x = 'H'"),
        (f"A = {tuple(range(1000, 1020))}\nx = A", f"from struct import unpack\nA = unpack('<20H', {PACKED!r})\nx = A"),
    ],
)
def test_texts_and_tables(tree, source, made):
    assert put(tree(one=source), "one") == made


@pytest.mark.parametrize(
    "value", [tuple(range(0, 65536, 4000)), tuple((number, number // 3) for number in range(10000, 10020))]
)
def test_a_table_packed_is_the_same_table(tree, value):
    made = put(tree(one=f"A = {value}"), "one")
    assert made == ""
    made = put(tree(one=f"A = {value}\nx = [A, A]"), "one")
    space = {}
    exec(made, space)
    assert "unpack" in made and space["A"] == value and type(space["A"]) is type(space["A"][0:1]) is tuple


@pytest.mark.parametrize("value", [(0,) * 20, tuple(range(-20, 0)), (70000,) * 20, (1, 2, 3), ((1, 2), (3, 4))])
def test_a_table_that_gains_nothing_or_does_not_fit_is_not_packed(tree, value):
    assert put(tree(one=f"A = {value}\nx = [A, A]"), "one") == f"A = {value}\nx = [A, A]"


def test_no_board_is_sent_the_units_of_settings(tree):
    """They are for people; nothing in the firmware reads that part of a row."""
    rows = "(('a_ml', 'int', 'ml', LOW, 9, 3), ('b', 'int', 'um', 0, 1, None))"
    source = f"LOW = 2\nA_KEYS = {rows}\nB = {rows}\nfor key, kind, _, low, high, default in A_KEYS:\n    print(key, B)"
    made = put(tree(one=source), "one").splitlines()
    assert made[0] == "A_KEYS = (('a_ml', 'int', 2, 9, 3), ('b', 'int', 0, 1, None))"
    assert made[1] == "B = (('a_ml', 'int', 'ml', 2, 9, 3), ('b', 'int', 'um', 0, 1, None))"
    assert made[2] == "for key, kind, low, high, default in A_KEYS:"


WITH_ALL_TABLES = """
import json, sys
from potreeve.logic import extra_keys, radio_keys, settings, tub_keys
pot = {"name": "mint", "pot_ml": 1200, "holds_ml": 500}
data = {"tray_headroom_ml": 1500, "tray_area_cm2": 900, "channels": [pot, dict(pot, holds_ml=0, lid=1)]}
data["radio"] = {"wifi_ssid": "sill", "broker_host": "192.168.1.20", "broker_user": "sill"}
data["tray_sensor"] = {"wet_pm": 901, "reach_ml": 80}
data["tub"] = {"mark1_ml": 500, "full_ml": 8000}
bad = settings.check(data)
data["channels"].pop()
data["tray_sensor"].pop("wet_pm")
good = settings.check(data)
tables = [settings.RIG_KEYS, settings.CHANNEL_KEYS, radio_keys.KEYS, *extra_keys.TABLES.values()]
print(json.dumps([bad, good, sorted(map(str, (len(row) for table in tables for row in table)))]))
"""


def test_settings_are_judged_the_same_without_units(tmp_path):
    for name in compiled.modules(FIRMWARE):
        place = tmp_path / name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(constants.in_place(FIRMWARE, name))
    sent, whole = (
        json.loads(
            subprocess.run(
                [sys.executable, "-c", WITH_ALL_TABLES],
                env={"PYTHONPATH": str(folder)},
                capture_output=True,
                check=True,
                text=True,
            ).stdout
        )
        for folder in (tmp_path, FIRMWARE)
    )
    assert sent[:2] == whole[:2] and len(whole[0][1]) == 3 and whole[1][1] == [] and "tub" in whole[1][0]
    assert set(sent[2]) == {"5"} and set(whole[2]) == {"6"}


def test_what_another_module_sets_stays(tree):
    assert put(tree(one="A = 1\nx = A", two="from potreeve.logic import one\none.A = 2"), "one") == "A = 1\nx = A"


@pytest.mark.parametrize("other", ["def f(A):\n    return A", "def f():\n    for A in (2, 3):\n        print(A)"])
def test_what_a_module_imports_and_shadows_stays(tree, other):
    firmware = tree(one="A = 1\nx = A", two=f"from potreeve.logic.one import A\n\n{other}")
    assert put(firmware, "one") == "A = 1\nx = A"
    assert put(firmware, "two") == f"from potreeve.logic.one import A\n\n{other}"


def test_nothing_left_asks_for_what_is_gone():
    known = constants.of(str(FIRMWARE))
    for name in compiled.modules(FIRMWARE):
        for node in ast.walk(ast.parse(constants.in_place(FIRMWARE, name))):
            if isinstance(node, ast.Import):
                # By its full name a module's constants would be asked for unseen.
                assert not any(alias.name.startswith("potreeve") for alias in node.names), name
            if isinstance(node, ast.ImportFrom):
                assert not any((node.module, alias.name) in known or alias.name == "*" for alias in node.names), name


def test_what_a_module_imports_may_be_asked_of_it(tree):
    firmware = tree(
        one="A = 1", two="from potreeve.logic.one import A", three="from potreeve.logic import two\nx = two.A"
    )
    assert put(firmware, "three") == "x = 1"


def test_every_module_has_what_the_others_ask_of_it():
    made = {worked.module(name): ast.parse(constants.in_place(FIRMWARE, name)) for name in compiled.modules(FIRMWARE)}
    holds = {module: set(tops(tree)) for module, tree in made.items()}
    asked = 0
    for module, tree in made.items():
        modules = {}
        # Of a name that stands for something else, too, nobody can say here whose it is.
        own = {node.arg for node in ast.walk(tree) if isinstance(node, ast.arg)}
        own |= {node.id for node in ast.walk(tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module in made:
                for alias in node.names:
                    modules[alias.asname or alias.name] = f"{node.module}.{alias.name}"
                    assert alias.name in holds[node.module] or f"{node.module}.{alias.name}" in made, (
                        module,
                        alias.name,
                    )
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                other = modules.get(node.value.id)
                if other in made and node.value.id not in own and isinstance(node.ctx, ast.Load):
                    asked += 1
                    assert node.attr in holds[other], (module, other, node.attr)
    assert asked > 300


def tops(tree):
    """Names that a module holds: given, defined or imported at its top."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.name
        elif isinstance(node, ast.ImportFrom | ast.Import):
            yield from (alias.asname or alias.name for alias in node.names)
        else:
            yield from (one.id for one in ast.walk(node) if isinstance(one, ast.Name))


def test_a_name_of_another_module_is_not_taken_for_a_constant(tree):
    firmware = tree(one="A = 1", two="from time import A\nimport one\nx = [A, one.A]")
    assert put(firmware, "two") == "from time import A\nimport one\nx = [A, one.A]"


def test_a_module_still_named_stays_imported(tree):
    firmware = tree(one="A = 1\n\ndef f():\n    return A", two="from potreeve.logic import one\nx = one.f() + one.A")
    assert put(firmware, "two") == "from potreeve.logic import one\nx = one.f() + 1"
    assert put(firmware, "one") == "def f():\n    return 1"


def test_a_change_is_seen(tree):
    firmware = tree(one="A = 1", two="from potreeve.logic.one import A\nx = A")
    assert put(firmware, "two") == "x = 1"
    tree(one="A = 12")
    assert put(firmware, "two") == "x = 12"


def test_a_module_that_is_no_python_is_told(tree):
    with pytest.raises(BadInput, match="one.py: does not compile"):
        compiled.compile_module(tree(one="def"), "potreeve/logic/one.py")


def test_the_values_are_those_the_sources_give():
    """Against what Python itself makes of the modules that a desktop can load."""
    import importlib

    known = constants.of(str(FIRMWARE))
    seen = [
        (module, name, number == getattr(importlib.import_module(module), name))
        for (module, name), number in known.items()
        if module.startswith("potreeve.logic.")
    ]
    assert len(seen) > 200
    assert [row for row in seen if not row[2]] == []


def beside():
    """Every file that runs beside compiled firmware: the starts, and what they import from their folder."""
    found, names = list(ON_BOARDS), list(STARTS)
    while names:
        path = STANDINS / f"{names.pop()}.py"
        if path.exists() and path not in found:
            found.append(path)
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Import):
                    names += [alias.name for alias in node.names]
                elif isinstance(node, ast.ImportFrom):
                    names.append(node.module)
    return found


def test_nothing_beside_compiled_firmware_asks_for_a_constant():
    known = constants.of(str(FIRMWARE))
    asked = set()
    files = beside()
    assert {"start.py", "simhal.py", "look.py"} <= {path.name for path in files}
    for path in files:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        modules = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom):
                asked |= {(node.module, alias.name) for alias in node.names}
                modules |= {alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names}
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                asked.add((modules.get(node.value.id), node.attr))
    # And programs in texts.
    nodes = [node for path in (TOOLS / "link").rglob("*.py") for node in ast.walk(ast.parse(path.read_text("utf-8")))]
    texts = [node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    for module, names in re.findall(r"from (potreeve[.\w]*) import ([\w, ]+)", "\n".join(texts)):
        asked |= {(module, name.strip()) for name in names.split(",")}
    assert constants.ASKED_FOR <= asked
    assert asked & set(known) <= constants.ASKED_FOR
