"""Flash in a file of the host, in the geometry of a board. Nothing here may allocate: see ramflash.py."""


class FileFlash:
    """A block device. file: opened "r+b", block_bytes x blocks long."""

    def __init__(self, file, block_bytes, blocks):
        self.file = file
        self.block_bytes = block_bytes
        self.blocks = blocks
        self.blank = bytes(b"\xff" * block_bytes)

    def readblocks(self, block, buf, offset=0):
        self.file.seek(block * self.block_bytes + offset)
        self.file.readinto(buf)

    def writeblocks(self, block, buf, offset=0):
        self.file.seek(block * self.block_bytes + offset)
        self.file.write(buf)

    def ioctl(self, op, arg):
        if op == 4:
            return self.blocks
        if op == 5:
            return self.block_bytes
        if op == 6:
            self.file.seek(arg * self.block_bytes)
            self.file.write(self.blank)
        return 0
