"""Opening of the virtual board. usage: start.py WIRE_FD; the first line of the input is what the board is, as JSON."""

import sys

sys.path.append(sys.argv[0].rsplit("/", 1)[0])

import power

power.on(globals(), int(sys.argv[1]), sys.stdin.readline())
