"""Opening of the virtual board. usage: start.py WIRE_FD; the first line of the input is what the board is, as JSON."""

import sys

sys.path.append(sys.argv[0].rsplit("/", 1)[0])


def _make_room_for_names():
    """MicroPython keeps all names it meets in pools, each in one piece and twice as large as the one before. The chip's
    own names would have the firmware ask for the largest when no such piece is left, as no board has to: so it is made
    first."""
    import gc

    before = gc.mem_alloc()
    for number in range(MOST_NAMES):
        getattr(gc, "n%d" % number, None)
        # To count what is in use is to walk through the whole heap: after each name it took most of a start.
        if number % STEP == 0:
            now = gc.mem_alloc()
            if now - before > POOL_BYTES:
                return
            before = now


# A pool of 2560 names takes more than this, the one before and so many names less.
POOL_BYTES = 24000
STEP = 32
MOST_NAMES = 2560
_make_room_for_names()

import power

power.on(globals(), int(sys.argv[1]), sys.stdin.readline())
