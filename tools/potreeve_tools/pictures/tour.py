"""The road in README and guides: what a person types and does, and what that prints.

A line `<!-- board -->` is followed by a block of code. Its lines that begin with `$ ` are commands, those in
parentheses say what a person does with hands; all else is replaced by what the commands print. The whole road
is in guides/road.md; the README shows steps of it. One person goes it once for both, see walk.py, against one virtual
board.
`<!-- board head=10 tail=4 -->` keeps the first and the last lines of each command's output, `head=0
tail=0` nothing but the commands.
"""

import re
from pathlib import Path

BOARD = "rp2040_wifi"
ROOT = Path(__file__).resolve().parents[3]
ROAD = Path(__file__).resolve().parents[1] / "guides" / "road.md"
BLOCK = re.compile(r"(<!-- board(?: head=(\d+) tail=(\d+))? -->\n```text\n)(.*?)(```)", re.S)

BY_CHANCE = "The board does not answer yet"
"""Printed or not by the moment at which a command meets the board asleep; no page needs it."""


def lines(text):
    """What a page's blocks have one type and do, in order."""
    return [line for found in BLOCK.finditer(text) for line in _steps(found[4])]


def on(board, steps):
    """The same steps with another board."""
    return [line.replace(f"--board {BOARD}", f"--board {board}") for line in steps]


def _steps(block):
    return [line for line in block.splitlines() if line.startswith("$ ") or by_hand(line)]


def by_hand(line):
    """Whether a line says what a person does."""
    return line.startswith("(") and line.endswith(")")


def shortened(told, head, tail):
    """The first and last lines of an output; none at all where neither is wanted."""
    if not head and not tail:
        return []
    return told if len(told) <= head + tail else [*told[:head], "  ...", *told[len(told) - tail :]]


def walked(person):
    """{line: what came of it} of the whole road, which person (a walk.Walk) goes once for all pages."""
    return {line: person.follow(line) for line in lines(ROAD.read_text(encoding="utf-8"))}


def refreshed(text, told):
    """A page's text with every block made anew. told: as walked gives it; the page's steps must be of the road."""

    def now(found):
        made, steps = [], _steps(found[4])
        for line in steps:
            printed = [one for one in told[line] if not one.startswith(BY_CHANCE)]
            if found[2]:
                printed = shortened(printed, int(found[2]), int(found[3]))
            made += ["", line, *printed] if made and made[-1] not in steps else [line, *printed]
        return found[1] + "\n".join(made) + "\n" + found[5]

    return BLOCK.sub(now, text)
