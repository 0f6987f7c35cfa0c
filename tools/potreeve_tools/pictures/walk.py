"""From an empty folder to a tended pot, as a person would go who has nothing but the README.

    python -m potreeve_tools.pictures.walk esp32        goes the README's road, prints what its commands printed

The commands are those of a page's blocks, see tour.py. Each runs as a program of its own, on a terminal of its own;
every question is read, done with hands at a virtual board's rig, and answered. Nothing is agreed to beforehand. Where
the instructions take an hour, an hour of the board's time passes; what keeps the board awake runs as many times faster.
"""

import math
import os
import pty
import re
import select
import shlex
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from potreeve.logic import ledger

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.pictures import tour
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.virtual.hands import Hands

PROGRAM = """
import os, socket
from potreeve_tools.link import awake, calibrate_bench, talking
walk = socket.socket(fileno={fd})
def wait(seconds):
    walk.sendall(b"%f\\n" % seconds)
    walk.recv(1)
awake.EVERY_S, talking.TOUCH_S, calibrate_bench.SLEEP = 0.1, 0.0, wait
from potreeve_tools.cli import main
main()
"""
"""The tool, with what keeps a board awake as much faster as the board's time is while a person soaks a pot; its own
long waits are the board's time, too."""
PROMPT = re.compile(r"(?:\[[yYnN]/[yYnN]\]|\?|\)|\])\s?: $")
ANSI = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
FLASH = "flash.img"
COLUMNS = "100"
PRESS_MS = 2600
PRESSES_MOST = 12
# Of the board's sleep, while somebody is there: naps are long enough to be met in.
NAPS = 300.0
STEP_S = 100.0
SOAKS_S = 5400.0
TOO_LONG_S = 900.0
DAY_S = 86400
ANSWERS = (
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
    """A person beside a virtual board.

    board_name: of a board file; folder: empty, everything lands there; python: interpreter whose potreeve is walked
    with. told: [(command, lines it printed)]; asked: the questions; by_hand: how many pulses of the pumps were given on
    command, before the board was left alone for days.
    """

    def __init__(self, board_name, folder, python=sys.executable, environ=None):
        self.name, self.folder, self.python = board_name, Path(folder), str(python)
        self.environ = {
            **(environ or os.environ),
            "POTREEVE_DATA_DIR": str(self.folder / "data"),
            "NO_COLOR": "1",
            "COLUMNS": COLUMNS,
            "TERM": "dumb",
        }
        self.told, self.asked, self.by_hand = [], [], 0
        self.board = VirtualBoard(
            board_name, image=self.folder / FLASH, link=str(self.folder / "board"), usb=False, awake=1.0, asleep=NAPS
        )
        self.hands = Hands(self.board)
        self.names = [channel.name for channel in self.board.world.channels]
        self.doing = (
            ("for two seconds, twice", self.press_twice),
            ("a day later", lambda: self.away(1.2)),
            ("six days later", lambda: self.away(6.0)),
        )

    def __enter__(self):
        self.board.start()
        return self

    def __exit__(self, *fault):
        self.board.stop()

    # ---- a line of a page ----------------------------------------------------------------

    def follow(self, line):
        """Do what a line of a page's block says; returns what was printed, as lines. Raises RuntimeError at a
        stumble.

        "$ COMMAND" is typed; "(SENTENCE)" is done by hand.
        """
        if tour.by_hand(line):
            act = next((act for piece, act in self.doing if piece in line.lower()), None)
            if act is None:
                raise RuntimeError(f"{line}: nobody knows what to do")
            act()
            return []
        words = line.removeprefix("$ ")
        code = self.run(words)
        if code:
            raise RuntimeError(f"{words}: exit status {code}:\n" + "\n".join(self.told[-1][1]))
        return self.told[-1][1]

    def go(self, lines):
        """Follow all lines; returns the world's truth() at the end."""
        for line in lines:
            self.follow(line)
        return self.board.truth()

    def text(self):
        """All that was typed and printed."""
        return "\n\n".join("\n".join([f"$ {words}", *lines]) for words, lines in self.told) + "\n"

    # ---- a command and its questions -----------------------------------------------------

    def run(self, words):
        """Run one command, answer what it asks; returns its exit status. Raises RuntimeError where it hangs."""
        for at in range(len(self.names)):
            self.hands.hang(at, False)
        mine, theirs = pty.openpty()
        ours, its = socket.socketpair()
        process = subprocess.Popen(
            [self.python, "-c", PROGRAM.format(fd=its.fileno()), *shlex.split(words)[1:]],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            cwd=self.folder,
            env=self.environ,
            pass_fds=[its.fileno()],
            start_new_session=True,
        )
        os.close(theirs)
        its.close()
        try:
            text = self._converse(process, words, mine, ours)
        finally:
            os.close(mine)
            ours.close()
            if process.poll() is None:
                process.kill()
        self.told.append((words, self._plain(text)))
        return process.returncode

    def _converse(self, process, words, mine, ours):
        text, seen = "", 0
        until = time.monotonic() + TOO_LONG_S
        while time.monotonic() < until:
            ready, _, _ = select.select([mine, ours], [], [], 0.3)
            if ours in ready and (told := ours.recv(64)):
                self.board.skip(float(told))
                ours.sendall(b".")
            if mine in ready:
                try:
                    data = os.read(mine, 65536)
                except OSError:
                    data = b""
                if not data:
                    process.wait(60)
                    return text
                text += data.decode(errors="replace")
            elif PROMPT.search(ANSI.sub("", text[seen:])):
                question = ANSI.sub("", text[seen:]).strip().splitlines()[-1]
                seen = len(text)
                self.asked.append(question)
                os.write(mine, (self.answer(question) + "\n").encode())
        raise RuntimeError(f"{words}: no end: {text[-400:]}")

    def _plain(self, text):
        """Lines as a reader sees them, places of this machine taken out."""
        text = ANSI.sub("", text).replace("\r\n", "\n").replace(str(self.folder / "data"), "~/.local/share/potreeve")
        text = re.sub(r"/dev/pts/\d+", "./board", text)
        return [line.rpartition("\r")[2].rstrip() for line in text.strip("\n").splitlines()]

    def answer(self, question):
        """Do what is asked, taking the time it takes; returns what is typed."""
        for piece, word in ANSWERS:
            if piece in question:
                return word
        if "in the air" in question:
            self.hands.lift(next(at for at, name in enumerate(self.names) if name in question))
        elif "Soaked" in question:
            for at in range(len(self.names)):
                self.hands.soak(at)
            self.wait(SOAKS_S)
        elif "How much is in the cup" in question:
            return f"{sum(self.hands.cup_ml()):.0f} g"
        elif "come out in the pot of" in question:
            return (
                "y"
                if [name for name, ml in zip(self.names, self.hands.cup_ml(), strict=True) if ml]
                == [name for name in self.names if name in question]
                else "n"
            )
        elif "run back into the tub" in question:
            return (
                "y" if self.hands.runs_back(next(at for at, name in enumerate(self.names) if name in question)) else "n"
            )
        elif "Measure that, too" in question:
            # Of whichever pump it is: no other runs meanwhile.
            for at in range(len(self.names)):
                self.hands.hang(at, True)
        elif "run " in question or "Try again" in question or "button pressed" in question:
            self.hands.take_cup()
            self.board.press(300)
            self.board.wait(lambda: not self.board.wiring.is_pressed(), 3.0)
        return "y"

    def wait(self, seconds):
        """Let the board's time pass, as a person does who soaks a pot."""
        for _ in range(math.ceil(seconds / STEP_S)):
            self.board.skip(STEP_S)
            # The tool keeps it awake meanwhile, as often in the board's time as it would.
            time.sleep(0.2)

    # ---- at the rig ----------------------------------------------------------------------

    def memory(self):
        """The state in the ledger on the board's flash."""
        copy = shutil.copy(self.folder / FLASH, self.folder / "copy.img")
        with imagefile.Image(Path(copy), boards.load(self.name).flash) as opened:
            files = opened.files()
        return ledger.choose(*[files.get(f"data/{name}") for name in ledger.SLOTS])[0]

    def press_twice(self):
        """The tray is empty, everything was seen to. A press that fell into a start or a look counts for nothing: once
        more."""
        # The board counts its looks at the button, not seconds: on a busy computer it must not be hurried.
        self._pace(0.0, NAPS)
        try:
            for _ in range(PRESSES_MOST):
                self.board.wait(lambda: self.board.asleep, 60)
                self.board.press(PRESS_MS)
                self.board.wait(lambda: not self.board.wiring.is_pressed(), 20.0)
                self.board.wait(lambda: self.board.asleep, 20.0)
                state = self.memory()
                if state is not None and not state.rig.memory and not state.rig.hold:
                    return
        finally:
            self._pace(1.0, NAPS)
        raise RuntimeError("the board takes no press")

    def away(self, days):
        """Be away while the board tends. Nobody looks: its time passes in its sleeps alone."""
        gone_s = self.board.world.now_s + days * DAY_S
        self.by_hand = len(self.board.world.deliveries)
        self._pace(0.0, math.inf)
        there = True
        while there and self.board.world.now_s <= gone_s:
            # A busy computer may need long for six days; a board that stands still is another matter.
            before_s = self.board.world.now_s
            there = self.board.wait(lambda before_s=before_s: self.board.world.now_s > before_s, TOO_LONG_S)
        self._pace(1.0, NAPS)
        if not there:
            raise RuntimeError("the board does not go on")
        self.board.wait(lambda: self.board.asleep, 60)

    def _pace(self, awake, asleep):
        """How fast the board's time passes."""
        for when, rate in (("awake", awake), ("asleep", asleep)):
            self.board.do(setattr, self.board.time, when, rate)


def main(names):
    """Go the README's road with each board named, and print it."""
    road = tour.lines((tour.ROOT / "README.md").read_text(encoding="utf-8"))
    for name in names or [tour.BOARD]:
        with tempfile.TemporaryDirectory() as folder, Walk(name, folder) as walk:
            try:
                walk.go(tour.on(name, road))
            finally:
                print(walk.text())


if __name__ == "__main__":
    main(sys.argv[1:])
