"""The drive a board shows in bootloader mode: find it, check it, copy MicroPython onto it."""

import getpass
import os
import string
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.link.flash import look, uf2
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

INFO = "INFO_UF2.TXT"
PIECE = 64 * 1024
LEAVES_S = 15

HOW = (
    "hold the board's BOOTSEL button while plugging in its cable, then a drive named RPI-RP2 or RP2350 appears; "
    "where it is not mounted by itself, use udisksctl mount -b /dev/disk/by-label/RPI-RP2, or name its folder with "
    "--drive DIR"
)


@dataclass(frozen=True)
class Drive:
    """A board in bootloader mode. path: its folder; mcu: its chip."""

    path: Path
    mcu: str


def places():
    """Folders in which this system shows drives."""
    if sys.platform == "darwin":
        return [Path("/Volumes")]
    if os.name == "nt":
        return []
    try:
        user = getpass.getuser()
    except (OSError, KeyError):
        user = ""
    return [Path(place) for place in (f"/media/{user}", f"/run/media/{user}", "/media", "/mnt")]


def find(wanted=None, within=None):
    """The Drive of a folder, or the only one there is. Raises Stop or BadInput. within: where to look, for tests."""
    if wanted is not None:
        return _drive(Path(wanted))
    roots = places() if within is None else [Path(place) for place in within]
    folders = [folder for root in roots if root.is_dir() for folder in _entries(root) if _is_file(folder / INFO)]
    if os.name == "nt":
        folders = [Path(f"{letter}:/") for letter in string.ascii_uppercase[3:] if _is_file(Path(f"{letter}:/{INFO}"))]
    folders = sorted(set(folders))
    if not folders:
        raise exits.Stop(exits.NO_DEVICE, [f"no board in bootloader mode; {HOW}"])
    if len(folders) > 1:
        raise exits.Stop(
            exits.NO_DEVICE,
            ["several boards in bootloader mode; choose one: " + ", ".join(f"--drive {folder}" for folder in folders)],
        )
    return _drive(folders[0])


def _entries(folder):
    try:
        return list(folder.iterdir())
    except OSError:
        return []


def _is_file(path):
    try:
        return path.is_file()
    except OSError:
        return False


def _drive(folder):
    try:
        text = (folder / INFO).read_text(encoding="utf-8", errors="replace")
    except OSError as fault:
        raise BadInput(
            [
                f"{folder / INFO}: can't be read: {fault.strerror or fault}; give the folder of a board in "
                "bootloader mode"
            ]
        ) from None
    name = uf2.board_id(text)
    if name not in uf2.DRIVE_IDS:
        raise BadInput(
            [f'{folder / INFO}: Board-ID = "{name}": not a board Potreeve knows; it takes ' + ", ".join(uf2.DRIVE_IDS)]
        )
    return Drive(folder, uf2.DRIVE_IDS[name])


def check(firmware, drive):
    """Raise Stop unless this file may go on this drive."""
    if firmware.mcu != drive.mcu:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                f"{firmware.path}: for {firmware.mcu}, but the board at {drive.path} is an {drive.mcu}; it would be "
                f"copied and ignored. Give MicroPython's .uf2 for {drive.mcu}"
            ],
        )
    if firmware.version is None:
        raise exits.Stop(
            exits.BAD_INPUT, [f"{firmware.path}: names no MicroPython version; give MicroPython's own .uf2 file"]
        )
    if firmware.version < look.OLDEST:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                f"{firmware.path}: MicroPython {firmware.version[0]}.{firmware.version[1]}, 1.26 or "
                f"newer is needed: {look.TOO_OLD}; download a newer one"
            ],
        )


def copy(firmware, drive, on_bytes=lambda count: None):
    """Copy the file. The board takes the drive away as soon as it has the last block, so an error then is none."""
    data = firmware.path.read_bytes()
    sent = 0
    try:
        with open(drive.path / firmware.path.name, "wb") as file:
            while sent < len(data):
                file.write(data[sent : sent + PIECE])
                file.flush()
                os.fsync(file.fileno())
                sent = min(len(data), sent + PIECE)
                on_bytes(min(PIECE, len(data)))
    except OSError as fault:
        if sent < len(data) - PIECE:
            raise exits.Stop(
                exits.NOT_VERIFIED,
                [
                    f"{drive.path}: copying broke off after {sent} of {len(data)} bytes ({fault.strerror or fault}); "
                    "the board is still in bootloader mode or can be put there again: run the same command"
                ],
            ) from None


def wait_gone(drive, seconds=LEAVES_S, sleep=time.sleep):
    """Wait until the drive is gone, as it is when the board has taken the file. Raises Stop if it stays."""
    for _ in range(int(seconds * 5)):
        if not _is_file(drive.path / INFO):
            return
        sleep(0.2)
    raise exits.Stop(
        exits.NOT_VERIFIED,
        [
            f"{drive.path}: the board did not start what was copied; unplug it, plug it in "
            "with BOOTSEL held, and try again with another download of the file"
        ],
    )
