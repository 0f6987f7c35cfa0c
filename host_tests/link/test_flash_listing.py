"""package.json and manifest.py list exactly the firmware's files, and mpremote's own installer can use the one."""

import json
import shutil
import subprocess
import sys

import flash_kit
import pytest
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash import listing
from potreeve_tools.virtual import imagefile

FIRMWARE = images.FIRMWARE
ANEW = "python -m potreeve_tools.link.flash.listing writes it anew"


def walked():
    """Every source a board loads, found without the code under test."""
    found = {path.relative_to(FIRMWARE).as_posix() for path in (FIRMWARE / "potreeve").rglob("*.py")}
    return (found | {"main.py"}) - {"potreeve/logic/settings_help.py"}


def test_package_json_lists_exactly_the_firmware():
    data = json.loads((FIRMWARE / listing.PACKAGE_JSON).read_text())
    pairs = data["urls"]
    assert {where for where, _ in pairs} == walked() and len(pairs) == len(walked()), ANEW
    assert all(where == source and (FIRMWARE / source).is_file() for where, source in pairs)
    assert data["version"] == images.read_version() and data["deps"] == []


def test_the_manifest_freezes_exactly_the_firmware():
    """Run with MicroPython's words standing in: what they name is the firmware, no more and no less."""
    named, version = [], []
    words = {
        "include": lambda path: None,
        "metadata": lambda version: version_of.append(version),
        "module": lambda name: named.append(name),
        "package": lambda name, files: named.extend(f"{name}/{file}" for file in files),
    }
    version_of = version
    exec((FIRMWARE / listing.FREEZE).read_text(), words)
    assert set(named) == walked() and len(named) == len(walked()), ANEW
    assert version == [images.read_version()]


def test_both_are_as_written_by_the_tool():
    assert (FIRMWARE / listing.PACKAGE_JSON).read_text() == listing.package_json(), ANEW
    assert (FIRMWARE / listing.FREEZE).read_text() == listing.freeze(), ANEW


def test_the_image_holds_exactly_the_firmware():
    made = images.make_image(flash_kit.BOARD_JSON)
    with_radio = images.make_image(flash_kit.BOARD_JSON, radio=True)
    radio = {
        "commands",
        "hal/radio",
        "hal/secured",
        "logic/remote",
        "logic/outbox",
        "logic/radio_keys",
        "logic/recorded",
        "mqtt",
        "reporting",
        "sending",
    }
    assert set(with_radio.files) - set(made.files) == {f"potreeve/{name}.mpy" for name in radio}
    # What rp2040_wifi is not wired for stays at home.
    unwired = {f"potreeve/hal/{name}.py" for name in ("latched", "pulses", "photodiode", "sht4x", "htu21d")}
    unwired |= {f"potreeve/logic/{name}.py" for name in ("sht4x", "htu21d", "diode")} | {
        f"potreeve/{name}.py" for name in radio
    }
    extras = "extras hal/wet hal/tub hal/strip logic/wet logic/tub logic/tub_guard logic/tub_marks logic/tub_keys "
    extras += "hal/soil logic/ds18b20"
    shown = "hal/display hal/picture lit logic/face logic/facepot logic/facewords"
    unwired |= {f"potreeve/{name}.py" for name in f"{extras} {shown} logic/extra logic/extra_keys".split()}
    compiled = {name[:-3] + ".mpy" if name != "main.py" else name for name in walked() - unwired}
    assert set(made.files) == compiled | {"board.json", "manifest.json"}
    assert set(json.loads(made.files["manifest.json"])["files"]) == compiled | {"board.json"}
    assert list(made.files)[-1] == "manifest.json"


def test_no_module_a_board_imports_is_left_out():
    """settings_help, which is left out, is named in no import of the firmware."""
    import ast

    for path in sorted((FIRMWARE / "potreeve").rglob("*.py")):
        if path.name != "settings_help.py":
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.ImportFrom):
                    assert "settings_help" not in [node.module, *(name.name for name in node.names)], path


