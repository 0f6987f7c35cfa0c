"""The display's memory as a picture and as text: every dot where it is, and nothing else lit."""

import struct
import zlib

from potreeve_tools.virtual import dots

MEMORY = bytearray(1024)
# Dots at (0, 0), (127, 63) and (5, 9): the lowest bit of a byte is its uppermost dot.
MEMORY[0], MEMORY[1023], MEMORY[128 + 5] = 1, 0x80, 2
LIT = {(0, 0), (127, 63), (5, 9)}


def test_text_has_two_rows_a_line():
    lines = dots.text(MEMORY)
    assert len(lines) == 32
    assert lines[0] == "\u2580" and lines[31] == " " * 127 + "\u2584" and lines[4] == " " * 5 + "\u2584"
    assert not any(lines[place] for place in range(32) if place not in (0, 4, 31))


def test_a_picture_holds_each_dot_in_its_place():
    data = dots.sheet([bytes(MEMORY)], times=1, rim=0, gap=0)
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    wide, high, depth, kind = struct.unpack(">IIBB", data[16:26])
    assert (wide, high, depth, kind) == (128, 64, 8, 2)
    at = data.index(b"IDAT")
    (size,) = struct.unpack(">I", data[at - 4 : at])
    raw = zlib.decompress(data[at + 4 : at + 4 + size])
    assert struct.unpack(">I", data[at + 4 + size : at + 8 + size])[0] == zlib.crc32(data[at : at + 4 + size])
    rows = [raw[y * (1 + 3 * 128) + 1 : (y + 1) * (1 + 3 * 128)] for y in range(64)]
    seen = {(x, y) for y in range(64) for x in range(128) if tuple(rows[y][3 * x : 3 * x + 3]) == dots.LIT}
    assert seen == LIT


def test_pages_stand_beside_and_below_each_other():
    data = dots.sheet([bytes(1024)] * 5, across=3, times=2, rim=4, gap=10)
    assert struct.unpack(">II", data[16:24]) == (10 + 3 * (256 + 8 + 10), 10 + 2 * (128 + 8 + 10))
