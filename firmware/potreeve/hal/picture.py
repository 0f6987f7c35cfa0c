"""What a display shows, in its memory and ours: drawn by MicroPython's own framebuf, loaded while it is lit."""

import framebuf

WIDTH = 128
HEIGHT = 64

# Bytes of the picture in one write. The bus is given free that often, and a write is short beside the watchdog.
PIECE = 32

# V-2nd, M: where a value is from, see display.py.
# What stands before bytes of the picture: no continuation, all that follow are data (V-2nd).
_DATA = 0x40

_START = (
    b"\xa8\x3f"  # 64 rows: one less is said (V-2nd)
    b"\xd3\x00"  # no offset, as after a reset (V-2nd)
    b"\x40"  # from row 0 of its memory (V-2nd)
    b"\xa1"  # column 127 at the first segment (V-2nd): as seen with the plug on top (M)
    b"\xc8"  # rows from the last to the first (V-2nd), likewise (M)
    b"\xda\x12"  # rows wired alternately, sides not exchanged, as after a reset (V-2nd)
    b"\x81\x7f"  # middle contrast, as after a reset (V-2nd)
    b"\xa4"  # what the memory holds (V-2nd)
    b"\xa6"  # lit where it is 1 (V-2nd)
    b"\xd5\x80"  # clock undivided, oscillator as after a reset (V-2nd)
    b"\x8d\x14"  # charge pump on while the display is (V-2nd)
    b"\x20\x00"  # address by columns, then rows (V-2nd)
)
# From the first column (M) and row (V-2nd) on, to the last.
_WHOLE = b"\x21\x00\x7f\x22\x00\x07"
# Lit (V-2nd), after the charge pump was switched on (V-2nd).
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
