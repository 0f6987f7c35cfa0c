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


class Journal:
    """Set as `before`: notes each operation, and what else there was at its begin, as `state()` tells it.

    What a cut leaves follows from it: every operation before the one that is torn, a piece of that one, and the state
    noted there. Nothing else outlives a cut, so what led to it need not be lived through once more for each.
    """

    def __init__(self, state):
        self.state = state
        self.done = []

    def __call__(self, flash, block, buf, offset):
        # littlefs uses its buffer again.
        self.done.append((block, None if buf is None else bytes(buf), offset, self.state()))

    def sizes(self):
        """The bytes that each operation wrote, -1 for an erase."""
        return [-1 if data is None else len(data) for _, data, _, _ in self.done]

    def leave(self, flash, at, tear):
        """Do to `flash`, as it was when this began, what came about until operation `at` was torn; returns the state
        noted there."""
        for block, data, offset, _ in self.done[:at]:
            if data is None:
                flash.erase(block)
            else:
                flash.writeblocks(block, data, offset)
        block, data, offset, state = self.done[at]
        tear_operation(flash, block, data, offset, tear)
        return state


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
        tear_operation(flash, block, buf, offset, self.tear)
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


def tear_operation(flash, block, buf, offset, tear):
    """Let only a piece of a write, or of an erase (no buf), come about."""
    if buf is None:
        _tear_erase(flash, block, tear)
    else:
        _tear_write(flash, block * flash.block_bytes + offset, buf, tear)


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
