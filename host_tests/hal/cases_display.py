"""The display: dark unless shown, byte for byte what framebuf drew, and gone from the bus without harm.

In CPython, which has no framebuf, its place is taken by one that draws nothing: there only what goes over the bus
counts.
"""

import sys

from casekit import opened, raises
from displaychip import Ssd1306

ADDRESS = 0x3C
STROKES = (
    ("text", "Hello", 3, 5, 1),
    ("rect", 0, 40, 128, 24, 1),
    ("big", "7", 50, 20),
    ("ellipse", 100, 20, 9, 5, 1, 1),
)
FEW_MS = {100000: 110, 400000: 30}


def draw(buffer, strokes):
    """As the board's own module does, which is loaded only while the display is lit."""
    from potreeve.hal import picture

    picture.draw(buffer, strokes)


def _wired(ctx, chip, kind="ssd1306"):
    if chip:
        ctx.bench.devices[ADDRESS] = chip
    board = ctx.board("rp2040_wifi")
    board["extras"] = {"display": kind, "display_address": ADDRESS}
    return ctx.open(board)


def case_a_board_without_a_display_has_none_and_loads_nothing(ctx):
    rig = opened(ctx)
    assert rig.display is None
    assert "potreeve.hal.display" not in sys.modules
    assert not [event for event in ctx.bench.events if event[:2] == ("i2c", ADDRESS)]


def case_extras_without_a_display_have_none(ctx):
    chip = Ssd1306()
    assert _wired(ctx, chip, "none").display is None
    board = ctx.board("rp2040_wifi")
    board["extras"] = {}
    assert ctx.open(board).display is None
    assert not chip.writes


def case_a_display_left_lit_by_a_reset_is_switched_off(ctx):
    chip = Ssd1306()
    chip.on = chip.pump = True
    rig = _wired(ctx, chip)
    assert not chip.lit
    assert rig.display.answers() == 1
    assert not chip.lit
    # Pumps off came first of all.
    assert ctx.bench.first("pin") < ctx.bench.first("i2c")


def case_a_page_reaches_the_glass_byte_for_byte(ctx):
    chip = Ssd1306()
    rig = _wired(ctx, chip)
    rig.display.show(STROKES)
    drawn = bytearray(1024)
    draw(drawn, STROKES)
    assert chip.memory == drawn
    assert chip.lit
    if sys.implementation.name == "micropython":
        # The first column of an H in MicroPython's font, three dots in and five down.
        assert drawn[3:6] == b"\x00\xe0\xe0" and drawn[131:134] == b"\x00\x0f\x0f"
    rig.display.show(STROKES[:1])
    draw(drawn, STROKES[:1])
    assert chip.memory == drawn
    rig.display.off()
    assert not chip.lit and not chip.pump


def case_it_is_lit_only_once_the_picture_is_there(ctx):
    chip = Ssd1306()
    rig = _wired(ctx, chip)
    seen = []
    write = chip.write

    def watched(data):
        write(data)
        seen.append((chip.lit, bytes(chip.memory).count(b"\xa5")))

    chip.write = watched
    rig.display.show(STROKES)
    assert [noise for lit, noise in seen if lit] == [0]


def case_a_refresh_takes_as_many_bits_as_reckoned(ctx):
    chip = Ssd1306()
    rig = _wired(ctx, chip)
    rig.display.show(STROKES)
    before = chip.bits, chip.writes
    rig.display.show(STROKES)
    bits, writes = chip.bits - before[0], chip.writes - before[1]
    # Six commands behind their control byte; 32 pieces of 32 bytes, each behind its own; an address before each write.
    assert writes == 33
    assert bits == 9 * (1 + 1 + 6) + 32 * 9 * (1 + 1 + 32) + 33 * 2
    for hz in FEW_MS:
        assert bits * 1000 // hz < FEW_MS[hz]


def case_no_display_at_all_leaves_the_board_whole(ctx):
    rig = _wired(ctx, None)
    assert rig.display is not None
    raises(OSError, rig.display.answers)
    raises(OSError, lambda: rig.display.show(STROKES))
    raises(OSError, rig.display.off)


def case_gone_at_any_write_it_raises_and_comes_back_whole(ctx):
    for left in range(40):
        chip = Ssd1306()
        rig = _wired(ctx, chip)
        chip.left = left
        if left < 35:
            raises(OSError, lambda: rig.display.show(STROKES))
            raises(OSError, rig.display.off)
        else:
            rig.display.show(STROKES)
        chip.left = None
        chip.memory[:] = bytes(1024)
        rig.display.off()
        rig.display.show(STROKES)
        drawn = bytearray(1024)
        draw(drawn, STROKES)
        assert chip.memory == drawn and chip.lit
        ctx.bench.events.clear()
        ctx.fresh()
