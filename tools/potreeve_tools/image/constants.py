"""Puts the firmware's constants in place, in every module that names them.

MicroPython's compiler does so within one module, and only for private names. A constant of another module costs a
compiled file its name, an import and two look-ups; and where it is made, a name in the heap. The sources keep their
names.
What a name stands for is worked out from the source alone: whole numbers, and what adds, shifts and divides them.
A compiled module no longer has them: programs that run beside one must not ask for any.
"""

import ast
import operator
from collections import Counter
from functools import cache
from pathlib import Path

PACKAGE = "potreeve"
LOGIC = "potreeve.logic"

_WORKED = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.FloorDiv: operator.floordiv,
    ast.Mod: operator.mod,
    ast.LShift: operator.lshift,
    ast.RShift: operator.rshift,
    ast.BitOr: operator.or_,
    ast.BitAnd: operator.and_,
}


def in_place(firmware, name):
    """Source of a module as the compiler is given it. name: its path below the firmware folder.

    Raises SyntaxError where a module can't be read as Python.
    """
    return in_source((Path(firmware) / name).read_text(encoding="utf-8"), firmware, name)


def in_source(text, firmware, name=""):
    """The same for a program that runs beside the compiled firmware, or for its module `name`."""
    tree = ast.parse(text)
    known = of(str(firmware), tuple((path, path.stat().st_mtime_ns, path.stat().st_size) for path in _files(firmware)))
    names, modules = _meant(tree, name, known)
    tree = _Put(names, modules, known).visit(tree)
    own = _module(name)
    tree.body = [statement for statement in tree.body if not _only_constants(statement, own, known)]
    used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    tree = _Unload(used).visit(tree)
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"


def _files(firmware):
    return sorted((Path(firmware) / PACKAGE).rglob("*.py"))


@cache
def of(firmware, _state=None):
    """{(module, name): number} of all constants below a firmware folder. _state: what must not have changed
    meanwhile."""
    known, waiting = {}, {}
    for path in _files(firmware):
        waiting[path.relative_to(firmware).as_posix()] = ast.parse(path.read_text(encoding="utf-8"))
    nodes = [node for tree in waiting.values() for node in ast.walk(tree)]
    # What some module sets in another is no constant.
    set_late = {node.attr for node in nodes if isinstance(node, ast.Attribute) and not isinstance(node.ctx, ast.Load)}
    before = None
    while before != len(known):
        before = len(known)
        for name, tree in waiting.items():
            names, modules = _meant(tree, name, known)
            given = _given(tree)
            for target, value in _definitions(tree):
                number = _number(value, names, modules, known)
                if number is not None and given[target] == 1 and target not in set_late:
                    known[_module(name), target] = names[target] = number
    for tree in waiting.values():
        for key in _shadowed(tree):
            known.pop(key, None)
    return known


def _module(name):
    return name[:-3].removesuffix("/__init__").replace("/", ".")


def _is_constant(name):
    return name.isupper()


def _definitions(tree):
    """(name, expression) of each `NAME = ...` and `A, B = 0, 1` at the top of a module."""
    for statement in tree.body:
        if isinstance(statement, ast.Assign) and len(statement.targets) == 1:
            target, value = statement.targets[0], statement.value
            if isinstance(target, ast.Name) and _is_constant(target.id):
                yield target.id, value
            elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
                for one, part in zip(target.elts, value.elts, strict=True):
                    if isinstance(one, ast.Name) and _is_constant(one.id):
                        yield one.id, part


def _given(tree, imports=True):
    """How often a module gives each name a value: by statement, argument, import, function, class or handler."""
    given = Counter()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and not isinstance(node.ctx, ast.Load):
            given[node.id] += 1
        elif isinstance(node, ast.arg):
            given[node.arg] += 1
        elif isinstance(node, ast.alias) and imports:
            given[node.asname or node.name] += 1
        elif isinstance(node, ast.FunctionDef | ast.ClassDef | ast.ExceptHandler):
            given[node.name] += 1
    return given


def _shadowed(tree):
    """(module, name) of what a module imports under a name that it gives another value, too."""
    given = _given(tree, imports=False)
    return {
        (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if given[alias.asname or alias.name]
    }


def _number(node, names, modules, known):
    """The whole number an expression stands for, or None."""
    if isinstance(node, ast.Constant):
        return node.value if type(node.value) is int else None
    if isinstance(node, ast.Name):
        return names.get(node.id)
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        return known.get((modules.get(node.value.id), node.attr))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "const":
        return _number(node.args[0], names, modules, known)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        value = _number(node.operand, names, modules, known)
        return None if value is None else -value
    if isinstance(node, ast.BinOp) and type(node.op) in _WORKED:
        left, right = (_number(part, names, modules, known) for part in (node.left, node.right))
        return None if left is None or right is None else _WORKED[type(node.op)](left, right)
    return None


def _meant(tree, name, known):
    """({name: number}, {name: module}): what names of a module stand for, its own and those it imports."""
    own, names, modules = _module(name), {}, {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                here = alias.asname or alias.name
                if (node.module, alias.name) in known:
                    names[here] = known[node.module, alias.name]
                modules[here] = f"{node.module}.{alias.name}"
    names.update({key: number for (module, key), number in known.items() if module == own})
    return names, modules


def _only_constants(statement, own, known):
    """True for a definition that nobody can need: every name in it a known constant."""
    if not isinstance(statement, ast.Assign) or len(statement.targets) != 1:
        return False
    target = statement.targets[0]
    parts = target.elts if isinstance(target, ast.Tuple) else [target]
    return all(isinstance(part, ast.Name) and (own, part.id) in known for part in parts)


class _Put(ast.NodeTransformer):
    """Writes numbers where names of constants are read."""

    def __init__(self, names, modules, known):
        self.names, self.modules, self.known = names, modules, known

    def visit_Name(self, node):
        if isinstance(node.ctx, ast.Load) and node.id in self.names:
            return ast.Constant(self.names[node.id])
        return node

    def visit_Attribute(self, node):
        if isinstance(node.value, ast.Name) and isinstance(node.ctx, ast.Load):
            number = self.known.get((self.modules.get(node.value.id), node.attr))
            if number is not None:
                return ast.Constant(number)
        return self.generic_visit(node)


class _Unload(ast.NodeTransformer):
    """Takes out what is imported from `logic` and no longer named."""

    def __init__(self, used):
        self.used = used

    def visit_ImportFrom(self, node):
        if (node.module or "").startswith(LOGIC):
            node.names = [alias for alias in node.names if (alias.asname or alias.name) in self.used]
        return node if node.names else None
