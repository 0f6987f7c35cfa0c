"""Small changes to a module's syntax tree, one at a time: what a careless hand might do.

Comparisons swapped and negated, boundaries shifted, numbers one off, `and` for
`or`, arithmetic swapped, returns emptied, statements dropped. Docstrings, imports
and texts stay as they are.
"""

import ast
import copy
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

COMPARE = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
ARITHMETIC = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult, ast.Mod: ast.FloorDiv}
DROPPED = (ast.Assign, ast.AugAssign, ast.Expr)


@dataclass(frozen=True)
class Mutant:
    """key: stable as long as the line itself is; line: where; build: function that gives the changed module's tree."""

    key: str
    line: int
    build: Callable

    @property
    def tree(self):
        """The changed module."""
        return self.build()


def mutants(source):
    """All Mutants of a module's source, in the order of its lines."""
    tree = ast.parse(source)
    found, seen = [], {}
    for function, holder, name, index, node in _places(tree):
        for changed in _changes(node):
            before, after = _says(node), _says(changed)
            if before == after:
                continue
            key = f"{function}: {before}  ->  {after}"
            seen[key] = seen.get(key, 0) + 1
            if seen[key] > 1:
                key += f"  ({seen[key]})"
            found.append(Mutant(key, node.lineno, partial(_with, tree, holder, name, index, changed)))
    return sorted(found, key=lambda one: one.line)


def _says(node):
    """A node in one line; of one that holds a block, its question."""
    if isinstance(node, (ast.If, ast.While)):
        return ("if " if isinstance(node, ast.If) else "while ") + _says(node.test)
    return " ".join(ast.unparse(node).split())


def _with(tree, holder, name, index, changed):
    """A copy of the tree with one node replaced."""
    whole = getattr(holder, name)
    if index is None:
        setattr(holder, name, changed)
    else:
        before = whole[index]
        whole[index] = changed
    new = ast.fix_missing_locations(copy.deepcopy(tree))
    if index is None:
        setattr(holder, name, whole)
    else:
        whole[index] = before
    return new


def _places(tree):
    """(function name, holder, field, index or None, node) of all nodes that may change."""

    def walk(node, function):
        for name, value in ast.iter_fields(node):
            children = value if isinstance(value, list) else [value]
            for index, child in enumerate(children):
                if not isinstance(child, ast.AST) or _left_alone(child, node):
                    continue
                inside = _place_name(child, function)
                if hasattr(child, "lineno"):
                    yield inside, node, name, index if isinstance(value, list) else None, child
                yield from walk(child, inside)

    yield from walk(tree, "module")


def _place_name(node, around):
    """The function, or the constant of the module, that a node stands for."""
    if isinstance(node, ast.FunctionDef):
        return node.name
    if isinstance(node, ast.Assign) and around == "module":
        return ast.unparse(node.targets[0])
    return around


def _left_alone(child, parent):
    if isinstance(child, (ast.Import, ast.ImportFrom, ast.arguments)):
        return True
    return isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant) and isinstance(child.value.value, str)


def _changes(node):
    """Changed copies of one node."""
    if isinstance(node, ast.Compare):
        yield from _compares(node)
    elif isinstance(node, ast.BoolOp):
        other = copy.deepcopy(node)
        other.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield other
    elif isinstance(node, (ast.BinOp, ast.AugAssign)) and type(node.op) in ARITHMETIC and not _is_text(node):
        other = copy.deepcopy(node)
        other.op = ARITHMETIC[type(node.op)]()
        yield other
    elif isinstance(node, ast.Constant):
        yield from _constants(node)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.USub)):
        yield copy.deepcopy(node.operand)
    elif isinstance(node, (ast.If, ast.While, ast.IfExp)):
        other = copy.copy(node)
        other.test = ast.UnaryOp(ast.Not(), other.test)
        yield other
    elif isinstance(node, ast.Return) and node.value is not None:
        empty = ast.Return(ast.Constant(0 if not _is_constant(node.value, 0) else 1))
        yield ast.copy_location(empty, node)
    if isinstance(node, DROPPED) and not _binds_new(node):
        yield ast.copy_location(ast.Pass(), node)


def _compares(node):
    for index, op in enumerate(node.ops):
        for kind in COMPARE[type(op)]:
            other = copy.deepcopy(node)
            other.ops[index] = kind()
            yield other


def _constants(node):
    if node.value is True or node.value is False:
        yield ast.copy_location(ast.Constant(not node.value), node)
    elif isinstance(node.value, int):
        for value in (node.value + 1, node.value - 1):
            yield ast.copy_location(ast.Constant(value), node)


def _is_constant(node, value):
    return isinstance(node, ast.Constant) and node.value == value


def _is_text(node):
    """Whether arithmetic on texts is meant."""
    sides = [node.value] if isinstance(node, ast.AugAssign) else [node.left, node.right]
    return any(
        isinstance(side, (ast.Constant, ast.JoinedStr)) and not isinstance(getattr(side, "value", 0), int)
        for side in sides
    )


def _binds_new(node):
    """A name bound for the first time: dropping it only ever ends in NameError, which shows nothing."""
    return isinstance(node, ast.Assign) and all(isinstance(target, (ast.Name, ast.Tuple)) for target in node.targets)
