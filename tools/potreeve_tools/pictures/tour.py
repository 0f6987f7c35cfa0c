"""Goes from a bare board to a tended pot, and puts what the commands print into the README.

A line `<!-- board -->` is followed by a block of code; its lines that begin with
`$ ` are run, in order, against one virtual board, and all else in the block is
replaced by what they print. `<!-- board head=10 tail=4 -->` keeps the first and
the last lines of each command's output.
"""

import contextlib
import io
import os
import re
import shlex
import shutil
import tempfile
from pathlib import Path

from potreeve.logic import ledger

from potreeve_tools import cli
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link import calibrate_bench
from potreeve_tools.owner import calibrate_talk, commission
from potreeve_tools.settings import settings_toml
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.virtual.hands import Hands
from potreeve_tools.world.rigfile import load_rig

BOARD = "rp2040_wifi"
BLOCK = re.compile(r"(<!-- board(?: head=(\d+) tail=(\d+))? -->\n```text\n)(.*?)(```)", re.S)
AWAY_DAYS = 3
BRISK = 4.0
PRESSES_MOST = 6
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
        for _ in range(PRESSES_MOST):
            self.board.press(2600)
            self.board.wait(lambda: False, 8.0)
            rig = kept(FLASH).rig
            if not rig.memory and not rig.hold:
                return
        raise SystemExit("the board takes no press")


def kept(flash):
    """The state in the ledger on a flash image."""
    shutil.copy(flash, "copy.img")
    with imagefile.Image(Path("copy.img"), boards.load(BOARD).flash) as opened:
        files = opened.files()
    return ledger.choose(*[files.get(f"data/{name}") for name in ledger.SLOTS])[0]


def printed(command, folder):
    """What a command prints, both streams as they come, places of this machine taken out."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        cli.guarded(lambda: cli.cli.main(shlex.split(command)[1:], standalone_mode=False))
    text = out.buffer.getvalue().decode("utf-8").replace(f"{folder}/data", "~/.local/share/potreeve")
    text = re.sub(r"/dev/pts/\d+", "./board", text)
    return [line.rstrip() for line in text.strip("\n").splitlines()]


def refreshed(text):
    """README text with every block of the tour made anew."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        os.environ.update(POTREEVE_DATA_DIR=f"{folder}/data", COLUMNS="120", NO_COLOR="1")
        settings = commission.make_settings(load_rig(), boards.load(BOARD).device_dict(), 1)
        for channel in settings["channels"]:
            channel.update(curve=(), pump_ul_s=0, pump_cal_mv=0)
        Path("my.toml").write_text(settings_toml.to_toml(settings), encoding="utf-8")
        with VirtualBoard(BOARD, image=FLASH, link="./board", usb=False, awake=1.0, asleep=20000.0) as board:
            owner = Owner(board)

            def now(found):
                lines = []
                for command in [line for line in found[4].splitlines() if line.startswith("$ ")]:
                    owner.before(command)
                    told = printed(command[2:], folder)
                    if found[2] and len(told) > int(found[2]) + int(found[3]):
                        told = [*told[: int(found[2])], "  ...", *told[len(told) - int(found[3]) :]]
                    lines += ["", command, *told] if lines else [command, *told]
                return found[1] + "\n".join(lines) + "\n" + found[5]

            return BLOCK.sub(now, text)
