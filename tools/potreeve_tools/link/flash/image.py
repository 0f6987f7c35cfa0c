"""What belongs on a board: compiled modules, main.py, the board file, the manifest.

The same sources and the same board file give the same bytes, so a hash tells
whether a board needs anything at all.
"""

import hashlib
import json
from binascii import crc32
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.image import compiled
from potreeve_tools.image.compiled import PACKAGE
from potreeve_tools.image.places import FIRMWARE
from potreeve_tools.terminal.faultlist import BadInput

MAIN = "main.py"
BOARD = "board.json"
MANIFEST = "manifest.json"


@dataclass(frozen=True)
class Image:
    """files: {path on the board, without a leading "/": bytes}, in the order of sending, manifest last."""

    version: str
    files: dict

    @property
    def size(self):
        """Bytes of all files."""
        return sum(len(data) for data in self.files.values())


def sha256(data):
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def sources(firmware=FIRMWARE):
    """Paths of all firmware sources for a board, relative to the folder, main.py first, the rest sorted."""
    return [MAIN] + compiled.modules(firmware)


def make_image(board_json, firmware=FIRMWARE, radio=False):
    """The Image for a board. board_json: bytes of its board file; radio: whether its settings have one. Raises
    BadInput if a source does not compile."""
    try:
        board = json.loads(board_json)
    except ValueError:
        board = None
    made = compiled.for_board(compiled.files(firmware), board, radio)
    files = {MAIN: compiled.main_text(firmware), BOARD: bytes(board_json), **made}
    version = read_version(firmware)
    files[MANIFEST] = manifest(version, files)
    return Image(version, files)


def manifest(version, files):
    """Bytes of the manifest: the version, and the CRC-32 by which the board checks each file at boot."""
    sums = {name: crc32(data) for name, data in sorted(files.items())}
    return (json.dumps({"version": version, "files": sums}, separators=(",", ":")) + "\n").encode()


def read_version(firmware=FIRMWARE):
    """VERSION of the firmware, read without importing it."""
    for line in (Path(firmware) / PACKAGE / "__init__.py").read_text(encoding="utf-8").splitlines():
        if line.startswith("VERSION = "):
            return line.split('"')[1]
    raise BadInput([f"{firmware}/{PACKAGE}/__init__.py: VERSION (missing): needed; add it"])
