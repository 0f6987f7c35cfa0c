"""The firmware's private names and what short one each stands for.

MicroPython keeps every name it ever saw. So what one module has for itself takes the same few letters as what others
have for themselves: at its top, and in its classes after `self`. A private name that stands in more modules than one,
after a dot elsewhere, or in a class that another module inherits from or that inherits from another's, is shortened to
the same everywhere, and no two of those share one: an object may meet any module.
"""

import ast
import builtins
import string
from collections import Counter
from functools import cache, lru_cache
from pathlib import Path
from typing import NamedTuple

PACKAGE = "potreeve"

ASKED_FOR = {
    *("_enable", "_mark", "_open_settings", "_pins", "_pump_pins", "_read", "_report", "_running", "_store", "_table"),
    "_try",
}
"""Private names that programs on a board, or beside its firmware, ask for: they stay."""

OWN = tuple("_" + one for one in (*string.ascii_lowercase, *map(str, range(100))))
"""What modules call what each has for itself."""


def _is_private(name):
    return name.startswith("_") and not name.startswith("__") and len(name) > 1


def private(firmware, name):
    """{private name: its short one} in a module. name: its path below the firmware folder."""
    everywhere, _, own = known(firmware)
    return {**everywhere, **own.get(name, {})}


def given_by_name(firmware):
    """Names of arguments that some module gives by name: they stay."""
    return known(firmware)[1]


def known(firmware):
    """({private name: its short one everywhere}, names of arguments given by name, {path below the firmware folder:
    {private name: its short one in that module}}) of all modules."""
    files = sorted((Path(firmware) / PACKAGE).rglob("*.py"))
    return _read(firmware, tuple((path, path.stat().st_mtime_ns, path.stat().st_size) for path in files))


@cache
def _read(firmware, files):
    used, by_name, shared, read = Counter(), set(), set(), {}
    for path, _, _ in files:
        one = read[path.relative_to(firmware).as_posix()] = _read_text(path.read_text(encoding="utf-8"))
        used.update(one.private)
        by_name |= one.by_name
        shared |= one.after_dot
    inherited = {base for one in read.values() for base in one.bases}
    for one in read.values():
        if one.bases or one.classes & inherited:
            shared |= one.after_self
    shared |= {name for name in used if used[name] > 1}
    short, taken = {}, set(used) | set(OWN)
    # What stands in the most files has the first choice.
    for name in sorted(shared - ASKED_FOR, key=lambda name: (-used[name], name)):
        short[name] = next(one for one in _proposals(name) if one not in taken)
        taken.add(short[name])
    own = {}
    for path, one in read.items():
        # Functions first: numbers are put in place, and leave no name behind.
        names = sorted(one.private - shared - ASKED_FOR, key=lambda name: (name not in one.functions, name))
        free = (name for name in OWN if name not in one.private)
        own[path] = dict(zip(names, free, strict=False))
    return short, by_name, own


class _Text(NamedTuple):
    """Of one module: private names that it spells out; those after a dot; those after `self` or in a class's body;
    names of its classes, and of what they inherit from elsewhere; names of functions at its top; names that it gives
    arguments by."""

    private: frozenset = frozenset()
    after_dot: frozenset = frozenset()
    after_self: frozenset = frozenset()
    classes: frozenset = frozenset()
    bases: frozenset = frozenset()
    functions: frozenset = frozenset()
    by_name: frozenset = frozenset()


@lru_cache(512)
def _read_text(text):
    try:
        tree = ast.parse(text)
    except (SyntaxError, ValueError):
        # The compiler says it in its own words.
        return _Text()
    nodes = list(ast.walk(tree))
    found = {name for node in nodes for name in spelt(node)}
    dotted = [node for node in nodes if isinstance(node, ast.Attribute)]
    of_self = {node.attr for node in dotted if _is_self(node.value)}
    classes = [node for node in nodes if isinstance(node, ast.ClassDef)]
    of_self |= {name for node in classes for part in node.body for name in _made(part)}
    named = {node.name for node in classes}
    bases = {base.attr if isinstance(base, ast.Attribute) else base.id for node in classes for base in node.bases}
    return _Text(
        frozenset(filter(_is_private, found)),
        frozenset(filter(_is_private, (node.attr for node in dotted if not _is_self(node.value)))),
        frozenset(filter(_is_private, of_self)),
        frozenset(named),
        frozenset(bases - named - set(dir(builtins))),
        frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef)),
        frozenset(node.arg for node in nodes if isinstance(node, ast.keyword)),
    )


def _is_self(node):
    return isinstance(node, ast.Name) and node.id == "self"


def _made(statement):
    """The names that a statement of a class's body gives it."""
    if isinstance(statement, ast.FunctionDef | ast.ClassDef):
        return [statement.name]
    return [node.id for node in ast.walk(statement) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)]


def _proposals(name):
    """Its words' first letters, so that a trace can be guessed at; its first and another; then with a number."""
    words = [word for word in name.lower().split("_") if word]
    first = "_" + words[0][0]
    yield "".join(["_", *(word[0] for word in words)][:3])
    yield from (first + letter for letter in "".join(words)[1:])
    yield from (first + letter for letter in string.ascii_lowercase)
    yield from (f"{first}{number}" for number in range(1000))


def spelt(node):
    """The names that a node spells out."""
    if isinstance(node, ast.Name):
        yield node.id
    elif isinstance(node, ast.Attribute):
        yield node.attr
    elif isinstance(node, ast.FunctionDef | ast.ClassDef):
        yield node.name
    elif isinstance(node, ast.arg):
        yield node.arg
    elif isinstance(node, ast.Global):
        yield from node.names
    elif isinstance(node, ast.alias):
        yield from (name for name in (node.name, node.asname) if name)
