"""Shortens what the compiler is given, where only a file's size can tell the difference.

A compiled file spells out every name it uses, and so does the heap of the board that loads it. Here go: the names of
arguments, which nobody sees; private names, which nobody outside asks for; and the package's name in imports. The
sources keep all their names, and run as they are. What private names become is in privates.py; `in_full` tells a trace
from a board, which says the module, in the names of the sources.
"""

import ast
import re
import string
from collections import Counter

from potreeve_tools.image import privates
from potreeve_tools.image.privates import PACKAGE, spelt

# A line of a trace in one of the firmware's files; what a command sent is named "<stdin>".
_TRACED = re.compile(r'(File "([^<"][^"]*)", .*\bin )(_[a-z0-9_]+)')
_SCOPES = ast.FunctionDef | ast.Lambda
_COMPREHENSIONS = ast.ListComp | ast.SetComp | ast.DictComp | ast.GeneratorExp


def in_source(text, firmware, name):
    """Source of a module, shortened. name: its path below the firmware folder. Raises SyntaxError."""
    tree = ast.parse(text)
    _Relative(name).visit(tree)
    _arguments(tree, privates.given_by_name(firmware))
    _Private(privates.private(firmware, name)).visit(tree)
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"


def program(text, kept):
    """A program by itself, without what is for readers only: every name it gives short, but for those in kept; one
    space a step in."""
    tree = ast.parse(text)
    nodes = list(ast.walk(tree))
    imported = {alias.asname or alias.name for node in nodes if isinstance(node, ast.alias) for alias in [node]}
    used = Counter(name for node in nodes for name in spelt(node))
    given = {name for node in nodes for name in _gives(node)} - imported - set(kept)
    for node in nodes:
        if isinstance(node, ast.Module | ast.FunctionDef) and ast.get_docstring(node) is not None:
            node.body = node.body[1:] or [ast.Pass()]
    letters = (letter for letter in string.ascii_letters if letter not in used)
    short = dict(zip(sorted(given, key=lambda name: (-used[name], name)), letters))
    for node in nodes:
        if isinstance(node, ast.ExceptHandler):
            node.name = short.get(node.name, node.name)
    tree = _Given(short).visit(tree)
    lines = [line for line in ast.unparse(ast.fix_missing_locations(tree)).splitlines() if line]
    return "".join(" " * ((len(line) - len(line.lstrip())) // 4) + line.lstrip() + "\n" for line in lines)


def in_full(text, firmware):
    """A trace from a board, its private names as in the sources."""
    names = {told_as(path): path for path in privates.known(firmware)[2]}

    def full(found):
        meant = {short: name for name, short in privates.private(firmware, names.get(found[2])).items()}
        return found[1] + meant.get(found[3], found[3])

    return _TRACED.sub(full, text)


def told_as(name):
    """What a trace on a board calls a module: no more of its path than tells it from every other."""
    return name[:-3].removesuffix("/__init__").removeprefix(PACKAGE + "/").removeprefix("logic/")


# ---- imports -------------------------------------------------------------------------------


class _Relative(ast.NodeTransformer):
    """Writes imports from the firmware's own package as seen from the module."""

    def __init__(self, name):
        self.package = name.split("/")[:-1]

    def visit_ImportFrom(self, node):
        if node.level or not node.module or node.module.split(".")[0] != PACKAGE or self.package[:1] != [PACKAGE]:
            return node
        path = node.module.split(".")
        shared = 0
        while shared < min(len(path), len(self.package)) and path[shared] == self.package[shared]:
            shared += 1
        node.level = 1 + len(self.package) - shared
        node.module = ".".join(path[shared:]) or None
        return node


# ---- arguments -----------------------------------------------------------------------------


def _arguments(tree, by_name):
    """Rename the arguments that nobody gives by name."""
    for node in ast.walk(tree):
        if isinstance(node, _SCOPES):
            _rename(node, by_name)


def _rename(function, by_name):
    given = function.args
    bound = Counter(_bound(function))
    taken = _names(function)
    free = (letter for letter in string.ascii_lowercase if letter not in taken)
    meant = {}
    for place in [*given.posonlyargs, *given.args, *([given.vararg] if given.vararg else [])]:
        # A name that something within gives another meaning stays.
        if place.arg not in by_name and bound[place.arg] == 1:
            short = next(free, None)
            if short is None:
                break
            meant[place.arg] = short
            place.arg = short
    for part in function.body if isinstance(function.body, list) else [function.body]:
        _Names(meant).visit(part)


def _bound(function):
    """Names that a function's arguments, or any scope within it, bind."""
    for node in ast.walk(function):
        if isinstance(node, ast.arg):
            yield node.arg
        elif isinstance(node, _COMPREHENSIONS):
            for part in node.generators:
                yield from (one.id for one in ast.walk(part.target) if isinstance(one, ast.Name))
        elif isinstance(node, ast.FunctionDef | ast.ClassDef) and node is not function:
            yield node.name
        elif isinstance(node, ast.Global | ast.Nonlocal):
            yield from node.names * 2
        elif isinstance(node, ast.alias):
            yield (node.asname or node.name).split(".")[0]
        elif isinstance(node, ast.ExceptHandler) and node.name:
            yield node.name


def _names(function):
    """Every name that stands in a function."""
    return set(_bound(function)) | {node.id for node in ast.walk(function) if isinstance(node, ast.Name)}


class _Names(ast.NodeTransformer):
    def __init__(self, meant):
        self.meant = meant

    def visit_Name(self, node):
        node.id = self.meant.get(node.id, node.id)
        return node


# ---- names that are given anew -------------------------------------------------------------


def _gives(node):
    """The names that a node gives a meaning."""
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
        yield node.id
    elif isinstance(node, ast.FunctionDef):
        yield node.name
    elif isinstance(node, ast.arg):
        yield node.arg
    elif isinstance(node, ast.ExceptHandler) and node.name:
        yield node.name


class _Given(ast.NodeTransformer):
    def __init__(self, short):
        self.short = short

    def visit_Name(self, node):
        node.id = self.short.get(node.id, node.id)
        return node

    def visit_FunctionDef(self, node):
        node.name = self.short.get(node.name, node.name)
        return self.generic_visit(node)

    visit_ClassDef = visit_FunctionDef

    def visit_arg(self, node):
        node.arg = self.short.get(node.arg, node.arg)
        return node

    def visit_Global(self, node):
        node.names = [self.short.get(name, name) for name in node.names]
        return node


class _Private(_Given):
    def visit_Attribute(self, node):
        node.attr = self.short.get(node.attr, node.attr)
        return self.generic_visit(node)

    def visit_alias(self, node):
        node.name = self.short.get(node.name, node.name)
        node.asname = self.short.get(node.asname, node.asname)
        return node
