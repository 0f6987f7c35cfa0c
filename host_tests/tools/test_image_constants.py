"""Constants put in place when the firmware is compiled: the same meaning, and nothing asked for that is gone."""

import ast

import pytest
from potreeve_tools.image import compiled, constants
from potreeve_tools.rehearsal.engines import FIRMWARE, STANDINS
from potreeve_tools.terminal.faultlist import BadInput

TOOLS = STANDINS.parent
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
        "A = len('abc')\nx = A",
        "A = 'text'\nx = A",
        "class B:\n    A = 1\nx = B.A",
    ],
)
def test_what_is_no_constant_stays(tree, source):
    assert put(tree(one=source), "one") == source


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


def test_the_numbers_are_those_the_sources_give():
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
    assert asked & set(known) == set()
