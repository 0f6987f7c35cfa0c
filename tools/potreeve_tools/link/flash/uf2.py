"""Read a UF2 file and say which chip and which MicroPython it is for.

Layout of a block (512 bytes, little endian): two magics, flags, target address,
payload size, block number, total, family; 476 bytes of data; end magic. Magics,
flags and families: pico-sdk boot/uf2.h; the layout from memory.
"""

import re
import struct
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput

BLOCK = 512
MAGICS = (0x0A324655, 0x9E5D5157)
END_MAGIC = 0x0AB16F30
NOT_MAIN_FLASH = 0x1
HAS_FAMILY = 0x2000
DATA_MOST = 476
LARGEST_BYTES = 64 * 1024 * 1024

RP2040 = 0xE48BFF56
ABSOLUTE = 0xE48BFF57
RP2350 = 0xE48BFF59
FAMILIES = {
    RP2040: "rp2040",
    RP2350: "rp2350",
    0xE48BFF5A: "rp2350 (RISC-V)",
    0xE48BFF5B: "rp2350 (non-secure)",
    0xE48BFF58: "data, no program",
}
DRIVE_IDS = {"RPI-RP2": "rp2040", "RP2350": "rp2350"}
"""Board-ID in a boot drive's INFO_UF2.TXT -> chip."""

_VERSION = re.compile(rb"v(\d+)\.(\d+)(?:\.(\d+))?(-preview)?[^\x00]{0,40}? on \d{4}-\d\d-\d\d")


@dataclass(frozen=True)
class Uf2:
    """A checked file. mcu: rp2040 or rp2350; version: MicroPython's (major, minor), None if it names none."""

    path: Path
    mcu: str
    blocks: int
    start: int
    size: int
    version: tuple | None


def read(path):
    """Return the Uf2 of a file; raises BadInput with one line."""
    path = Path(path)
    data = files.read_bytes(path, LARGEST_BYTES)
    by_family = _by_family(data, path)
    # RP2350 files may open with one block of "absolute" family, which works around an erratum of the chip.
    programs = {family: blocks for family, blocks in by_family.items() if family != ABSOLUTE}
    if len(programs) != 1:
        named = ", ".join(_family(family) for family in by_family) or "none"
        raise BadInput([f"{path}: holds programs for {named}; give a file for exactly one chip"])
    family, blocks = programs.popitem()
    if family not in (RP2040, RP2350):
        raise BadInput([f"{path}: made for {_family(family)}; Potreeve's boards take rp2040 or rp2350 (Arm) files"])
    _check_whole(blocks, path)
    payload = b"".join(blocks[number][2] for number in sorted(blocks))
    return Uf2(
        path, FAMILIES[family], len(blocks), min(block[1] for block in blocks.values()), len(payload), _version(payload)
    )


def _family(family):
    return FAMILIES.get(family, "the absolute family" if family == ABSOLUTE else f"an unknown family (0x{family:08x})")


def _by_family(data, path):
    """{family: {block number: (total, address, payload)}}."""
    if not data or len(data) % BLOCK:
        raise BadInput([f"{path}: {len(data)} bytes, not a whole number of UF2 blocks of {BLOCK}; download it again"])
    found = {}
    for at in range(0, len(data), BLOCK):
        first, second, flags, address, size, number, total, family = struct.unpack_from("<8I", data, at)
        (end,) = struct.unpack_from("<I", data, at + BLOCK - 4)
        if (first, second) != MAGICS or end != END_MAGIC:
            raise BadInput([f"{path}: block {at // BLOCK} is no UF2 block (wrong magic); give MicroPython's .uf2 file"])
        if flags & NOT_MAIN_FLASH:
            continue
        if not flags & HAS_FAMILY:
            raise BadInput(
                [f"{path}: block {at // BLOCK} names no family, so the chip can't be checked; give another file"]
            )
        if size > DATA_MOST:
            raise BadInput([f"{path}: block {at // BLOCK} claims {size} bytes of {DATA_MOST}; download it again"])
        if number in found.setdefault(family, {}):
            raise BadInput([f"{path}: block {number} is there twice; download it again"])
        found[family][number] = (total, address, data[at + 32 : at + 32 + size])
    return found


def _check_whole(blocks, path):
    """Every block of the program is there, once."""
    totals = {block[0] for block in blocks.values()}
    if len(totals) != 1:
        what = "its blocks disagree about how many there are"
    elif max(blocks) >= max(totals):
        what = f"it has a block {max(blocks)} of {max(totals)}"
    elif len(blocks) < max(totals):
        missing = next(number for number in range(len(blocks) + 1) if number not in blocks)
        what = f"block {missing} of {max(totals)} is missing"
    else:
        return
    raise BadInput([f"{path}: not whole: {what}; download it again"])


def _version(payload):
    found = _VERSION.search(payload)
    return (int(found[1]), int(found[2])) if found else None


def board_id(text):
    """Board-ID in the text of INFO_UF2.TXT, "" without one."""
    for line in text.splitlines():
        key, _, value = line.partition(":")
        if key.strip().lower() == "board-id":
            return value.strip()
    return ""
