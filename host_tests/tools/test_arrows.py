"""Imports run one way: each room of the package leans only on rooms below it, nothing leans on the tests, nothing runs
in a circle."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOOLS = ROOT / "tools" / "potreeve_tools"
FIRMWARE = ROOT / "firmware" / "potreeve"

# From the ground up. A room may import from those named before it. Every room may import potreeve.logic.
ROOMS = (
    "standins",
    "terminal",
    "words",
    "plots",
    "image",
    "boards",
    "settings",
    "world",
    "owner",
    "rehearsal",
    "report",
    "mishaps",
    "link",
    "virtual",
    "station",
    "bench",
    "commands",
    "cli",
    "__main__",
    "pictures",
)
RUN_THE_TESTS = {"link/flash/gate.py", "link/flash/quick.py", "bench/mutants.py"}
# Reads them as text, in any commit.
COUNT_THE_TESTS = {"bench/house.py"}


def name_of(path):
    """The dotted name of a module of the package, of the stand-ins (which find one another by bare names), or of the
    firmware."""
    base = FIRMWARE.parent if FIRMWARE in path.parents else TOOLS.parent
    parts = path.relative_to(base).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {name_of(path): path for path in sorted([*TOOLS.rglob("*.py"), *FIRMWARE.rglob("*.py")])}
# Programs that run on a board, or in its place, import their neighbours by bare names.
FLAT = (
    "potreeve_tools.standins.proofs.",
    "potreeve_tools.standins.",
    "potreeve_tools.virtual.device.",
    "potreeve_tools.link.device.",
)


def imports(name, source):
    """[(line, full name of the module, or name within a module)] of all imports, those in functions included."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = name.split(".")[: -node.level] if MODULES[name].stem != "__init__" else name.split(".")
                base = ".".join([*above, *([node.module] if node.module else [])])
            found += [(node.lineno, f"{base}.{alias.name}") for alias in node.names]
    return [(line, target_of(name, to)) for line, to in found]


def target_of(name, to):
    """The module that is meant: of this repository by its full name, any other as it stands."""
    for flat in FLAT:
        for place in dict.fromkeys((flat, *FLAT)):
            if name.startswith(flat) and f"{place}{to.split('.')[0]}" in MODULES:
                return f"{place}{to.split('.')[0]}"
    return next((one for one in (to, to.rpartition(".")[0]) if one in MODULES), to)


def room_of(name):
    return name.split(".")[1] if name.startswith("potreeve_tools.") else None


def upward(name, to):
    """True for an import of a room that is not below, or of the tests."""
    here, there = room_of(name), room_of(to)
    if to.split(".")[0] in ("host_tests", "conftest"):
        return True
    return there is not None and (here is None or here != there and ROOMS.index(there) > ROOMS.index(here))


def circles(graph):
    """The modules that can be reached from themselves."""

    def reach(start):
        seen, left = set(), list(graph.get(start, ()))
        while left:
            one = left.pop()
            if one not in seen:
                seen.add(one)
                left += graph.get(one, ())
        return seen

    return sorted(name for name in graph if name in reach(name))


def test_every_room_has_its_place():
    assert {room_of(name) for name in MODULES if room_of(name)} == set(ROOMS)


@pytest.mark.parametrize("name", MODULES)
def test_imports_run_downward(name):
    found = imports(name, MODULES[name].read_text())
    assert [f"line {line}: {to}" for line, to in found if upward(name, to)] == []


def test_nothing_runs_in_a_circle():
    graph = {}
    for name, path in MODULES.items():
        graph[name] = {to for _, to in imports(name, path.read_text()) if to in MODULES and to != name}
    # hal switches the pumps off before it loads its drivers, one of which switches them off in the same way.
    assert "potreeve.hal" in graph["potreeve.hal.pumps"]
    graph["potreeve.hal"] = set()
    assert circles(graph) == []


def test_only_what_runs_the_tests_knows_where_they_are():
    knows = set()
    for name, path in MODULES.items():
        if room_of(name):
            tree = ast.parse(path.read_text())
            told = {id(node.body[0].value) for node in ast.walk(tree) if ast_docstring(node)}
            texts = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
            if any("host_tests" in node.value for node in texts if id(node) not in told):
                knows.add(str(path.relative_to(TOOLS)))
    assert knows == RUN_THE_TESTS | COUNT_THE_TESTS


def test_nothing_else_imports_a_module_of_the_tests():
    of_tests = {path.stem for path in (ROOT / "host_tests").rglob("*.py")} - {"__init__"}
    found = set()
    for name, path in MODULES.items():
        # On a board, and where one is stood in for, `machine` is MicroPython's.
        if room_of(name) and not name.startswith(FLAT):
            found |= {str(path.relative_to(TOOLS)) for _, to in imports(name, path.read_text()) if to in of_tests}
    assert found <= RUN_THE_TESTS, found


def ast_docstring(node):
    return isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)) and ast.get_docstring(node) is not None


def test_the_arrows_can_fail():
    assert upward("potreeve_tools.world.pot", "potreeve_tools.link.port")
    assert upward("potreeve_tools.link.port", "host_tests.link.made")
    assert upward("potreeve.app", "potreeve_tools.world.pot")
    assert not upward("potreeve_tools.link.port", "potreeve_tools.world.pot")
    assert not upward("potreeve_tools.link.port", "potreeve_tools.link.find")
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == ["a", "b", "c"]
    assert circles({"a": {"b", "c"}, "b": {"c"}, "c": set()}) == []
    line = "from . import port\nfrom ..world import pot\ndef f():\n    from potreeve.logic.limits import caps\n"
    names = [to for _, to in imports("potreeve_tools.link.find", line)]
    assert names == ["potreeve_tools.link.port", "potreeve_tools.world.pot", "potreeve.logic.limits"]
    assert imports("potreeve_tools.standins.proofs.cuts", "import flash\n") == [(1, "potreeve_tools.standins.flash")]
