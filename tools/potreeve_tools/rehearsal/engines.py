"""The interpreters that can run the firmware in a rehearsal.

Each engine runs standins/start.py with the unchanged firmware tree, in
MicroPython compiled as a board is sent it; all that differs is how text reaches the simulated rig and where files live.
"""

import subprocess
import sys
from pathlib import Path

from potreeve_tools.image import compiled
from potreeve_tools.image.places import FIRMWARE
from potreeve_tools.terminal.faultlist import BadInput

STANDINS = Path(__file__).resolve().parents[1] / "standins"
PROOFS = STANDINS / "proofs"

# Objects of a 64-bit MicroPython are about twice as large as a board's, so the
# heap a board has is doubled here to mean the same.
WORD_RATIO = 2

# What the simulated rig's own code takes of that heap, which no board carries
# (measured: 12.7 KB, and some room for what it is asked).
SIMULATED_BYTES = 16 * 1024

# A board that loses its memory asleep has a new heap at each wake. Here one heap
# lives through them all and goes to pieces; this much makes up for that.
PIECES_BYTES = 64 * 1024

# Nor is anything let go of here before the radio is loaded, as such a board does (sending.py); what it takes is
# measured by bench/footprint.py.
RADIO_BYTES = 64 * 1024

OLDEST = (1, 26)


class RehearsalBroke(Exception):
    """The firmware crashed or the interpreter ended; the text is its last words."""


def unix_version():
    """(name, version text) of the unix MicroPython; raises BadInput below 1.26."""
    code = "import sys; print(*sys.implementation.version[:3])"
    done = subprocess.run([*_unix_command("4m"), "-c", code], capture_output=True, text=True, timeout=30, check=False)
    words = done.stdout.split()
    if done.returncode or len(words) < 2:
        raise BadInput([f"micropython: the interpreter does not start ({done.stderr.strip()}); run the set-up again"])
    if (int(words[0]), int(words[1])) < OLDEST:
        raise BadInput(
            [
                f"micropython = {'.'.join(words)}: too old, 1.26 or newer is needed (sleep and "
                "watchdog faults before it); run the set-up again"
            ]
        )
    return ".".join(words)


def _unix_command(heap):
    return [
        sys.executable,
        "-c",
        "import sys; from micropython_unix import main; sys.exit(main())",
        "-X",
        f"heapsize={heap}",
    ]


def run_unix(session, *more):
    """Run a session in the unix MicroPython, its heap limited as on the board.

    more: words for standins/unix_start.py.
    """
    board = session.board
    flash = board["flash"]
    pieces = 0 if board["keeps_ram"] else PIECES_BYTES
    if session.air is not None and not board["keeps_ram"]:
        pieces += RADIO_BYTES
    heap_bytes = pieces + WORD_RATIO * board["heap"]["bytes"] + SIMULATED_BYTES + flash["blocks"] * flash["block_bytes"]
    command = [
        *_unix_command(f"{heap_bytes // 1024}k"),
        str(STANDINS / "unix_start.py"),
        str(FIRMWARE / "main.py"),
        *more,
    ]
    modules = compiled.folder(FIRMWARE)
    path = ":".join(str(p) for p in (STANDINS, modules, modules / "potreeve" / "hal", ".frozen"))
    with subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={"MICROPYPATH": path, "PATH": "/usr/bin:/bin"},
    ) as process:
        try:
            _serve(session, process)
        finally:
            process.kill()


def _serve(session, process):
    ask, reply = process.stdout, process.stdin
    handle = session.handle
    while True:
        line = ask.readline()
        if not line:
            break
        answer = handle(line[:-1].decode())
        try:
            reply.write(answer.encode() + b"\n")
            reply.flush()
        except BrokenPipeError:
            break
    if process.wait(10) or not session.over:
        raise RehearsalBroke(
            (session.last_words + process.stderr.read().decode(errors="replace")).strip()
            or f"the interpreter ended with code {process.returncode}"
        )


def run_wasm(session):
    """Run a session in the 32-bit MicroPython (WebAssembly, 31-bit small integers)."""
    from potreeve_tools.rehearsal import wasm

    try:
        wasm.run(session, FIRMWARE, STANDINS)
    except wasm.Broke as fault:
        raise RehearsalBroke(f"{fault}\n{session.last_words}".strip()) from fault


def run_cpython(session):
    """Run a session in this process, on littlefs-python in the board's geometry."""
    from potreeve_tools.rehearsal import cpython

    cpython.run(session, FIRMWARE, STANDINS)


ENGINES = {"micropython": run_unix, "cpython": run_cpython, "micropython32": run_wasm}
