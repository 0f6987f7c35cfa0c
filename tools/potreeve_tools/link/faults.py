"""What can go wrong on the link, in plain sentences with a next step."""

import errno
import re

from potreeve_tools.image import shorter
from potreeve_tools.image.places import FIRMWARE
from potreeve_tools.terminal import details, exits

SAID = {
    "ENOSPC": "its file system is full",
    "28": "its file system is full",
    "ENOENT": "a file is missing",
    "2": "a file is missing",
    "EIO": "a device did not answer",
    "5": "a device did not answer",
    "ENODEV": "a device is missing",
    "19": "a device is missing",
    "EROFS": "its file system can't be written",
    "30": "its file system can't be written",
}


class LinkFault(exits.Stop):
    """The link failed: no port, no answer, the cable is out."""


class DeviceFault(exits.Stop):
    """The board's own program failed. kind: exception name; said: its text; details: the traceback."""

    def __init__(self, lines, kind, said, details):
        super().__init__(exits.FAILED, lines)
        self.kind, self.said, self.details = kind, said, details


HELD = "another program holds the port"


def cannot_open(port, fault):
    """LinkFault for a port that does not open. fault: the exception pyserial raised."""
    number = getattr(fault, "errno", None)
    text = str(fault)
    if number is None:
        found = re.search(r"\[Errno (\d+)\]", text)
        number = int(found.group(1)) if found else None
    if number in (errno.EACCES, errno.EPERM):
        lines = [
            f"{port}: no permission to open it.",
            "Add yourself to the group that owns it (on Debian: sudo adduser $USER dialout), "
            "log in anew and try again.",
        ]
    elif "lock" in text.lower() or number in (errno.EBUSY, errno.EAGAIN):
        lines = [f"{port}: {HELD}.", "Close it (a serial monitor, an editor, another potreeve) and try again."]
    elif number in (errno.ECONNREFUSED, errno.ECONNRESET, errno.ETIMEDOUT):
        lines = [f"{port}: nothing listens there.", "Start potreeve virtual-board --tcp, or correct the address."]
    elif number in (errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.EIO) or "could not open port" in text:
        lines = [
            f"{port}: there is no such port.",
            "Check the cable (it must carry data) and the name; without --port the board is looked for.",
        ]
    else:
        lines = [
            f"{port}: can't be opened ({text or type(fault).__name__}).",
            "Check the name; a board is a device such as /dev/ttyACM0, COM5, or socket://HOST:PORT.",
        ]
    return LinkFault(exits.NO_DEVICE, lines)


def gone(port):
    return LinkFault(
        exits.NO_ANSWER,
        [
            f"{port}: the connection broke off; the cable was pulled or the board went away.",
            "Plug it in again and repeat the command: it goes on where it stopped.",
        ],
    )


def not_back(port, fault):
    """LinkFault for a board that was restarted and whose port does not open again. fault: why, see cannot_open."""
    return LinkFault(
        exits.NO_ANSWER,
        [
            f"{port}: the board was restarted and its port did not come back. {fault.lines[0]}",
            "Plug it in again, close what else may have its port open, and repeat the command.",
        ],
    )


def another(port):
    """LinkFault for a port at which, after a restart, another board answers."""
    return LinkFault(
        exits.NO_ANSWER,
        [
            f"{port}: the board was restarted, and another board answers there now.",
            "Unplug the others, plug it in again and repeat the command, with --port if its name changed.",
        ],
    )


def silent(port, doing):
    return LinkFault(
        exits.NO_ANSWER,
        [
            f"{port}: the board stopped answering while {doing}.",
            "Repeat the command; if it stays silent, press its reset button or unplug it for a moment.",
        ],
    )


def no_attention(port, waited_s):
    return LinkFault(
        exits.NO_ANSWER,
        [
            f"{port}: no answer from a board in {waited_s:.0f} s; it sleeps, or no MicroPython runs on it.",
            "Press its button: a board asleep may not notice that it was plugged in. If that is not enough, hold the "
            "button while you plug it in or press reset, until both LEDs light: that is service mode. Then repeat the "
            "command.",
            "If it stays silent, its files may be damaged: repeat the command while you press its reset button.",
        ],
    )


def device_fault(error_output, doing):
    """DeviceFault for a traceback from the board; the whole of it goes to a file."""
    last = [line for line in error_output.replace("\r", "").split("\n") if line.strip()] or ["(nothing)"]
    kind, _, said = last[-1].partition(":")
    said = said.strip()
    found = re.match(r"(?:\[Errno )?(E?[A-Z0-9]+)", said)
    meaning = SAID.get(found.group(1)) if kind == "OSError" and found else None
    if kind == "MemoryError":
        meaning = "its memory is too small or too cut up"
    trace = shorter.in_full(error_output.replace("\r", ""), FIRMWARE)
    path = details.write_down("board", f"while {doing}\n\n{trace}")
    what = meaning or f"{kind}{': ' + said if said else ''}"
    return DeviceFault(
        [f"the board failed while {doing}: {what}.", f"The details are in {path}."], kind, said, error_output
    )
