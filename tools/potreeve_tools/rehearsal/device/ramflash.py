"""Flash in RAM for MicroPython's littlefs, in the geometry of a board.

Nothing here may allocate while littlefs is closing files inside the collector,
hence the prepared view and the whole flash in one piece from the start.
"""

import os

import vfs


class RamFlash:
    """A block device: block_bytes x blocks, erased to ones.

    data: the bytes of a used flash to go on with, not copied. `writes` and
    `erases` count operations, `erased` (a list, where one was set) the erases of
    each block; `before` is called with them before each one and
    may raise, which is how the power is cut.
    """

    def __init__(self, block_bytes, blocks, data=None):
        self.block_bytes = block_bytes
        self.blocks = blocks
        self.data = bytearray(block_bytes * blocks) if data is None else data
        self.view = memoryview(self.data)
        self.blank = bytes(b"\xff" * block_bytes)
        if data is None:
            for block in range(blocks):
                self.view[block * block_bytes : (block + 1) * block_bytes] = self.blank
        self.writes = 0
        self.erases = 0
        self.before = None
        self.erased = None

    def readblocks(self, block, buf, offset=0):
        at = block * self.block_bytes + offset
        buf[:] = self.view[at : at + len(buf)]

    def writeblocks(self, block, buf, offset=0):
        self.writes += 1
        if self.before:
            self.before(self, block, buf, offset)
        at = block * self.block_bytes + offset
        self.view[at : at + len(buf)] = buf

    def ioctl(self, op, arg):
        if op == 4:
            return self.blocks
        if op == 5:
            return self.block_bytes
        if op == 6:
            self.erases += 1
            if self.erased is not None:
                self.erased[arg] += 1
            if self.before:
                self.before(self, arg, None, 0)
            at = arg * self.block_bytes
            self.view[at : at + self.block_bytes] = self.blank
        return 0


def options(geometry):
    """VfsLfs2's options for a board's flash table."""
    return {
        "progsize": geometry["prog_bytes"],
        "readsize": geometry["read_bytes"],
        "lookahead": geometry["lookahead_bytes"],
    }


def mount(flash, geometry, fresh):
    """Mount the flash as /flash, made anew when `fresh`. geometry: the board's flash table."""
    if fresh:
        vfs.VfsLfs2.mkfs(flash, **options(geometry))
    vfs.mount(vfs.VfsLfs2(flash, **options(geometry)), "/flash")


def unmount():
    vfs.umount("/flash")
    os.chdir("/")
