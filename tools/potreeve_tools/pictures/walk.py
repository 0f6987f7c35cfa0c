"""From an empty folder to a tended pot, as a person would go: every question is read, done with hands at a virtual
board's rig, and answered.

    python -m potreeve_tools.pictures.walk esp32        prints what the commands printed

The commands run as a program of their own on a terminal of their own; nothing is agreed to beforehand. Where the
instructions take an hour, an hour of the board's time passes; what keeps the board awake runs as many times faster.
"""

import math
import os
import pty
import re
import select
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from potreeve.logic import ledger

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.virtual.hands import Hands

SPED = (
    "from potreeve_tools.link import awake, talking; awake.EVERY_S = 0.1; talking.TOUCH_S = 0.0; "
    "from potreeve_tools.cli import main; main()"
)
"""The program, with what keeps a board awake as much faster as the board's time is while a person soaks a pot."""
PROMPT = re.compile(r"(?:\[[yYnN]/[yYnN]\]|\?|\)|\])\s?: $")
ANSI = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
FLASH = "flash.img"
PRESSES_MOST = 12
STEP_S = 100.0
SOAKS_S = 5400.0
TOO_LONG_S = 900.0
NEW = (
    ("How many pots", "3"),
    ("What grows in pot 1", "mint"),
    ("What grows in pot 2", "strawberry"),
    ("What grows in pot 3", "cherry tomato"),
    ("mint: litres", "12x10.5"),
    ("strawberry: litres", "13x11"),
    ("cherry tomato: litres", "16x14"),
    ("which mix", ""),
    ("left open between", "750"),
    ("Height of its rim", "15"),
)
"""What the owner of the reading room answers to `settings new`, by a piece of the question."""


