"""A board's flash as a block device, in RAM or in a file of the host, and what may go wrong with it.

Nothing here may allocate while littlefs is closing files inside the collector,
hence the prepared view and the whole flash in one piece from the start.
"""

import os

import vfs


class Flash:
    """A block device in the geometry of a board's flash table, erased to ones.

    data: the bytes of a used flash to go on with, not copied. `erased` (a list, where one was set) counts the erases of
    each block; `before` is called with (flash, block, bytes or None for an erase, offset) before each write and erase:
    it may look, raise, or leave a torn piece of it first, which is how the power is cut (see cutting.py).
    """

    def __init__(self, geometry, data=None):
        self.block_bytes = geometry["block_bytes"]
        self.blocks = geometry["blocks"]
        self.blank = bytes(b"\xff" * self.block_bytes)
        self.before = None
        self.erased = None
        self.open(data)

    def open(self, data):
        self.data = bytearray(self.block_bytes * self.blocks) if data is None else data
        self.view = memoryview(self.data)
        if data is None:
            for block in range(self.blocks):
                self.erase(block)

    def readblocks(self, block, buf, offset=0):
        at = block * self.block_bytes + offset
        buf[:] = self.view[at : at + len(buf)]

    def writeblocks(self, block, buf, offset=0):
        if self.before:
            self.before(self, block, buf, offset)
        at = block * self.block_bytes + offset
        self.view[at : at + len(buf)] = buf

    def erase(self, block):
        at = block * self.block_bytes
        self.view[at : at + self.block_bytes] = self.blank

    def ioctl(self, op, arg):
        if op == 4:
            return self.blocks
        if op == 5:
            return self.block_bytes
        if op == 6:
            if self.erased is not None:
                self.erased[arg] += 1
            if self.before:
                self.before(self, arg, None, 0)
            self.erase(arg)
        return 0


class FileFlash(Flash):
    """The same in a file, opened "r+b"; its `before` hears of reads, too: they may take as long."""

    def open(self, data):
        self.file = data

    def readblocks(self, block, buf, offset=0):
        self.before(self, block, buf, offset)
        self.file.seek(block * self.block_bytes + offset)
        self.file.readinto(buf)

    def writeblocks(self, block, buf, offset=0):
        self.before(self, block, buf, offset)
        self.file.seek(block * self.block_bytes + offset)
        self.file.write(buf)

    def erase(self, block):
        self.file.seek(block * self.block_bytes)
        self.file.write(self.blank)


def littlefs(chip, geometry, fresh=False):
    """The file system on a flash, made anew when `fresh`. geometry: the board's flash table."""
    options = {
        "progsize": geometry["prog_bytes"],
        "readsize": geometry["read_bytes"],
        "lookahead": geometry["lookahead_bytes"],
    }
    if fresh:
        vfs.VfsLfs2.mkfs(chip, **options)
    return vfs.VfsLfs2(chip, **options)


def mount(chip, geometry, fresh):
    """Mount the flash as /flash."""
    vfs.mount(littlefs(chip, geometry, fresh), "/flash")


def unmount():
    vfs.umount("/flash")
    os.chdir("/")
