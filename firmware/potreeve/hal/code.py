"""The installed files, as the self-check sees them."""

import json
from binascii import crc32

from potreeve.hal.store import ENOENT

MANIFEST = "manifest.json"
PIECE = 512


class Code:
    """rig.code. root: folder of main.py, ending in "/"."""

    def __init__(self, root):
        self._root = root

    def manifest(self):
        """The manifest's `files`, path -> CRC-32; None without a manifest, 0 for one that can't be read."""
        try:
            with open(self._root + MANIFEST) as file:
                return json.load(file)["files"]
        except OSError as fault:
            return None if fault.args[0] == ENOENT else 0
        except (ValueError, KeyError, TypeError):
            return 0

    def crc(self, path):
        """CRC-32 of an installed file, -1 if it can't be read."""
        total = 0
        try:
            with open(self._root + path, "rb") as file:
                while True:
                    piece = file.read(PIECE)
                    if not piece:
                        return total & 0xFFFFFFFF
                    total = crc32(piece, total)
        except OSError:
            return -1
