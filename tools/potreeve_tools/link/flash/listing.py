"""The two lists of the firmware's files that others read: package.json for `mpremote mip`, manifest.py for those who
freeze.

python -m potreeve_tools.link.flash.listing      writes both anew
"""

import json
from pathlib import Path

from potreeve_tools.link.flash import image as images

PACKAGE_JSON = "package.json"
FREEZE = "manifest.py"


def package_json(firmware=images.FIRMWARE):
    """Text of package.json: [where on the board, where beside this file] of every source."""
    data = {
        "version": images.read_version(firmware),
        "urls": [[name, name] for name in images.sources(firmware)],
        "deps": [],
    }
    lines = [json.dumps(pair) for pair in data["urls"]]
    return '{\n  "version": %s,\n  "deps": [],\n  "urls": [\n    %s\n  ]\n}\n' % (
        json.dumps(data["version"]),
        ",\n    ".join(lines),
    )


def freeze(firmware=images.FIRMWARE):
    """Text of manifest.py, in the words of MicroPython's manifest files."""
    own = [name.removeprefix(images.PACKAGE + "/") for name in images.sources(firmware) if name != images.MAIN]
    return (
        '"""Freezes the firmware into MicroPython itself, where it needs no room in the heap for its code.\n\n'
        "    make BOARD=RPI_PICO_W FROZEN_MANIFEST=THIS_FILE        (in MicroPython's ports/rp2)\n\n"
        "The board file is still needed on the board: potreeve flash writes it, or copy a device form to /board.json.\n"
        'Written by potreeve_tools.link.flash.listing.\n"""\n\n'
        'include("$(PORT_DIR)/boards/manifest.py")\n'
        f'metadata(version="{images.read_version(firmware)}")\n'
        'module("main.py")\n'
        'package(\n    "potreeve",\n    files=(\n' + "".join(f'        "{name}",\n' for name in own) + "    ),\n)\n"
    )


def write(folder=images.FIRMWARE):
    """Write both files."""
    (Path(folder) / PACKAGE_JSON).write_text(package_json(folder), encoding="utf-8")
    (Path(folder) / FREEZE).write_text(freeze(folder), encoding="utf-8")


if __name__ == "__main__":
    write()
