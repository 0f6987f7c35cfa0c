"""What is shortened when the firmware is compiled: names alone, and none that somebody outside asks for."""

import ast
import re

import pytest
from potreeve_tools.image import compiled, privates, shorter
from potreeve_tools.link import faults
from potreeve_tools.rehearsal.engines import FIRMWARE, STANDINS

TOOLS = STANDINS.parent
# Whatever sends a board a program, or runs one beside its firmware.
ASKING = [
    *STANDINS.rglob("*.py"),
    *(TOOLS / "link").rglob("*.py"),
    *(TOOLS / "virtual" / "device").rglob("*.py"),
    *(FIRMWARE.parent / "host_tests" / "logic").rglob("vectors*.py"),
    *(FIRMWARE.parent / "host_tests" / "logic" / "vectors").rglob("*.py"),
]


@pytest.fixture
def short(tmp_path):
    """short(source, {path: source of another module}) -> the module potreeve/logic/one.py, shortened."""

    def make(source, **others):
        logic = tmp_path / "potreeve" / "logic"
        logic.mkdir(parents=True, exist_ok=True)
        for name, text in {"one": source, **others}.items():
            (logic / f"{name}.py").write_text(text)
        return shorter.in_source(source, tmp_path, "potreeve/logic/one.py").strip()

    return make


@pytest.mark.parametrize(
    "source, made",
    [
        ("from potreeve.logic.units import clamp", "from .units import clamp"),
        ("from potreeve.logic import units", "from . import units"),
        ("from potreeve.hal.parts import read_mv", "from ..hal.parts import read_mv"),
        ("from potreeve import keep", "from .. import keep"),
        ("from potreeve_tools import keep", "from potreeve_tools import keep"),
        ("from time import time", "from time import time"),
        ("import potreeve.logic", "import potreeve.logic"),
    ],
)
def test_imports_begin_at_the_module(short, source, made):
    assert short(source) == made


@pytest.mark.parametrize(
    "name, made",
    [
        ("potreeve/app.py", "from .logic.units import clamp"),
        ("potreeve/hal/__init__.py", "from ..logic.units import clamp"),
        ("potreeve/logic/__init__.py", "from .units import clamp"),
    ],
)
def test_imports_begin_at_the_package_that_holds_the_module(tmp_path, name, made):
    assert shorter.in_source("from potreeve.logic.units import clamp", tmp_path, name).strip() == made


@pytest.mark.parametrize(
    "source, made",
    [
        ("def f(value, low=0, *rest):\n    return value + low", "def f(a, b=0, *c):\n    return a + b"),
        (
            "def f(value):\n    value += 1\n    return [value for _ in value]",
            "def f(a):\n    a += 1\n    return [a for _ in a]",
        ),
        # A letter that stands for something else within is left alone.
        ("def f(value):\n    a = b\n    return value", "def f(c):\n    a = b\n    return c"),
        ("def f(value):\n    return lambda other: value + other", "def f(a):\n    return lambda b: a + b"),
        # What is inside a default belongs to the scope around it.
        (
            "def f(value):\n    def g(x=value):\n        return x\n    return g",
            "def f(a):\n\n    def g(b=a):\n        return b\n    return g",
        ),
        # What a scope within gives another meaning stays.
        (
            "def f(value):\n    return [value for value in value]",
            "def f(value):\n    return [value for value in value]",
        ),
        ("def f(value):\n    return lambda value: value", "def f(value):\n    return lambda a: a"),
        (
            "def f(value):\n    from time import value\n    return value",
            "def f(value):\n    from time import value\n    return value",
        ),
        # Given by name.
        ("def f(value):\n    return value\nf(value=1)", "def f(value):\n    return value\nf(value=1)"),
        ("def f(*, value):\n    return value", "def f(*, value):\n    return value"),
        ("def f(value):\n    return value.value['value']", "def f(a):\n    return a.value['value']"),
    ],
)
def test_arguments_are_letters(short, source, made):
    assert short(source) == made


def test_an_argument_that_another_module_gives_by_name_stays(short):
    assert short("def f(value):\n    return value", two="from potreeve.logic.one import f\nf(value=1)").startswith(
        "def f(value)"
    )


def test_private_names_after_a_dot_are_short_and_the_same_everywhere(short, tmp_path):
    one = "class A:\n    _most = 3\n\n    def _go_on(self):\n        return self._most"
    two = (
        "from potreeve.logic.one import A\n\nclass B(A):\n    def go(self):\n        return self._go_on() + self._most"
    )
    made = short(one, two=two)
    assert made == "class A:\n    _mo = 3\n\n    def _go(a):\n        return a._mo"
    assert "a._go() + a._mo" in shorter.in_source(two, tmp_path, "potreeve/logic/two.py")


@pytest.mark.parametrize("source", ["global_ = 1\n__all__ = global_", "_try = 1\n_ = _try", "x = '_private'"])
def test_what_is_not_private_stays(short, source):
    assert short(source) == source


def test_what_a_module_has_for_itself_is_called_alike_in_all(short, tmp_path):
    one = "def _go():\n    return _most\n_most = 3"
    assert short(one, two="def _stay():\n    return 1\n_stay()") == "def _a():\n    return _b\n_b = 3"
    assert shorter.in_source("def _stay():\n    return 1", tmp_path, "potreeve/logic/two.py").startswith("def _a()")


@pytest.mark.parametrize(
    "other", ["from potreeve.logic.one import _go", "class A:\n    _go = 1", "def f(one):\n    return one._go"]
)
def test_what_another_module_may_ask_for_is_no_modules_own(short, other):
    made = short("def _go():\n    return 1", two=other)
    assert re.fullmatch(r"def _(go|g|g[a-z])\(\):\n    return 1", made) and "_a" not in made


