"""Makes the pictures and refreshes the output in README and guides. Needs Chromium.

    .venv/bin/python -m potreeve_tools.pictures.make            all of it
    .venv/bin/python -m potreeve_tools.pictures.make README.md  the text of one page

In a page, a line `<!-- output: COMMAND -->` is followed by a block of code; the
block is replaced by what COMMAND prints now. `<!-- wiring: BOARD -->` is followed
by that board's table. Blocks after `<!-- board -->` are made by tour.py and walk.py.
"""

import functools
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import drawing, wiring
from potreeve_tools.pictures import display, tour, walk
from potreeve_tools.words import card

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[2]
PAGES = (ROOT / "README.md", boards.BOARDS_DIR / "README.md", *sorted((HERE.parent / "guides").glob("*.md")))
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
SIZE = "1000,1800"
MOST_BYTES = 400_000
BLOCK = re.compile(r"(<!-- output: (potreeve [^\n]*?) -->\n```text\n)(.*?)(```)", re.S)
TABLE = re.compile(r"(<!-- wiring: (\w+) -->\n)((?:\|[^\n]*\n)*)")


def picture(target):
    """Rehearse a month, photograph its report."""
    browser = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if browser is None:
        raise SystemExit("Chromium is needed for the picture; install it")
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "month.html"
        subprocess.run(
            [sys.executable, "-m", "potreeve_tools", "rehearse", "--report", str(page), "--json"],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=300,
        )
        subprocess.run(
            [
                browser,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--no-first-run",
                "--disable-sync",
                "--disable-background-networking",
                "--disable-component-update",
                "--hide-scrollbars",
                f"--user-data-dir={folder}/profile",
                f"--screenshot={target}",
                f"--window-size={SIZE}",
                "--virtual-time-budget=8000",
                page.as_uri(),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )
    if target.stat().st_size > MOST_BYTES:
        raise SystemExit(f"{target}: {target.stat().st_size} bytes, at most {MOST_BYTES} are wanted")


def outputs(text):
    """A page's text with every marked block replaced by what its command prints."""

    def now(found):
        env = {**os.environ, "COLUMNS": "92", "NO_COLOR": "1"}
        done = subprocess.run(
            [sys.executable, "-m", "potreeve_tools", *shlex.split(found[2])[1:]],
            cwd=ROOT,
            env=env,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=300,
            check=False,
        )
        lines = [line.rstrip() for line in done.stdout.strip("\n").splitlines()]
        return found[1] + "\n".join(lines) + "\n" + found[4]

    return BLOCK.sub(now, text)


def tables(text):
    """A page's text with every board's wiring table made anew."""
    return TABLE.sub(lambda found: found[1] + wiring.markdown(found[2]), text)


@functools.cache
def road():
    """What came of each step of the road: one walk for all pages."""
    with tempfile.TemporaryDirectory() as folder, walk.Walk(tour.BOARD, folder) as person:
        return tour.walked(person)


def refresh(path):
    """Make a page's blocks anew."""
    text = tables(outputs(path.read_text(encoding="utf-8")))
    path.write_text(tour.refreshed(text, road()) if tour.BLOCK.search(text) else text, encoding="utf-8")


def main(names):
    """Make the pages named, or everything."""
    if not names:
        picture(HERE / "month.png")
        (HERE / "card.svg").write_text(card.svg(), encoding="utf-8")
        display.main([])
        for board in boards.names():
            (boards.BOARDS_DIR / f"{board}.svg").write_text(
                drawing.svg(boards.load(board).device_dict()), encoding="utf-8"
            )
    for path in PAGES:
        if not names or path.relative_to(ROOT).as_posix() in names:
            refresh(path)


if __name__ == "__main__":
    main(sys.argv[1:])
