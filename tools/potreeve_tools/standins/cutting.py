"""Cutting the power of a Flash in the middle of an operation, and what is left then.

A tear says how much of the operation came about:

    w0, w256, ...   a write of which only so many bytes arrived
    t256, ...       a write of which only so many bytes at its end arrived
    e0              an erase that did not begin
    eh, et          an erase that got through the first or only the last half
    eg              an erase that left bits neither erased nor whole
    ea              an erase that was finished when the power went
"""

from ends import PowerCut


class Counter:
    """Set as `before`: notes each operation as the bytes written, or -1 for an erase."""

    def __init__(self):
        self.sizes = []

    def __call__(self, flash, block, buf, offset):
        self.sizes.append(-1 if buf is None else len(buf))


class Cutter:
    """Set as `before`: lets `at` operations pass and tears the next; no operation comes about after that.

    It must stay on its flash for ever: files left open are closed by the
    collector much later, which prints that they could not be.
    """

    def __init__(self, at, tear):
        self.left = at
        self.tear = tear
        self.off = False
        # Made beforehand: the collector allows no allocation.
        self.cut = PowerCut()

    def __call__(self, flash, block, buf, offset):
        if self.off:
            raise self.cut
        if self.left:
            self.left -= 1
            return
        self.off = True
        if buf is None:
            _tear_erase(flash, block, self.tear)
        else:
            _tear_write(flash, block * flash.block_bytes + offset, buf, self.tear)
        raise self.cut


def tears(size, prog_bytes, last, few):
    """The tears to try on an operation.

    size: bytes of a write, -1 for an erase; last: True for the last operation,
    whose completion no later cut stands for; few: the coarsest only.
    """
    if size < 0:
        return ["e0", "eg"] if few else ["e0", "eh", "et", "eg"] + (["ea"] if last else [])
    if few:
        return ["w0", "w%d" % (size // 2)]
    kept = [0, prog_bytes // 2, prog_bytes, size // 2, size - prog_bytes, size - 1]
    found = []
    for bytes_kept in kept:
        name = "w%d" % bytes_kept
        if 0 <= bytes_kept < size and name not in found:
            found.append(name)
    if size > prog_bytes:
        found.append("t%d" % prog_bytes)
    return found + (["w%d" % size] if last else [])


def _tear_write(flash, at, buf, tear):
    kept = int(tear[1:])
    if tear[0] == "t":
        at += len(buf) - kept
        flash.view[at : at + kept] = buf[len(buf) - kept :]
    else:
        flash.view[at : at + kept] = buf[:kept]


def _tear_erase(flash, block, tear):
    size = flash.block_bytes
    at = block * size
    half = size // 2
    if tear == "eh":
        flash.view[at : at + half] = flash.blank[:half]
    elif tear == "et":
        flash.view[at + half : at + size] = flash.blank[:half]
    elif tear == "ea":
        flash.view[at : at + size] = flash.blank
    elif tear == "eg":
        dice = block + 1
        for place in range(at, at + size):
            dice = dice * 1103515245 + 12345 & 0x3FFFFFFF
            flash.view[place] |= dice >> 12 & 255
