"""Puts the firmware's constants in place, in every module that names them.

MicroPython's compiler does so within one module, and only for private names. A constant of another module costs a
compiled file its name, an import and two look-ups; and where it is made, a name in the heap. The sources keep their
names.
What a name stands for is worked out from the sources alone (worked.py). A number stands wherever it is named;
a text, a tuple or a table's names only where nobody else names them, else their definition is written out.
A compiled module no longer has what is put in place: programs that run beside one must not ask for any.
"""

import ast
import struct
from collections import Counter
from functools import cache
from pathlib import Path

from potreeve_tools.image import worked

LOGIC = "potreeve.logic"

ASKED_FOR = {("potreeve", "VERSION"), ("potreeve.logic.record", "RECORD_BYTES"), ("potreeve.logic.segments", "PREFIX")}
"""What programs on a board, or beside its firmware, ask for: it stays where it is made, too."""

# What unpacking a table takes, in bytes, beside two for each number; a number written out takes two and its digits.
UNPACKS_BYTES = 30


def in_place(firmware, name):
    """Source of a module as the compiler is given it. name: its path below the firmware folder.

    Raises SyntaxError where a module can't be read as Python.
    """
    return in_source((Path(firmware) / name).read_text(encoding="utf-8"), firmware, name)


def in_source(text, firmware, name=""):
    """The same for a program that runs beside the compiled firmware, or for its module `name`."""
    tree = worked.parsed(text)
    own, state = worked.module(name), worked.state(firmware)
    known = of(str(firmware), state)
    tree = _Put(*worked.meant(worked.looked(text).imports, name, known), known).visit(tree)
    _write_out(tree, own, worked.worked_out(str(firmware), state)[0], known)
    used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    tree = _Unload(used, known).visit(tree)
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"


@cache
def of(firmware, _state=None):
    """{(module, name): value} of what is put in place below a firmware folder: numbers, and what is named once or
    never. _state: what must not have changed meanwhile."""
    known, modules = worked.worked_out(firmware, _state)
    named = Counter()
    for name, one in modules.items():
        names, imported = worked.meant(one.imports, name, known)
        for statement, reads in zip(one.tree.body, one.named, strict=True):
            if not _only_constants(statement, worked.module(name), known):
                named.update(
                    names.get(read) if isinstance(read, str) else (imported.get(read[0]), read[1]) for read in reads
                )
    return {key: value for key, value in known.items() if _is_put(value, named[key])}


def _is_put(value, times):
    """Whether a value takes the place of its name, which stands for it so many times."""
    if isinstance(value, int) or not times:
        return True
    return times == 1 and not _packed(value)


def _write_out(tree, own, known, gone):
    """Give what stays its worked out value, long tables of numbers as bytes; leave out what helped to work it out."""
    body, packs = [], False
    # A module that unpacks by that very name keeps its tables.
    may_pack = "unpack" not in {name for node in ast.walk(tree) for name in _named(node)}
    for statement in tree.body:
        if isinstance(statement, ast.FunctionDef) and statement.name in worked.CALLS:
            continue
        if not _only_constants(statement, own, known):
            body.append(statement)
            continue
        for target in _targets(statement):
            if (own, target.id) not in gone or (own, target.id) in ASKED_FOR:
                packed = _packed(known[own, target.id]) if may_pack else None
                packs = packs or packed is not None
                body.append(ast.Assign([target], packed or _written(known[own, target.id])))
    if packs:
        body[1 if ast.get_docstring(tree) is not None else 0 : 0] = ast.parse("from struct import unpack").body
    tree.body = body


def _named(node):
    if isinstance(node, ast.Name):
        yield node.id
    elif isinstance(node, ast.FunctionDef):
        yield node.name
    elif isinstance(node, ast.alias):
        yield node.asname or node.name


def _written(value):
    if isinstance(value, list):
        return ast.parse(f"{' '.join(value)!r}.split()", mode="eval").body
    return ast.Constant(value)


def _packed(value):
    """An expression that unpacks a long tuple of numbers 0..65535, or of pairs of such; None for anything else."""
    if not isinstance(value, tuple) or not value:
        return None
    pairs = all(isinstance(pair, tuple) and len(pair) == 2 for pair in value)
    columns = list(zip(*value, strict=True)) if pairs else [value]
    numbers = [number for column in columns for number in column]
    if not all(type(number) is int and 0 <= number <= 0xFFFF for number in numbers):
        return None
    if sum(len(str(number)) for number in numbers) < UNPACKS_BYTES * len(columns):
        return None
    code = f"<{len(value)}H"
    each = [f"unpack({code!r}, {struct.pack(code, *column)!r})" for column in columns]
    return ast.parse(f"tuple(zip({', '.join(each)}))" if pairs else each[0], mode="eval").body


def _only_constants(statement, own, known):
    """True for a definition that nobody can need: every name in it a known constant."""
    if not isinstance(statement, ast.Assign) or len(statement.targets) != 1:
        return False
    return all(isinstance(part, ast.Name) and (own, part.id) in known for part in _targets(statement))


def _targets(statement):
    target = statement.targets[0]
    return target.elts if isinstance(target, ast.Tuple) else [target]


class _Put(ast.NodeTransformer):
    """Writes values where names of constants are read."""

    def __init__(self, names, modules, known):
        self.names, self.modules, self.known = names, modules, known

    def visit_Name(self, node):
        if isinstance(node.ctx, ast.Load) and node.id in self.names:
            return _written(self.known[self.names[node.id]])
        return node

    def visit_Attribute(self, node):
        if isinstance(node.value, ast.Name) and isinstance(node.ctx, ast.Load):
            value = self.known.get((self.modules.get(node.value.id), node.attr))
            if value is not None:
                return _written(value)
        return self.generic_visit(node)


class _Unload(ast.NodeTransformer):
    """Takes out imports of what is gone, and of what is imported from `logic` and no longer named."""

    def __init__(self, used, known):
        self.used, self.known = used, known

    def visit_ImportFrom(self, node):
        spare = (node.module or "").startswith(LOGIC)
        node.names = [
            alias
            for alias in node.names
            if (node.module, alias.name) not in self.known
            and not (spare and (alias.asname or alias.name) not in self.used)
        ]
        return node if node.names else None
