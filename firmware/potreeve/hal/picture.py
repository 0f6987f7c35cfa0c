"""What a display shows, in its memory and ours: drawn by MicroPython's own framebuf, loaded while it is lit."""

import framebuf

WIDTH = 128
HEIGHT = 64

# Bytes of the picture in one write. The bus is given free that often, and a write is short beside the watchdog.
PIECE = 32

# What stands before bytes of the picture.
_DATA = 0x40

# 64 rows, no offset, from row 0; columns and rows as seen with the plug on top; rows wired alternately; middle
# contrast; what the memory holds, lit where it is 1; clock; charge pump on; address by rows.
_START = b"\xa8\x3f\xd3\x00\x40\xa1\xc8\xda\x12\x81\x7f\xa4\xa6\xd5\x80\x8d\x14\x20\x00"
# From the first column and row on, to the last.
_WHOLE = b"\x21\x00\x7f\x22\x00\x07"
_ON = b"\xaf"


class Picture:
    """chip: hal.display.Ssd1306."""

    def __init__(self, chip):
        self._chip = chip
        self._lit = False
        self._buffer = bytearray(WIDTH * HEIGHT // 8)
        self._piece = bytearray(PIECE + 1)

    def show(self, strokes):
        """Draw a page and have it shown."""
        chip = self._chip
        draw(self._buffer, strokes)
        if not self._lit:
            chip.command(_START)
        chip.command(_WHOLE)
        piece = self._piece
        piece[0] = _DATA
        for at in range(0, len(self._buffer), PIECE):
            piece[1:] = self._buffer[at : at + PIECE]
            chip.write(piece)
        if not self._lit:
            # Only now: what its memory held before is noise.
            chip.command(_ON)
            self._lit = True


def draw(buffer, strokes):
    """Fill a buffer of WIDTH * HEIGHT / 8 bytes, in the chip's own order, with a page."""
    frame = framebuf.FrameBuffer(buffer, WIDTH, HEIGHT, framebuf.MONO_VLSB)
    frame.fill(0)
    for stroke in strokes:
        if stroke[0] == "big":
            _big(frame, *stroke[1:])
        else:
            getattr(frame, stroke[0])(*stroke[1:])


def _big(frame, text, x, y):
    """Text in dots of twice the size."""
    wide = 8 * len(text)
    small = framebuf.FrameBuffer(bytearray(wide), wide, 8, framebuf.MONO_VLSB)
    small.text(text, 0, 0)
    for column in range(wide):
        for row in range(8):
            if small.pixel(column, row):
                frame.fill_rect(x + 2 * column, y + 2 * row, 2, 2, 1)
