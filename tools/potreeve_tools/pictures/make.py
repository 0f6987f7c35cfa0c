"""Makes the README's picture and refreshes the output it shows. Needs Chromium.

    .venv/bin/python -m potreeve_tools.pictures.make

In README.md, a line `<!-- output: COMMAND -->` is followed by a block of code;
the block is replaced by what COMMAND prints now. Blocks after `<!-- board -->`
are made by tour.py.
"""

import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from potreeve_tools.pictures import tour

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[2]
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
SIZE = "1000,1560"
MOST_BYTES = 400_000
BLOCK = re.compile(r"(<!-- output: (potreeve [^\n]*?) -->\n```text\n)(.*?)(```)", re.S)


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
    """README text with every marked block replaced by what its command prints."""

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


if __name__ == "__main__":
    picture(HERE / "month.png")
    readme = ROOT / "README.md"
    readme.write_text(tour.refreshed(outputs(readme.read_text(encoding="utf-8"))), encoding="utf-8")
