"""The display's memory as a picture: PNG, and rows of text for a terminal."""

import struct
import zlib

WIDTH, HEIGHT = 128, 64
LIT, DARK, GLASS, SHEET = (233, 241, 220), (24, 30, 24), (40, 47, 40), (245, 239, 227)
"""Colours of a lit dot, of a dark one, of the display's rim and of the paper around it: ours."""


def lit(memory, x, y):
    """Whether a dot is lit. memory: 1024 bytes in the chip's order: eight rows of 128 bytes, the lowest bit on top."""
    return memory[y // 8 * WIDTH + x] >> y % 8 & 1


def text(memory):
    """Lines that show it in a terminal: two rows of dots a line."""
    marks = (" ", "▀", "▄", "█")
    return [
        "".join(marks[lit(memory, x, y) + 2 * lit(memory, x, y + 1)] for x in range(WIDTH)).rstrip()
        for y in range(0, HEIGHT, 2)
    ]


def sheet(pages, across=3, times=3, rim=6, gap=12):
    """PNG bytes of several pages beside and below each other; times: dots of the picture for one of the display's."""
    wide, high = WIDTH * times + 2 * rim, HEIGHT * times + 2 * rim
    across = min(across, len(pages))
    down = -(-len(pages) // across)
    canvas = Canvas(gap + across * (wide + gap), gap + down * (high + gap), SHEET)
    for place, memory in enumerate(pages):
        left, top = gap + place % across * (wide + gap), gap + place // across * (high + gap)
        canvas.fill(left, top, wide, high, GLASS)
        canvas.fill(left + rim, top + rim, WIDTH * times, HEIGHT * times, DARK)
        for y in range(HEIGHT):
            for x in range(WIDTH):
                if lit(memory, x, y):
                    canvas.fill(left + rim + x * times, top + rim + y * times, times, times, LIT)
    return canvas.png()


class Canvas:
    """Rows of colours."""

    def __init__(self, wide, high, colour):
        self.wide, self.high = wide, high
        self.rows = [bytearray(bytes(colour) * wide) for _ in range(high)]

    def fill(self, x, y, wide, high, colour):
        """A rectangle."""
        for row in self.rows[y : y + high]:
            row[3 * x : 3 * (x + wide)] = bytes(colour) * wide

    def png(self):
        """The file's bytes (PNG specification: signature, IHDR, IDAT, IEND; 8 bits a colour, no filter)."""
        raw = b"".join(b"\0" + bytes(row) for row in self.rows)
        head = struct.pack(">IIBBBBB", self.wide, self.high, 8, 2, 0, 0, 0)
        return b"\x89PNG\r\n\x1a\n" + b"".join(
            _chunk(*part) for part in ((b"IHDR", head), (b"IDAT", zlib.compress(raw, 9)), (b"IEND", b""))
        )


def _chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
