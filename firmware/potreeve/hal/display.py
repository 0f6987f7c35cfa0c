"""A display of 128 x 64 dots over I2C: SSD1306, by its data sheet (rev 1.5: commands in table 9, order of the start in
the application note's figure 2; from memory).

It decides nothing: what is drawn comes as strokes from logic/face.py, and MicroPython's own framebuf draws them.
Whatever the bus does comes out as OSError. Dark, the chip and its charge pump sleep, at 10 uA or less.
"""

WIDTH = 128
HEIGHT = 64

# Bytes of the picture in one write. The bus is given free that often, and a write is short beside the watchdog.
PIECE = 32

# What stands before commands, and before bytes of the picture.
_COMMANDS = b"\x00"
_DATA = 0x40

# Do nothing: asks whether somebody is there.
_NOP = b"\xe3"
# Dark, charge pump off.
_OFF = b"\xae\x8d\x10"
# 64 rows, no offset, from row 0; columns and rows as seen with the plug on top; rows wired alternately; middle
# contrast; what the memory holds, lit where it is 1; clock; charge pump on; address by rows.
_START = b"\xa8\x3f\xd3\x00\x40\xa1\xc8\xda\x12\x81\x7f\xa4\xa6\xd5\x80\x8d\x14\x20\x00"
# From the first column and row on, to the last.
_WHOLE = b"\x21\x00\x7f\x22\x00\x07"
_ON = b"\xaf"


class Ssd1306:
    """rig.display. After a reset in mid-show it may be lit still: it begins by being switched off."""

    def __init__(self, i2c, address):
        self._i2c = i2c
        self._address = address
        # Room for the picture, while it is lit.
        self._buffer = None
        try:
            self.off()
        except OSError:
            pass

    def answers(self):
        """1; OSError where nothing answers."""
        self._command(_NOP)
        return 1

    def show(self, strokes):
        """Draw a page and light it; OSError where the display goes meanwhile. strokes: see logic/face.py."""
        first = self._buffer is None
        if first:
            self._buffer = bytearray(WIDTH * HEIGHT // 8)
        draw(self._buffer, strokes)
        if first:
            self._command(_START)
        self._command(_WHOLE)
        piece = bytearray(PIECE + 1)
        piece[0] = _DATA
        for at in range(0, len(self._buffer), PIECE):
            piece[1:] = self._buffer[at : at + PIECE]
            self._i2c.writeto(self._address, piece)
        if first:
            # Only now: what its memory held before is noise.
            self._command(_ON)

    def off(self):
        """Dark; OSError where it does not answer."""
        self._buffer = None
        self._command(_OFF)

    def _command(self, what):
        self._i2c.writeto(self._address, _COMMANDS + what)


def draw(buffer, strokes):
    """Fill a buffer of WIDTH * HEIGHT / 8 bytes, in the chip's own order, with a page."""
    import framebuf

    frame = framebuf.FrameBuffer(buffer, WIDTH, HEIGHT, framebuf.MONO_VLSB)
    frame.fill(0)
    for stroke in strokes:
        if stroke[0] == "big":
            _big(frame, framebuf, *stroke[1:])
        else:
            getattr(frame, stroke[0])(*stroke[1:])


def _big(frame, framebuf, text, x, y):
    """Text in dots of twice the size."""
    wide = 8 * len(text)
    small = framebuf.FrameBuffer(bytearray(wide), wide, 8, framebuf.MONO_VLSB)
    small.text(text, 0, 0)
    for column in range(wide):
        for row in range(8):
            if small.pixel(column, row):
                frame.fill_rect(x + 2 * column, y + 2 * row, 2, 2, 1)