def test_a_class_that_nobody_inherits_from_is_its_modules_own(short):
    one = "class A:\n    _most = 3\n\n    def _go_on(self):\n        return self._most"
    alone = "class A:\n    _b = 3\n\n    def _a(a):\n        return a._b"
    assert short(one) == short(one, two="class B:\n    pass") == alone
    for two in (
        "from potreeve.logic.one import A\nclass B(A):\n    pass",
        "def f(a):\n    return a._most + a._go_on()",
    ):
        assert "_a" not in short(one, two=two)
    assert "_a" not in short(
        f"from potreeve.logic.two import B\n{one.replace('A:', 'A(B):')}", two="class B:\n    pass"
    )
    # What nobody can be followed by is no inheritance.
    assert "_a(" in short(one.replace("A:", "A(Exception):"))


def test_no_two_names_are_shortened_to_one():
    everywhere, _, own = privates.known(FIRMWARE)
    assert len(everywhere) > 40 and len(set(everywhere.values())) == len(everywhere)
    assert not set(everywhere.values()) & (set(everywhere) - {name for name, one in everywhere.items() if name == one})
    assert set(own) == {path.relative_to(FIRMWARE).as_posix() for path in (FIRMWARE / "potreeve").rglob("*.py")}
    for path, names in own.items():
        text = (FIRMWARE / path).read_text(encoding="utf-8")
        assert len(set(names.values())) == len(names)
        # Nor does a module say a short one by itself, or share it with what is called alike everywhere.
        assert not set(names.values()) & (set(everywhere.values()) | set(re.findall(r"\b_\w+", text)))
    assert sum(map(len, own.values())) > 200


def test_nobody_outside_asks_for_a_private_name_that_goes():
    everywhere, _, own = privates.known(FIRMWARE)
    short = {*everywhere, *(name for names in own.values() for name in names)}
    asked = set()
    for path in ASKING:
        text = path.read_text(encoding="utf-8")
        asked |= {
            (name, path.name)
            for name in re.findall(r"(?<!\bself)(?<!\bcls)(?<=[\w\])])\.(_[a-z]\w*)", text)
            if name in short
        }
    assert asked == set()
    # And no more stays than is asked for.
    every = " ".join(path.read_text(encoding="utf-8") for path in ASKING)
    assert {name for name in privates.ASKED_FOR if f".{name}" not in every} == set()


def test_nobody_outside_gives_an_argument_by_name():
    """A call by name of a function that the firmware defines, outside of it: only for arguments that keep theirs."""
    kept = privates.given_by_name(FIRMWARE)
    defined = {}
    for name in compiled.modules(FIRMWARE):
        for node in ast.walk(ast.parse((FIRMWARE / name).read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                defined.setdefault(node.name, set()).update(arg.arg for arg in node.args.args)
    wrong = set()
    for path in ASKING:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        own = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr not in own:
                given = {keyword.arg for keyword in node.keywords} & defined.get(node.func.attr, set())
                wrong |= {(path.name, node.lineno, name) for name in given - kept}
    assert wrong == set()


def test_a_trace_is_told_in_full(monkeypatch, tmp_path):
    short = {name: privates.private(FIRMWARE, f"potreeve/{name}.py") for name in ("logic/water", "hal/parts", "app")}
    turn, free, read = short["logic/water"]["_whose_turn"], short["hal/parts"]["_free"], short["app"]["_flash"]
    assert free in short["logic/water"].values()
    said = f'Traceback (most recent call last):\n  File "<stdin>", line 1, in {turn}\n'
    trace = said + f'  File "water", line 1, in {turn}\n  File "hal/parts", line 1, in {free}\n'
    trace += f'  File "app", line 1, in {read}\n  File "app", line 1, in wake\nOSError: 5\n'
    told = shorter.in_full(trace, FIRMWARE)
    full = '  File "water", line 1, in _whose_turn\n  File "hal/parts", line 1, in _free\n'
    assert told == said + full + '  File "app", line 1, in _flash\n  File "app", line 1, in wake\nOSError: 5\n'
    monkeypatch.setattr(faults.details, "write_down", lambda kind, text: told_to.append(text))
    told_to = []
    faults.device_fault(trace, "reading")
    assert told in told_to[0]


def test_each_file_has_a_name_of_its_own_in_a_trace():
    names = compiled.modules(FIRMWARE)
    told = {shorter.told_as(name) for name in names}
    assert len(told) == len(names) and {"app", "hal", "hal/tub", "tub", "logic", "potreeve"} <= told


@pytest.mark.parametrize(
    "source, made",
    [
        (
            '"""Words."""\n# More.\nlong = 1\n\n\ndef other(one, two=long):\n    """Words."""\n    return one.it + two',
            "a = 1\ndef d(b, c=a):\n return b.it + c\n",
        ),
        ("kept = 1\nwhy = kept", "kept = 1\na = kept\n"),
        ("a = b\nlong = a", "c = b\nd = c\n"),
        (
            "import time\nfor one in time.time(): print(one, end=one)",
            "import time\nfor a in time.time():\n print(a, end=a)\n",
        ),
        (
            "try:\n    1\nexcept ValueError as fault:\n    print(fault)",
            "try:\n 1\nexcept ValueError as a:\n print(a)\n",
        ),
    ],
)
def test_a_program_by_itself(source, made):
    assert shorter.program(source, ("kept",)) == made
