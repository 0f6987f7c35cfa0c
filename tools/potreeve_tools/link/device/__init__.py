"""Programs that are sent to a board and run there: each file holds functions, `program` gives it as text.

They are MicroPython, and know nothing of the desk but what they are called with.
"""

import ast
import functools
from pathlib import Path


@functools.cache
def program(name):
    """The file's text as it is sent: without its words to the reader, and one space deep instead of four."""
    tree = ast.parse((Path(__file__).parent / f"{name}.py").read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list) and len(body) > 1 and _is_text(body[0]):
            del body[0]
    lines = ast.unparse(tree).splitlines()
    return "\n".join(" " * ((len(line) - len(line.lstrip())) // 4) + line.lstrip() for line in lines if line) + "\n"


def _is_text(node):
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
