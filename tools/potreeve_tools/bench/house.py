"""How large the house is at some commits: files, statements and lines of each room, and of all stand-ins.

    python -m potreeve_tools.bench.house ce183d9 HEAD

Statements do not depend on how lines are broken: those of code that was laid out anew can be compared. Docstrings are
none. TOML files have lines only.
"""

import ast
import io
import subprocess
import sys
import tarfile
from fnmatch import fnmatch
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
ROOMS = ("firmware", "boards", "tools", "host_tests")
# What takes the place of a device, of time, files, flash, the rig or an end, then and now; not the proofs on it.
STANDINS = (
    "tools/potreeve_tools/virtual/device/*.py",
    "tools/potreeve_tools/rehearsal/device/[!_]*.py",
    "tools/potreeve_tools/standins/[!_]*.py",
    "host_tests/hal/fakes/*.py",
    "host_tests/app/fake_rig.py",
    "host_tests/app/cuttable_rig.py",
)
PROOFS = ("cutrig", "cuts", "damage", "drawn", "failing", "interrupts", "loops", "measure", "provekit", "sigint")
PROOFS += ("weigh_start", "weighed", "weighed_display", "weighed_radio")


def sources(revision, root=ROOT):
    """{path: text} of the Python and TOML files of a commit's rooms. Raises CalledProcessError for what is none."""
    packed = subprocess.run(
        ["git", "archive", "--format=tar", revision, *ROOMS], cwd=root, capture_output=True, check=True
    ).stdout
    with tarfile.open(fileobj=io.BytesIO(packed)) as tar:
        return {
            one.name: tar.extractfile(one).read().decode("utf-8")
            for one in tar.getmembers()
            if one.isfile() and one.name.endswith((".py", ".toml"))
        }


def statements(text):
    """How many statements a Python source has, docstrings left out."""
    return sum(isinstance(node, ast.stmt) and not _is_text(node) for node in ast.walk(ast.parse(text)))


def _is_text(node):
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)


def room_of(path):
    """The room a file is in: its folder, without what lies below a room."""
    parts = path.split("/")
    if parts[:2] == ["tools", "potreeve_tools"]:
        return "/".join(parts[:3]) if len(parts) > 3 else "tools/potreeve_tools (loose)"
    if parts[:2] == ["firmware", "potreeve"]:
        return "/".join(parts[:3]) if len(parts) > 3 else "firmware/potreeve (loose)"
    return "/".join(parts[:2]) if len(parts) > 2 else parts[0]


def is_standin(path):
    """Whether a file takes the place of something real."""
    return any(fnmatch(path, one) for one in STANDINS) and Path(path).stem not in PROOFS


def count(files):
    """{room: [files, lines, statements]}: every room, "all" and "stand-ins"."""
    table = {}
    for path, text in sorted(files.items()):
        python = path.endswith(".py")
        names = ["all Python" if python else "all TOML"]
        names.append(room_of(path) if python else f"{room_of(path)} (TOML)")
        if is_standin(path):
            names.append("stand-ins")
        for name in names:
            row = table.setdefault(name, [0, 0, 0])
            row[0] += 1
            row[1] += len(text.splitlines())
            row[2] += statements(text) if python else 0
    return table


def main(revisions):
    """Print the table of each commit, side by side."""
    tables = [count(sources(one)) for one in revisions]
    print(f"{'':34}" + "".join(f"{one[:22]:>24}" for one in revisions))
    print(f"{'room':34}" + f"{'files':>8}{'lines':>8}{'stmts':>8}" * len(tables))
    for name in sorted(set().union(*tables)):
        rows = [table.get(name, [0, 0, 0]) for table in tables]
        print(f"{name:34}" + "".join(f"{number:>8}" for row in rows for number in row))


if __name__ == "__main__":
    main(sys.argv[1:] or ["HEAD"])
