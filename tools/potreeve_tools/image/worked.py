"""What the firmware's constants stand for, worked out from its sources alone.

Whole numbers, texts and tuples of such; what adds, shifts and divides them; `struct.calcsize`, `len`, `state.columns`.
A constant is a name in capitals at the top of a module, given once and set by nobody else.
"""

import ast
import operator
import struct
from collections import Counter
from functools import cache, lru_cache
from pathlib import Path

PACKAGE = "potreeve"


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


# A row of a table of settings (settings.py), and where its unit stands.
ROW_PARTS, UNIT_AT = 6, 2


def parsed(text):
    """A module's tree, without the units in its tables of settings: they are for people to read."""
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "").endswith(("KEYS", "TABLES")):
            for row in ast.walk(node.value):
                if isinstance(row, ast.Tuple) and len(row.elts) == ROW_PARTS and isinstance(row.elts[0], ast.Constant):
                    del row.elts[UNIT_AT]
        elif isinstance(node, ast.For) and isinstance(node.target, ast.Tuple) and len(node.target.elts) == ROW_PARTS:
            if getattr(node.target.elts[UNIT_AT], "id", "") == "_":
                del node.target.elts[UNIT_AT]
    return tree


def _files(firmware):
    return sorted((Path(firmware) / PACKAGE).rglob("*.py"))


def state(firmware):
    """What must not have changed for what is known of a firmware folder to hold."""
    return tuple((path, path.stat().st_mtime_ns, path.stat().st_size) for path in _files(firmware))


class Looked:
    """What the text of a module says, looked through once; the same for every firmware folder that holds it.

    tree: not to be changed; imports: [(module, name there, name here)]; given: how often it gives each name a value;
    set_late: attributes that it sets; definitions: see _definitions; named: per statement, what it reads, see _named.
    """

    def __init__(self, text):
        self.tree = parsed(text)
        nodes = list(ast.walk(self.tree))
        froms = [node for node in nodes if isinstance(node, ast.ImportFrom)]
        self.imports = [(node.module, one.name, one.asname or one.name) for node in froms for one in node.names]
        self.given = _given(nodes)
        self.set_late = {
            node.attr for node in nodes if isinstance(node, ast.Attribute) and not isinstance(node.ctx, ast.Load)
        }
        self.definitions = list(_definitions(self.tree))
        self.named = [list(_named(statement)) for statement in self.tree.body]
        imported = Counter(node.asname or node.name for node in nodes if isinstance(node, ast.alias))
        # Imported under a name that stands for something else, too.
        self.shadowed = {(whole, name) for whole, name, here in self.imports if self.given[here] > imported[here]}


looked = lru_cache(512)(Looked)


@cache
def worked_out(firmware, _state):
    """({(module, name): value} of all that can be worked out, {name: Looked} of all modules)."""
    known, waiting = {}, {}
    for path in _files(firmware):
        waiting[path.relative_to(firmware).as_posix()] = looked(path.read_text(encoding="utf-8"))
    # What some module sets in another is no constant.
    set_late = set().union(*(one.set_late for one in waiting.values()))
    before = None
    while before != len(known):
        before = len(known)
        for name, one in waiting.items():
            names, modules = meant(one.imports, name, known)
            for target, expression in one.definitions:
                value = _tried(expression, names, modules, known)
                if value is not None and one.given[target] == 1 and target not in set_late:
                    names[target] = module(name), target
                    known[names[target]] = value
            # Under what a module imports others may ask for it, too.
            for here, key in list(names.items()):
                if key in known and one.given[here] == 1:
                    known[module(name), here] = known[key]
    for one in waiting.values():
        for key in one.shadowed:
            known.pop(key, None)
    return known, waiting


def module(name):
    """A module's dotted name. name: its path below the firmware folder."""
    return name[:-3].removesuffix("/__init__").replace("/", ".")


def _is_constant(name):
    return name.isupper()


def _definitions(tree):
    """(name, expression) of each `NAME = ...`, `A, B = 0, 1` and `A, B = columns(...)` at the top of a module."""
    for statement in tree.body:
        if isinstance(statement, ast.Assign) and len(statement.targets) == 1:
            target, value = statement.targets[0], statement.value
            if isinstance(target, ast.Name) and _is_constant(target.id):
                yield target.id, value
            elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
                for one, part in zip(target.elts, value.elts, strict=True):
                    if isinstance(one, ast.Name) and _is_constant(one.id):
                        yield one.id, part
            elif isinstance(target, ast.Tuple) and isinstance(value, ast.Call):
                for index, one in enumerate(target.elts):
                    if isinstance(one, ast.Name) and _is_constant(one.id):
                        yield one.id, ast.Subscript(value, ast.Constant(index))


def _given(nodes):
    """How often each name is given a value: by statement, argument, import, function, class or handler."""
    given = Counter()
    for node in nodes:
        if isinstance(node, ast.Name) and not isinstance(node.ctx, ast.Load):
            given[node.id] += 1
        elif isinstance(node, ast.arg):
            given[node.arg] += 1
        elif isinstance(node, ast.alias):
            given[node.asname or node.name] += 1
        elif isinstance(node, ast.FunctionDef | ast.ClassDef | ast.ExceptHandler):
            given[node.name] += 1
    return given


def _named(statement):
    """What a statement reads: names, and (name, attribute)."""
    for node in ast.walk(statement):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            yield node.value.id, node.attr


def _tried(*asked):
    try:
        return _value(*asked)
    except (TypeError, ValueError, ArithmeticError, LookupError, struct.error):
        # Wrong, or no constant after all: the interpreter says it in its own words.
        return None


def _value(node, names, modules, known):
    """What an expression stands for: a whole number, text, bytes, a tuple or list of such; None where that can't be
    told."""
    told = lambda part: _value(part, names, modules, known)
    if isinstance(node, ast.Constant):
        return node.value if type(node.value) in (int, str, bytes) else None
    if isinstance(node, ast.Name):
        return known.get(names.get(node.id))
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        return known.get((modules.get(node.value.id), node.attr))
    if isinstance(node, ast.Call) and not node.keywords and len(node.args) == 1:
        work = CALLS.get(ast.unparse(node.func).rpartition(".")[2])
        value = told(node.args[0])
        return None if work is None or value is None else work(value)
    if isinstance(node, ast.Tuple):
        parts = tuple(told(part) for part in node.elts)
        return None if None in parts else parts
    if isinstance(node, ast.Subscript):
        value, index = told(node.value), told(node.slice)
        return None if value is None or index is None else value[index]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        value = told(node.operand)
        return None if value is None else -value
    if isinstance(node, ast.BinOp) and type(node.op) in _WORKED:
        left, right = told(node.left), told(node.right)
        return None if left is None or right is None else _WORKED[type(node.op)](left, right)
    return None


def _columns(text):
    words = text.split()
    return words[::2], "".join(words[1::2])


CALLS = {"const": lambda value: value, "len": len, "calcsize": struct.calcsize, "columns": _columns}


def meant(imports, name, known):
    """({name: (module, name)}, {name: module}): what names of a module stand for, its own and those it imports."""
    own = module(name)
    names = {here: (whole, there) for whole, there, here in imports if (whole, there) in known}
    names.update({key: (of, key) for of, key in known if of == own})
    return names, {here: f"{whole}.{there}" for whole, there, here in imports}
