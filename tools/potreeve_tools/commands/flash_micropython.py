"""`potreeve flash --firmware`: MicroPython itself, by drive for RP2 boards, by esptool for ESP32."""

import contextlib
import sys
import time

from potreeve_tools.link import faults, find
from potreeve_tools.link.flash import bootdrive, esp, look, uf2
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput

BACK_S = 30.0


def run(path, drive, port, wait_s, wait, say):
    """Put the file on a board. drive: its folder or None; wait: whether to wait until the board is back. Raises Stop,
    BadInput."""
    suffix = path.suffix.lower()
    if suffix == ".uf2":
        _by_drive(path, drive, wait, say)
    elif suffix == ".bin":
        if drive is not None:
            raise BadInput([f"--drive {drive}: an ESP32 has no drive; give its --port"])
        _by_esptool(path, port, say)
    else:
        raise BadInput(
            [f"{path}: neither .uf2 (RP2 boards) nor .bin (ESP32); give MicroPython's own file for this board"]
        )
    if wait:
        _wait_back(port, wait_s, say)


def _by_drive(path, folder, wait, say):
    firmware = uf2.read(path)
    drive = bootdrive.find(folder)
    bootdrive.check(firmware, drive)
    say(
        f"{path.name}: MicroPython {firmware.version[0]}.{firmware.version[1]} for {firmware.mcu}, {firmware.size:,} "
        f"bytes; {drive.path} is an {drive.mcu} in bootloader mode."
    )
    with _progress(firmware.path.stat().st_size) as on_bytes:
        bootdrive.copy(firmware, drive, on_bytes)
    say("Copied; the board takes the drive away by itself, and the system may complain about that.")
    if wait:
        bootdrive.wait_gone(drive)


def _by_esptool(path, port, say):
    esp.check(path)
    esp.write(path, port or find.find_port(), say)


def _wait_back(port, wait_s, say):
    """Until the serial port is there and MicroPython answers."""
    from potreeve_tools.link.port import open_board

    say("Waiting for the board to come back ...")
    until = time.monotonic() + max(BACK_S, wait_s)
    while True:
        try:
            with open_board(port, wait_s=5.0, service=False, leave="stay") as link:
                version = ".".join(str(part) for part in link.info["version"])
                say(f"{link.port}: {link.info['machine']}, MicroPython {version}. Next: potreeve flash")
                return
        except (faults.LinkFault, exits.Stop) as fault:
            if time.monotonic() > until:
                raise exits.Stop(
                    exits.NOT_VERIFIED,
                    [
                        "the file was written, but no board has come back on a serial port.",
                        *fault.lines,
                        f"Then see with potreeve status; the firmware needs MicroPython "
                        f"{look.OLDEST[0]}.{look.OLDEST[1]} or newer.",
                    ],
                ) from fault
            time.sleep(0.5)


@contextlib.contextmanager
def _progress(total):
    if not screen.is_terminal(sys.stderr):
        yield lambda count: None
        return
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn

    with Progress(
        TextColumn("to the drive"),
        BarColumn(complete_style=screen.LEAF, finished_style=screen.LEAF),
        DownloadColumn(),
        console=screen.console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task("bytes", total=total)
        yield lambda count: bar.update(task, advance=count)
