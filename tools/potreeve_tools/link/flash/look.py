"""What is on the board: its chip and MicroPython, and in one round trip every installed file and its hash."""

import json
from dataclasses import dataclass

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import chips as boardchips
from potreeve_tools.image import compiled
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash.plan import OWN_ROOTS, Present
from potreeve_tools.terminal import exits

OLDEST = (1, 26)
NEWEST_TESTED = (1, 29)
TOO_OLD = (
    "before 1.26 a timed sleep could return at once and drain the battery, and a watchdog that bit in its sleep "
    "could hang the board"
)


@dataclass(frozen=True)
class Found:
    """A board as it answered. version: numbers; mpy: format of compiled files it reads; board, manifest: text or
    None."""

    interpreter: str
    version: tuple
    mpy: int
    machine: str
    build: str
    platform: str
    blocks: int
    present: Present
    board: str | None
    manifest: str | None

    @property
    def version_text(self):
        return ".".join(str(part) for part in self.version)

    @property
    def mcu(self):
        """rp2040, rp2350, esp32 or, for a chip without a board file, ""."""
        words = self.machine.lower().replace("-", "").split()
        for name in boardchips.CHIPS:
            if name in words:
                return name
        return ""

    @property
    def runs(self):
        """Version of the firmware by its manifest, "" for none or one that can't be read."""
        try:
            return str(json.loads(self.manifest)["version"])
        except (TypeError, ValueError, KeyError):
            return ""

    @property
    def has_firmware(self):
        """Whether any file of Potreeve's package is there, whole or not."""
        return any(path.startswith(OWN_ROOTS) for path in self.present.files)


def look(board):
    """Ask a connected link.port.Board once; returns Found. Raises Stop."""
    info = board.info
    named = (images.MAIN, images.BOARD, images.MANIFEST)
    said = board.output(
        f"_installed({named!r},({images.BOARD!r},{images.MANIFEST!r}))",
        "listing and checking its files",
        timeout_s=30.0,
    )
    files, folders, texts, space = {}, [], {}, None
    try:
        for line in said.decode().splitlines():
            kind, *rest = json.loads(line)
            if kind == "f":
                files[rest[0]] = (rest[1], rest[2] or "")
            elif kind == "d":
                folders.append(rest[0])
            elif kind == "t":
                texts[rest[0]] = rest[1]
            else:
                space = rest
        block_bytes, blocks, free = space
    except (ValueError, TypeError, IndexError):
        raise exits.Stop(
            exits.NO_ANSWER, ["the board's answer makes no sense; press its reset button and try again"]
        ) from None
    manifest = texts.get(images.MANIFEST)
    present = Present(files, tuple(folders), listed_in(manifest), block_bytes, free)
    return Found(
        info["name"],
        tuple(info["version"]),
        info["mpy"] & 0xFF,
        info["machine"],
        info["build"],
        info["platform"],
        blocks,
        present,
        texts.get(images.BOARD),
        manifest,
    )


def listed_in(manifest):
    """Paths an older manifest names; nothing of one that can't be read."""
    try:
        names = json.loads(manifest)["files"]
        return tuple(name for name in names if isinstance(name, str) and ".." not in name and not name.startswith("/"))
    except (TypeError, ValueError, KeyError):
        return ()


def refuse_old(found):
    """Raise Stop when the board's interpreter must not run the firmware."""
    file = "FILE.bin --port PORT" if found.platform.startswith("esp") else "FILE.uf2"
    how = f"put a newer one on: potreeve flash --firmware {file}"
    if found.interpreter != "micropython":
        raise exits.Stop(exits.FAILED, [f"the board runs {found.interpreter}, not MicroPython; {how}"])
    if found.version[:2] < OLDEST:
        raise exits.Stop(
            exits.FAILED,
            [f"the board runs MicroPython {found.version_text}, 1.26 or newer is needed: {TOO_OLD}; {how}"],
        )
    if found.mpy != compiled.FORMAT:
        raise exits.Stop(
            exits.FAILED,
            [
                f"this MicroPython reads compiled files of format {found.mpy}, Potreeve makes format "
                f"{compiled.FORMAT} (MicroPython 1.26 to 1.29); {how}"
            ],
        )


def refuse_wrong_board(found, board):
    """Raise Stop when the board file is another machine's. board: a Board."""
    mcu = board.data["mcu"]
    if found.mcu and found.mcu != mcu:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                f'board = "{board.name}": for the chip {mcu}, but this board says it is "{found.machine}"; '
                f"its pumps' pins would be others. Give {fitting(found.mcu)}, or a board file of your own"
            ],
        )


def fitting(mcu):
    """Words for the board files that fit a chip."""
    return " or ".join(f"--board {name}" for name in boards.plain(mcu)) or "the path of a board file"