class Walk:
    """board_name: of a board file; folder: empty, everything lands there; python: interpreter whose potreeve is
    walked with.

    told: [(command, lines it printed)].
    """

    def __init__(self, board_name, folder, python=sys.executable, environ=None):
        self.name, self.folder, self.python = board_name, Path(folder), str(python)
        self.environ = {
            **(environ or os.environ),
            "POTREEVE_DATA_DIR": str(self.folder / "data"),
            "NO_COLOR": "1",
            "COLUMNS": "100",
            "TERM": "dumb",
        }
        self.told, self.asked = [], []
        self.board = VirtualBoard(
            board_name, image=self.folder / FLASH, link=str(self.folder / "board"), usb=False, awake=1.0, asleep=20000.0
        )
        self.hands = Hands(self.board)
        self.names = [channel.name for channel in self.board.world.channels]
        self.cup = 0

    # ---- a command and its questions -----------------------------------------------------

    def run(self, words):
        """Run one command, answer what it asks; returns its exit status. Raises RuntimeError where it hangs."""
        mine, theirs = pty.openpty()
        process = subprocess.Popen(
            [self.python, "-c", SPED, *shlex.split(words)[1:]],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            cwd=self.folder,
            env=self.environ,
            start_new_session=True,
        )
        os.close(theirs)
        text, seen = "", 0
        until = time.monotonic() + TOO_LONG_S
        try:
            while time.monotonic() < until:
                ready, _, _ = select.select([mine], [], [], 0.3)
                if ready:
                    try:
                        data = os.read(mine, 65536)
                    except OSError:
                        break
                    if not data:
                        break
                    text += data.decode(errors="replace")
                elif PROMPT.search(ANSI.sub("", text[seen:])):
                    question = ANSI.sub("", text[seen:]).strip().splitlines()[-1]
                    seen = len(text)
                    self.asked.append(question)
                    os.write(mine, (self.answer(question) + "\n").encode())
            else:
                raise RuntimeError(f"{words}: no end: {text[-400:]}")
        finally:
            os.close(mine)
            if process.poll() is None and time.monotonic() > until:
                process.kill()
        code = process.wait(60)
        self.told.append((words, self._plain(text)))
        return code

    def _plain(self, text):
        """Lines as a reader sees them, places of this machine taken out."""
        text = ANSI.sub("", text).replace("\r\n", "\n").replace(str(self.folder / "data"), "~/.local/share/potreeve")
        text = re.sub(r"/dev/pts/\d+", "./board", text)
        return [line.rpartition("\r")[2].rstrip() for line in text.strip("\n").splitlines()]

    def answer(self, question):
        """Do what is asked, taking the time it takes; returns what is typed."""
        for piece, word in NEW:
            if piece in question:
                return word
        index = next((at for at, name in enumerate(self.names) if name in question), None)
        if "in the air" in question:
            self.cup = index
            self.hands.lift(index)
        elif "Soaked" in question:
            for at in range(len(self.names)):
                self.hands.soak(at)
            self.wait(SOAKS_S)
        elif "How much is in the cup" in question:
            return f"{sum(self.hands.cup_ml()):.0f} g"
        elif "Measure that, too" in question:
            # Of whichever pump it is: no other runs meanwhile.
            for at in range(len(self.names)):
                self.hands.hang(at, True)
        elif "run " in question or "Try again" in question or "button pressed" in question:
            self.hands.cup_ml()
            self.board.press(300)
            self.board.wait(lambda: not self.board.wiring.is_pressed(), 3.0)
        return "y"

    def wait(self, seconds):
        """Let the board's time pass, as a person does who soaks a pot."""
        for _ in range(math.ceil(seconds / STEP_S)):
            self.board.skip(STEP_S)
            # The tool keeps it awake meanwhile, as often in the board's time as it would.
            time.sleep(0.1)

    # ---- at the rig ----------------------------------------------------------------------

    def memory(self):
        """The state in the ledger on the board's flash."""
        copy = shutil.copy(self.folder / FLASH, self.folder / "copy.img")
        with imagefile.Image(Path(copy), boards.load(self.name).flash) as opened:
            files = opened.files()
        return ledger.choose(*[files.get(f"data/{name}") for name in ledger.SLOTS])[0]

    def press_twice(self):
        """The tray is empty, everything was seen to."""
        for at in range(len(self.names)):
            self.hands.hang(at, False)
        self.board.hard_reset()
        self.board.wait(lambda: False, 8.0)
        for _ in range(PRESSES_MOST):
            self.board.press(2600)
            self.board.wait(lambda: False, 6.0)
            state = self.memory()
            if state is not None and not state.rig.memory and not state.rig.hold:
                return
        raise RuntimeError("the board takes no press")

    def away(self, days):
        """Be away while the board tends."""
        gone_s = self.board.world.now_s + days * 86400
        self.board.do(setattr, self.board.time, "awake", 4.0)
        there = self.board.wait(lambda: self.board.world.now_s > gone_s, TOO_LONG_S)
        self.board.do(setattr, self.board.time, "awake", 1.0)
        if not there:
            raise RuntimeError("the board does not go on")

    def go(self):
        """The whole road. Raises RuntimeError at the first stumble."""
        with self.board:
            self._must('potreeve settings new my.toml --rig "reading room" --mah 5000')
            self._must(f"potreeve flash --port ./board --board {self.name}")
            self._must("potreeve settings push my.toml --port ./board")
            self._must("potreeve calibrate --port ./board")
            self.board.wait(lambda: False, 8.0)
            self.press_twice()
            self.run("potreeve status --port ./board")
            self._must("potreeve calibrate drop --port ./board")
            self.away(4.0)
            self._must("potreeve status --port ./board")
            return self.board.truth()

    def _must(self, words):
        code = self.run(words)
        if code:
            raise RuntimeError(f"{words}: exit status {code}:\n" + "\n".join(self.told[-1][1]))

    def text(self):
        """All that was typed and printed, as a block for a guide."""
        return "\n\n".join("\n".join([f"$ {words}", *lines]) for words, lines in self.told) + "\n"


def main(names):
    """Print the walk of each board named."""
    for name in names or ["rp2040_wifi"]:
        with tempfile.TemporaryDirectory() as folder:
            walk = Walk(name, folder)
            try:
                walk.go()
            finally:
                print(walk.text())


if __name__ == "__main__":
    main(sys.argv[1:])
