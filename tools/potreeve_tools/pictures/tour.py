"""Goes from a bare board to a tended pot, and puts what the commands print into a page.

A line `<!-- board -->` is followed by a block of code; its lines that begin with
`$ ` are run, in order, against one virtual board, and all else in the block is
replaced by what they print. `<!-- board head=10 tail=4 -->` keeps the first and
the last lines of each command's output, `head=0 tail=0` nothing but the commands. Nothing is agreed to beforehand: each
question waits for an answer, and gets one from Owner.
"""

import contextlib
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from pathlib import Path

import click
from potreeve.logic import ledger

from potreeve_tools import cli
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link import calibrate_bench
from potreeve_tools.owner import calibrate_talk
from potreeve_tools.terminal import screen
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.virtual.hands import Hands

BOARD = "rp2040_wifi"
BLOCK = re.compile(r"(<!-- board(?: head=(\d+) tail=(\d+))? -->\n```text\n)(.*?)(```)", re.S)
AWAY_DAYS = 3
BRISK = 4.0
PRESSES_MOST = 12
UNHURRIED = 200.0
FLASH = Path("flash.img")


class Owner:
    """Somebody at the rig who does what the calibration asks for, and then says so."""

    def __init__(self, board):
        self.board, self.hands, self.channel = board, Hands(board), 0
        self.confirm, calibrate_talk.Talk.confirm = (
            calibrate_talk.Talk.confirm,
            lambda talk, *asked: self.act(talk, *asked),
        )
        calibrate_talk.Talk.amount_ul = lambda talk, *asked: self.amount(talk, *asked)
        calibrate_bench.SLEEP = board.skip
        click.confirm = self.agree
        screen.is_terminal = self.sits_there

    def sits_there(self, stream):
        """Somebody types; what is printed goes into a page."""
        return stream is sys.stdin

    def agree(self, question, default=None, err=False, **_):
        """Read the question and say yes."""
        click.echo(f"{question} [{'Y/n' if default else 'y/N'}]: y", err=err)
        return True

    def act(self, talk, name, question):
        """Do what is asked, then answer as the command's options say."""
        self.hands.oblige(name, self.channel)
        return self.confirm(talk, name, question)

    def amount(self, talk, name, question):
        """Weigh the cup."""
        text = f"{self.hands.cup_ml()[self.channel]:.0f} g"
        talk.say(f"{question} {text}")
        return calibrate_talk.parse_amount(text)

    def before(self, command):
        """What an owner does before a command of the tour, without being asked."""
        names = [channel.name for channel in self.board.world.channels]
        self.channel = next((index for index, name in enumerate(names) if name in command), 0)
        for index in range(len(names)):
            self.hands.hang(index, False)
        if "wiring" in command:
            # A day has passed since the memory began, and the tray was seen to be empty.
            self.board.hard_reset()
            self.board.wait(lambda: False, 8.0)
            self.press_twice()
            self.away(1.2)
            if kept(FLASH).rig.hold:
                # Pots that were all soaked at once may look as if they stood in water; such a hold ends by itself.
                self.away(1.2)
        elif "status" in command:
            self.away(AWAY_DAYS)

    def away(self, days):
        """Be away while the board tends."""
        gone_s = self.board.world.now_s + days * 86400
        self.board.do(setattr, self.board.time, "awake", BRISK)
        self.board.wait(lambda: self.board.world.now_s > gone_s, 600)
        self.board.do(setattr, self.board.time, "awake", 1.0)

    def press_twice(self):
        """The tray is empty, everything was seen to. A press that fell into a start or a look counts for nothing: once
        more."""
        pace = self.board.time.asleep
        self.board.do(setattr, self.board.time, "asleep", UNHURRIED)  # a nap long enough to be met in
        try:
            for _ in range(PRESSES_MOST):
                self.board.wait(lambda: self.board.asleep, 60)
                self.board.press(2600)
                self.board.wait(lambda: False, 8.0)
                rig = kept(FLASH).rig
                if not rig.memory and not rig.hold:
                    return
        finally:
            self.board.do(setattr, self.board.time, "asleep", pace)
        raise SystemExit("the board takes no press")


def kept(flash):
    """The state in the ledger on a flash image."""
    shutil.copy(flash, "copy.img")
    with imagefile.Image(Path("copy.img"), boards.load(BOARD).flash) as opened:
        files = opened.files()
    return ledger.choose(*[files.get(f"data/{name}") for name in ledger.SLOTS])[0]


def printed(command, folder):
    """What a command prints, both streams as they come, places of this machine taken out. Ends the tour if it fails."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        code = cli.guarded(lambda: cli.cli.main(shlex.split(command)[1:], standalone_mode=False))
    text = out.buffer.getvalue().decode("utf-8").replace(f"{folder}/data", "~/.local/share/potreeve")
    text = re.sub(r"/dev/pts/\d+", "./board", text)
    if code:
        raise SystemExit(f"{command}\n{text}\nended with {code}: a reader of the page would be stuck here")
    return [line.rstrip() for line in text.strip("\n").splitlines()]


def shortened(told, head, tail):
    """The first and last lines of an output; none at all where neither is wanted."""
    if not head and not tail:
        return []
    return told if len(told) <= head + tail else [*told[:head], "  ...", *told[len(told) - tail :]]


def refreshed(text):
    """A page's text with every block of the tour made anew."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        os.environ.update(POTREEVE_DATA_DIR=f"{folder}/data", COLUMNS="120", NO_COLOR="1")
        with VirtualBoard(BOARD, image=FLASH, link="./board", usb=False, awake=1.0, asleep=20000.0) as board:
            owner = Owner(board)

            def now(found):
                lines = []
                for command in [line for line in found[4].splitlines() if line.startswith("$ ")]:
                    owner.before(command)
                    told = printed(command[2:], folder)
                    if found[2]:
                        told = shortened(told, int(found[2]), int(found[3]))
                    lines += ["", command, *told] if lines and told else [command, *told]
                return found[1] + "\n".join(lines) + "\n" + found[5]

            return BLOCK.sub(now, text)