@pytest.mark.parametrize("count", [6, pytest.param(None, marks=pytest.mark.slow)])
def test_mpremotes_installer_puts_every_file_on_a_board(tmp_path, count):
    """As many files of the list; all of them take half a minute."""
    from potreeve_tools.virtual.board import VirtualBoard

    flash, folder = tmp_path / "board.img", shutil.copytree(FIRMWARE, tmp_path / "firmware")
    data = json.loads((folder / listing.PACKAGE_JSON).read_text())
    data["urls"] = sorted(data["urls"], key=lambda pair: (FIRMWARE / pair[1]).stat().st_size)[:count]
    (folder / listing.PACKAGE_JSON).write_text(json.dumps(data))
    with VirtualBoard("rp2040_wifi", image=flash, tcp=0) as board:
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "mpremote",
                "connect",
                board.port,
                "resume",
                "mip",
                "install",
                "--target=/",
                str(folder / listing.PACKAGE_JSON),
            ],
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
    with imagefile.Image(flash, flash_kit.BOARD.flash) as opened:
        files = opened.files()
    names = [where for where, _ in data["urls"]]
    assert {name: files.get(name) for name in names} == {name: (FIRMWARE / name).read_bytes() for name in names}
    assert set(names) == walked() or count == len(names)


@pytest.mark.parametrize("board", ["esp32", "latched", "rp2040_wifi", "rp2350_wifi"])
def test_the_image_of_a_board_holds_what_its_opening_loads(board):
    """hal/opening.py itself says which, run over a board file whose sensors are changed one by one."""
    import ast

    from potreeve_tools.boards import boardfile
    from potreeve_tools.image import compiled

    tree = ast.parse((FIRMWARE / "potreeve" / "hal" / "opening.py").read_text())
    drivers = next(node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == "_drivers")
    loaded = set()
    names = {"sensors": {"climate": ("bme280", "sht4x", "htu21d", "none"), "light": ("bh1750", "photodiode", "none")}}
    names["pins"] = {"probe_kind": ("analogue", "pulses"), "i2c_sda": (12, -1)}
    for table, keys in names.items():
        for key, values in keys.items():
            for value in values:
                mapping = boardfile.load(board).device_dict()
                mapping[table][key] = value
                loaded.clear()
                code = ast.unparse(drivers)
                for line in ast.walk(drivers):
                    if isinstance(line, ast.ImportFrom):
                        text = ast.unparse(line)
                        module = line.module if line.module != "potreeve.hal" else f"potreeve.hal.{line.names[0].name}"
                        told = line.names[0].asname or line.names[0].name
                        code = code.replace(text, f"LOADED.add({module!r}); {told} = 1")
                space = {"LOADED": loaded}
                exec(code, space)
                space["_drivers"](mapping)
                files = {compiled.mpy_name(name): b"" for name in compiled.DRIVERS}
                sent = compiled.for_board(files, mapping)
                kept = {path[:-4].replace("/", ".") for path in sent if "/hal/" in path}
                for driver, sums in (
                    ("bme280", "air"),
                    ("htu21d", "htu21d"),
                    ("bh1750", "light"),
                    ("photodiode", "diode"),
                ):
                    assert (f"potreeve/hal/{driver}.mpy" in sent) == (f"potreeve/logic/{sums}.mpy" in sent)
                # The other's sums lean on its check of bytes.
                other = any(f"potreeve/hal/{driver}.mpy" in sent for driver in ("sht4x", "htu21d"))
                assert ("potreeve/logic/sht4x.mpy" in sent) == other
                # The modules that _drivers names, and the one that pulses lean on.
                assert kept - {"potreeve.hal.probes"} == loaded - {"potreeve.hal.probes", "potreeve.hal.power"}, (
                    key,
                    value,
                )
