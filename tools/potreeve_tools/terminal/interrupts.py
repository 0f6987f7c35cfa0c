"""Ctrl-C ends any command within two seconds, whatever it was doing.

It raises KeyboardInterrupt as always, so that files are closed and a board is let
go. What has not ended by itself after GRACE_S is ended from outside: nothing that
is written needs a last step, see files.write_whole and link/flash/plan.py.
"""

import contextlib
import os
import select
import signal
import sys
import threading

from potreeve_tools.terminal.exits import INTERRUPTED

GRACE_S = 1.5
SAID = "potreeve: stopped; nothing is left half done"


def arm():
    """From now on Ctrl-C counts down. For the main thread of a program of its own."""
    if threading.current_thread() is threading.main_thread() and signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
        signal.signal(signal.SIGINT, _interrupted)


def _interrupted(number, frame):
    # Not twice: a second Ctrl-C in the clearing up must not leave it undone.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    last = threading.Timer(GRACE_S, _end)
    last.daemon = True
    last.start()
    # Raised in a callback from C it would be printed and dropped: then the countdown ends the command.
    sys.unraisablehook = sys.excepthook = lambda *fault: None
    raise KeyboardInterrupt


def _end():
    with contextlib.suppress(OSError, ValueError):
        os.write(2, f"{SAID}\n".encode())
    os._exit(INTERRUPTED)


def reader_is_gone():
    """True when whoever read what is printed has left, as `head` does; what else is printed goes nowhere then."""
    gone = [stream for stream in (sys.stdout, sys.stderr) if _reader_left(stream)]
    for stream in gone:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    return bool(gone)


def _reader_left(stream):
    try:
        watch = select.poll()
        watch.register(stream.fileno(), 0)
        return any(what & (select.POLLERR | select.POLLHUP) for _, what in watch.poll(0))
    except (OSError, ValueError, AttributeError):
        return False
