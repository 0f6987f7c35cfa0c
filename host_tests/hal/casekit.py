"""What the cases share. A case_* takes a `Ctx` (see runner.py): .bench, .board(name), .open(board), .hal, .folder.

Cases are written once and run in CPython and in real MicroPython, so they keep
to plain Python that both know.
"""

PUMPS = (6, 7, 8)
ENABLE = 10
ALL_OFF = [(6, 0), (7, 0), (8, 0), (10, 0)]


def raises(kind, call):
    """The exception of that kind which call() raises; fails if it does not."""
    try:
        call()
    except kind as fault:
        return fault
    raise AssertionError("nothing was raised")


def nothing():
    pass


def opened(ctx, name="rp2040_wifi", **pins):
    """A rig with a battery at 4000 mV, its event list emptied."""
    board = ctx.board(name)
    board["pins"].update(pins)
    ctx.bench.adc[board["pins"]["battery_adc"]] = 39718
    rig = ctx.open(board)
    ctx.bench.events.clear()
    return rig
