"""What the board's compiler is given is the sources' program: instruction by instruction, but for names."""

import ast
import dis
import types

import pytest
from potreeve_tools.image import compiled, constants, privates, shorter
from potreeve_tools.rehearsal.engines import FIRMWARE


def same(before, after, known, outer):
    """Assert that two code objects do the same: instructions, constants, and names but for what was shortened."""
    assert before.co_argcount == after.co_argcount and before.co_flags == after.co_flags
    meant = {**outer}
    for name, made in zip(before.co_varnames, after.co_varnames, strict=True):
        meant[name] = made
    names = {name: known.get(name, name) for name in before.co_names}
    cells = []
    left, right = list(dis.get_instructions(before)), list(dis.get_instructions(after))
    assert [one.opcode for one in left] == [one.opcode for one in right]
    for at, (one, other) in enumerate(zip(left, right, strict=True)):
        if left[at + 1 : at + 2] and left[at + 1].argval == "__static_attributes__":
            # What Python 3.13 and later note of a class, if its methods call their rig `self`.
            continue
        if one.opcode in dis.hasconst and isinstance(one.argval, types.CodeType):
            same(one.argval, other.argval, known, meant)
        elif one.opname == "IMPORT_NAME":
            assert one.argval.endswith(other.argval.lstrip("."))
        elif one.opname.startswith(("MAKE_CELL", "LOAD_CLOSURE", "LOAD_FAST")) and shared(one.argval, before):
            # What scopes share is handed on sorted by its names.
            cells += zip(each(told(one.argval, meant)), each(other.argval), strict=True)
        elif one.opcode in dis.haslocal or one.opcode in dis.hasfree:
            assert told(one.argval, meant) == other.argval
        elif one.opcode in dis.hasname:
            assert names[one.argval] == other.argval
        elif one.opcode in dis.hasconst:
            assert (alike(one.argval, known, meant), type(one.argval)) == (
                alike(other.argval, {}, {}),
                type(other.argval),
            ) or (one.argval == 0 and other.argval in (1, 2))

    assert sorted(one for one, _ in cells) == sorted(other for _, other in cells)


def each(name):
    return name if isinstance(name, tuple) else (name,)


def shared(name, code):
    return any(one in code.co_cellvars + code.co_freevars for one in each(name))


def told(name, meant):
    return tuple(meant.get(one, one) for one in name) if isinstance(name, tuple) else meant.get(name, name)


def alike(value, known, meant):
    """A constant, with names (of a function, of keywords) as they are meant."""
    return tuple(known.get(one, one) for one in value) if isinstance(value, tuple) else value


@pytest.mark.parametrize("name", compiled.modules(FIRMWARE))
def test_a_module_is_the_same_program(name):
    text = constants.in_place(FIRMWARE, name)
    known = privates.private(FIRMWARE, name)
    made = shorter.in_source(text, FIRMWARE, name)
    same(compile(text, name, "exec", optimize=2), compile(made, name, "exec", optimize=2), known, {})


def test_main_is_the_same_program_with_other_names():
    text = (FIRMWARE / compiled.MAIN).read_text(encoding="utf-8")
    made = compiled.main_text(FIRMWARE).decode()
    before, after = numbered(text), numbered(made)
    assert before[0] == after[0]
    meant = dict(zip(before[1], after[1], strict=True))
    # One name each, and none that was the interpreter's or is asked for.
    for name in ("machine", "json", "crc32", "open", "print", "hal", "Exception", *compiled.MAIN_KEEPS):
        assert meant[name] == name, name
    assert meant["unfit"] != "unfit" and len(set(meant.values())) == len(meant)
    assert not set(dir(__builtins__)) & (set(meant.values()) - set(meant))


def numbered(text):
    """(the tree of a program as text, its names replaced by numbers; its names in that order)."""
    tree = ast.parse(text)
    names = {}

    def number(name):
        return f"n{list(names.setdefault(name, None) or names).index(name)}"

    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.FunctionDef) and ast.get_docstring(node) is not None:
            node.body = node.body[1:]
        for field in {"Name": ["id"], "FunctionDef": ["name"], "arg": ["arg"], "ExceptHandler": ["name"]}.get(
            type(node).__name__, ()
        ):
            if getattr(node, field):
                setattr(node, field, number(getattr(node, field)))
        if isinstance(node, ast.Global):
            node.names = [number(name) for name in node.names]
        elif isinstance(node, ast.alias):
            node.name, node.asname = (
                (number(node.name), None) if node.asname is None else (node.name, number(node.asname))
            )
    return ast.dump(tree), list(names)
