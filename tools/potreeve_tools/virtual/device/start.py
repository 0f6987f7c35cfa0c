"""Opening of the virtual board. usage: start.py WIRE_FD; the first line of the input is what the board is, as JSON."""

import sys

sys.path.append(sys.argv[0].rsplit("/", 1)[0])


def _make_room_for_names():
    """MicroPython keeps all names it meets in pools, each in one piece and twice as large as the one before: 20, 40,
    ... 1280, 2560. The chip's own names would have the firmware ask for a large one when no such piece is left, as no
    board has to: so nearly as many as the first eight hold are made first; the ninth comes while the heap is empty."""
    for number in range(2500):
        getattr(None, "n%d" % number, None)


_make_room_for_names()

import power

power.on(globals(), int(sys.argv[1]), sys.stdin.readline())
