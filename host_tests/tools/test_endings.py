"""How a command ends when it is not let finish: Ctrl-C, a reader that leaves, and the kill nobody can answer."""

import contextlib
import os
import signal
import subprocess
import sys
import time

import pytest

WITHIN_S = 2.0
COMMAND = (sys.executable, "-m", "potreeve_tools")


def run(*words, **options):
    """A command in a process group of its own, as a terminal starts it: what runs in a shell's background has Ctrl-C
    ignored, and hands that on."""
    return subprocess.Popen(
        [*COMMAND, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        **options,
    )


def children(pid):
    """Process ids of all that a process has started, and of what those have."""
    told = subprocess.run(["ps", "-e", "-o", "pid=,ppid="], capture_output=True, text=True, check=True).stdout
    pairs = [tuple(map(int, line.split())) for line in told.splitlines()]
    found, grown = {pid}, True
    while grown:
        more = {child for child, parent in pairs if parent in found} - found
        found |= more
        grown = bool(more)
    return found - {pid}


def alive(pid):
    """True while a process runs; one that has ended and waits for its parent does not."""
    told = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True, check=False).stdout
    return bool(told.strip()) and not told.strip().startswith("Z")


def wait_for(what, within_s=20.0):
    until = time.monotonic() + within_s
    while not what():
        assert time.monotonic() < until
        time.sleep(0.05)


@pytest.mark.parametrize("to_all", [True, False], ids=["from the terminal", "to one process"])
@pytest.mark.parametrize(
    "words",
    [
        ("bench", "swarm", "--seeds", "40", "--jobs", "2"),
        ("bench", "swarm", "--seeds", "40"),
        ("mishaps", "--jobs", "2"),
        ("rehearse", "--days", "1000"),
    ],
    ids=lambda words: " ".join(words[:2] + words[-1:]),
)
def test_ctrl_c_ends_it_within_two_seconds(words, to_all):
    process = run(*words)
    try:
        time.sleep(4.0)
        assert process.poll() is None, process.stderr.read()
        started = children(process.pid)
        began = time.monotonic()
        os.killpg(process.pid, signal.SIGINT) if to_all else process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=20)
        assert time.monotonic() - began < WITHIN_S
    finally:
        # One that does not end would go on for an hour beside all other tests.
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    assert process.returncode == 130
    assert b"stopped" in err and b"Traceback" not in err
    wait_for(lambda: not any(map(alive, started)), 3.0)


@pytest.mark.parametrize(
    "words", [("rehearse", "--days", "2"), ("rehearse", "--days", "2", "--json"), ("--help",)], ids=" ".join
)
def test_a_reader_that_leaves_is_no_failure(words):
    process = run(*words)
    process.stdout.close()
    assert process.wait(60) == 0
    err = process.stderr.read()
    process.stderr.close()
    assert b"Traceback" not in err and b"BrokenPipe" not in err and b"Exception" not in err


@pytest.mark.parametrize("computing", [False, True])
def test_a_killed_virtual_board_leaves_nothing_behind(tmp_path, computing):
    """Its chip asked a closed wire for ever, at full load."""
    image = tmp_path / "board.img"
    if computing:
        from potreeve_tools.boards import boardfile
        from potreeve_tools.virtual import imagefile

        with imagefile.Image(image, boardfile.load("rp2040_wifi").flash) as made:
            made.write("main.py", b"while True:\n pass\n")
    process = run("virtual-board", *([] if computing else ["--ready"]), "--image", str(image))
    assert process.stdout.readline().strip()
    wait_for(lambda: children(process.pid))
    time.sleep(1.0)
    left = children(process.pid)
    process.kill()
    process.communicate(timeout=10)
    assert left
    wait_for(lambda: not any(map(alive, left)), 3.0)
