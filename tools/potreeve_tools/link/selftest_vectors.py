"""The vectors of the logic as pieces small enough for a board's memory.

A vector file of host_tests/logic is its helpers (the prelude) and its VECTORS. The
board gets the prelude once and then a few vectors at a time, as source; what they
answer is compared with what this desktop's own logic answers to the same source.

They are shipped in selftest_vectors.json, so that an installed tool has them:

    python -m potreeve_tools.link.selftest_vectors host_tests/logic

writes it, and a test sees that it is what host_tests/logic holds.
"""

import ast
import json
import sys
from pathlib import Path

from potreeve_tools.image import constants, worked

FIRMWARE = Path(__file__).resolve().parents[3] / "firmware"
SHIPPED = Path(__file__).with_name("selftest_vectors.json")
TEXT = Path(__file__).with_name("device") / "vectortext.py"
PIECE_BYTES = 900
# The one file of vectors whose names the others may use, on a board too.
SHARED = "vectors.made"

# How an answer is written, and how pieces are run. Sent to the board once; run here, too.
RUNNER = (
    TEXT.read_text(encoding="utf-8")
    + """
def answers(module, names, vectors):
    logic = getattr(__import__("potreeve.logic." + module).logic, module)
    for function, arguments in vectors:
        call = names.get(function) or getattr(logic, function)
        yield text_of(call(*arguments))
"""
)


def load():
    """{module: {"prelude": source, "vectors": [source of (function, arguments), ...]}}; "made" has no vectors."""
    return json.loads(SHIPPED.read_text(encoding="utf-8"))


def gather(folder):
    """What `load` gives, from the files of host_tests/logic."""
    folder = Path(folder)
    found = {}
    for path in [
        folder / "vectors" / "made.py",
        *sorted((folder / "vectors").glob("*.py")),
        *sorted(folder.glob("vectors_*.py")),
    ]:
        name = path.stem.removeprefix("vectors_")
        if name != "__init__" and name not in found:
            # The board's modules have no constants left to ask for.
            found[name] = _split(constants.in_source(path.read_text(encoding="utf-8"), FIRMWARE))
    return found


def _split(source):
    tree = ast.parse(source)
    vectors, rest = [], []
    for node in tree.body:
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "VECTORS":
            vectors += _vectors(node.value)
        elif not (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            if isinstance(node, ast.ImportFrom) and node.module.startswith("vectors.") and node.module != SHARED:
                raise ValueError(f"a board has no {node.module}: what two files of vectors share belongs in {SHARED}")
            rest.append(node)
    return {"prelude": ast.unparse(_without_docs(ast.Module(rest, []))) + "\n", "vectors": vectors}


def _vectors(value):
    """Sources of (function, arguments) of a literal tuple or list, or a sum of such."""
    if isinstance(value, ast.BinOp) and isinstance(value.op, ast.Add):
        return _vectors(value.left) + _vectors(value.right)
    if isinstance(value, ast.Call) and getattr(value.func, "id", "") == "tuple" and len(value.args) == 1:
        return _vectors(value.args[0])
    if isinstance(value, (ast.GeneratorExp, ast.ListComp)) and isinstance(value.elt, ast.Tuple):
        each = ast.Tuple(value.elt.elts[:2], ast.Load())
        return [ast.unparse(ast.ListComp(each, value.generators))]
    if not isinstance(value, (ast.Tuple, ast.List)):
        raise ValueError(f"VECTORS must be written out as tuples, not {ast.unparse(value)[:60]}")
    return [
        ast.unparse(ast.Tuple(element.elts[:2], ast.Load()))
        for element in value.elts
        # What was worked out before the board saw it, no board can do.
        if getattr(element.elts[0], "value", None) not in worked.CALLS
    ]


def _without_docs(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and ast.get_docstring(node) and len(node.body) > 1:
            node.body = node.body[1:]
    return tree


def prelude(shipped, module):
    """Source of a module's helpers, its imports from `made` turned into look-ups in MADE."""
    lines = []
    for line in shipped[module]["prelude"].splitlines():
        if line.startswith(f"from {SHARED} import "):
            lines += [f"{name.strip()} = MADE[{name.strip()!r}]" for name in line.partition(" import ")[2].split(",")]
        else:
            lines.append(line)
    return "\n".join(lines) + "\n"


def pieces(vectors):
    """Sources of tuples (or lists) of vectors, each near PIECE_BYTES or shorter where a single one is."""
    piece, size = [], 0
    for source in vectors:
        if source[0] == "[":
            # Made by a loop: a piece of its own.
            yield source
            continue
        if piece and size + len(source) > PIECE_BYTES:
            yield "(" + ", ".join(piece) + ",)"
            piece, size = [], 0
        piece.append(source)
        size += len(source) + 2
    if piece:
        yield "(" + ", ".join(piece) + ",)"


class Desktop:
    """Runs pieces in this Python, as the board does: `begin(source)` then `answer(module, piece)`."""

    def __init__(self):
        self.space = {}
        exec(RUNNER, self.space)  # noqa: S102 - our own text

    def made(self, source):
        """Take the shared helpers."""
        self.space["MADE"] = {}
        exec(source, self.space["MADE"])  # noqa: S102

    def begin(self, source):
        """Take a module's helpers."""
        self.names = {"MADE": self.space["MADE"]}
        exec(source, self.names)  # noqa: S102

    def answer(self, module, piece):
        """List of answers."""
        return list(self.space["answers"](module, self.names, eval(piece, self.names)))  # noqa: S307


if __name__ == "__main__":
    SHIPPED.write_text(json.dumps(gather(sys.argv[1]), indent=0) + "\n", encoding="utf-8", newline="\n")
    told = load()
    print(f"{sum(len(part['vectors']) for part in told.values())} vectors of {len(told) - 1} modules in {SHIPPED.name}")
