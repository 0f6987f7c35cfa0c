"""Flash in a file of the host, in the geometry of a board. Nothing here may allocate: see ramflash.py."""

# The rig hears of every so many operations that the interpreter is at its flash, where it must not be interrupted.
TOLD = 16


class FileFlash:
    """A block device. file: opened "r+b", block_bytes x blocks long; wire: file of the wire; frame: what to write there."""

    def __init__(self, file, wire, frame, block_bytes, blocks):
        self.file = file
        self.wire = wire
        self.frame = frame
        self.count = 0
        self.block_bytes = block_bytes
        self.blocks = blocks
        self.blank = bytes(b"\xff" * block_bytes)

    def tell(self):
        self.count += 1
        if self.count == TOLD:
            self.count = 0
            self.wire.write(self.frame)

    def readblocks(self, block, buf, offset=0):
        self.tell()
        self.file.seek(block * self.block_bytes + offset)
        self.file.readinto(buf)

    def writeblocks(self, block, buf, offset=0):
        self.tell()
        self.file.seek(block * self.block_bytes + offset)
        self.file.write(buf)

    def ioctl(self, op, arg):
        if op == 4:
            return self.blocks
        if op == 5:
            return self.block_bytes
        if op == 6:
            self.tell()
            self.file.seek(arg * self.block_bytes)
            self.file.write(self.blank)
        return 0
