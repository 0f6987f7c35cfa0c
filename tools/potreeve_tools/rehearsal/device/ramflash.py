"""Flash in RAM for MicroPython's littlefs, in the geometry of a board.

Blocks are allocated when first written, so that the collector does not scan
flash that was never used. Nothing here may allocate while littlefs is closing
files inside the collector, hence the prepared views.
"""

import os
import vfs


class RamFlash:
    """A block device: block_bytes x blocks, erased to ones.

    `writes` and `erases` count operations; `before` is called with them before
    each one and may raise, which is how the power is cut.
    """

    def __init__(self, block_bytes, blocks):
        self.block_bytes = block_bytes
        self.data = [None] * blocks
        self.blank = bytes(b"\xff" * block_bytes)
        self.writes = 0
        self.erases = 0
        self.before = None

    def readblocks(self, block, buf, offset=0):
        kept = self.data[block]
        source = memoryview(self.blank if kept is None else kept)
        buf[:] = source[offset:offset + len(buf)]

    def writeblocks(self, block, buf, offset=0):
        self.writes += 1
        if self.before:
            self.before(self, block, buf, offset)
        kept = self.data[block]
        if kept is None:
            kept = self.data[block] = bytearray(self.blank)
        kept[offset:offset + len(buf)] = buf

    def ioctl(self, op, arg):
        if op == 4:
            return len(self.data)
        if op == 5:
            return self.block_bytes
        if op == 6:
            self.erases += 1
            if self.before:
                self.before(self, arg, None, 0)
            self.data[arg] = None
        return 0


def mount(flash, geometry, fresh):
    """Mount the flash as /, made anew when `fresh`. geometry: the board's flash table."""
    options = {"progsize": geometry["prog_bytes"], "readsize": geometry["read_bytes"],
               "lookahead": geometry["lookahead_bytes"]}
    if fresh:
        vfs.VfsLfs2.mkfs(flash, **options)
    vfs.mount(vfs.VfsLfs2(flash, **options), "/flash")


def unmount():
    vfs.umount("/flash")
    os.chdir("/")
