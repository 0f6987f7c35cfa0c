"""DEVELOPERS.md names every function that moves a pot to another rung: a newcomer finds there where a pot is held."""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def movers(source):
    """The functions of a module that call ladder.move, or set a rung themselves."""
    found = set()
    for function in ast.walk(ast.parse(source)):
        if isinstance(function, ast.FunctionDef):
            for node in ast.walk(function):
                if isinstance(node, ast.Call) and ast.unparse(node.func) in ("ladder.move", "move"):
                    found.add(function.name)
                if isinstance(node, ast.Attribute) and node.attr == "ladder" and isinstance(node.ctx, ast.Store):
                    found.add(function.name)
    return found


def table():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text[text.index("### Where a pot is held") :]
    return part[: part.index("\n**One belief")]


def test_the_table_names_all_that_move_a_pot_and_nothing_else():
    found = set()
    for path in sorted((ROOT / "firmware" / "potreeve").rglob("*.py")):
        found |= {f"{path.stem}.{name}" for name in movers(path.read_text(encoding="utf-8"))}
    rows = [line for line in table().splitlines() if line.startswith("| ")]
    named = {word for line in rows for word in line.split("`")[1::2] if "." in word}
    assert "proof.judge" in found and found - {"ladder.move"} == named


def test_one_that_moves_a_pot_elsewhere_would_be_found():
    assert movers(
        "def f(pot):\n    pot.ladder = 2\ndef g(pot):\n    ladder.move(pot, 1, 0, 0)\ndef h():\n    pass\n"
    ) == {"f", "g"}
