"""UF2 files and boot drives: what is read, what is refused, what is copied. The drive is a folder."""

import struct

import pytest
from potreeve_tools.link.flash import bootdrive, esp, uf2
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

# Magics, flag and families as in pico-sdk's boot/uf2.h, typed here a second time on purpose.
FIRST, SECOND, END = 0x0A324655, 0x9E5D5157, 0x0AB16F30
RP2040, RP2350, RISCV, ABSOLUTE = 0xE48BFF56, 0xE48BFF59, 0xE48BFF5A, 0xE48BFF57
VERSION = b"MicroPython v1.28.0 on 2026-03-01; Raspberry Pi Pico W with RP2040\0"


def block(number, total, data=b"", family=RP2040, flags=0x2000, first=FIRST, end=END, address=0x10000000):
    head = struct.pack("<8I", first, SECOND, flags, address + 256 * number, 256, number, total, family)
    return head + data.ljust(476, b"\0") + struct.pack("<I", end)


def program(family=RP2040, version=VERSION, blocks=4):
    return b"".join(block(n, blocks, version if n == 2 else b"", family) for n in range(blocks))


def write(folder, data, name="firmware.uf2"):
    path = folder / name
    path.write_bytes(data)
    return path


def drive(folder, board_id="RPI-RP2", name="RPI-RP2"):
    made = folder / name
    made.mkdir(parents=True)
    (made / "INFO_UF2.TXT").write_text(f"UF2 Bootloader v3.0\r\nModel: Raspberry Pi RP2\r\nBoard-ID: {board_id}\r\n")
    return made


@pytest.mark.parametrize(("family", "mcu"), [(RP2040, "rp2040"), (RP2350, "rp2350")])
def test_a_whole_file_is_understood(tmp_path, family, mcu):
    found = uf2.read(write(tmp_path, program(family)))
    assert (found.mcu, found.blocks, found.version, found.start, found.size) == (mcu, 4, (1, 28), 0x10000000, 1024)


def test_the_block_that_works_around_an_erratum_is_passed_over(tmp_path):
    found = uf2.read(write(tmp_path, block(0, 2, family=ABSOLUTE, address=0x10FFFF00) + program(RP2350)))
    assert (found.mcu, found.blocks) == ("rp2350", 4)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not a whole number"),
        (program()[:-100], "not a whole number"),
        (b"\x7fELF".ljust(512, b"\0"), "no UF2 block"),
        (program()[:512] + block(1, 4, end=0) + program()[1024:], "no UF2 block"),
        (block(0, 1, flags=0), "names no family"),
        (program()[:1024] + program()[1536:], "block 2 of 4 is missing"),
        (program() + block(3, 4), "twice"),
        (block(0, 2) + block(1, 3), "disagree"),
        (program(RISCV), "RISC-V"),
        (program(RP2040) + program(RP2350), "exactly one chip"),
        (program(0x12345678), "unknown family"),
        (block(0, 2, family=ABSOLUTE), "exactly one chip"),
        (block(0, 1, flags=0x2001), "none"),
        (block(0, 0xFFFFFFFF), "block 1 of 4294967295 is missing"),
        (block(0, 1) + block(1, 1), "a block 1 of 1"),
    ],
)
def test_anything_else_is_refused_in_one_sentence(tmp_path, data, words):
    with pytest.raises(BadInput) as fault:
        uf2.read(write(tmp_path, data))
    assert len(fault.value.faults) == 1 and words in fault.value.faults[0] and "firmware.uf2" in fault.value.faults[0]


def test_a_block_may_not_claim_more_than_it_has(tmp_path):
    bad = bytearray(block(0, 1))
    struct.pack_into("<I", bad, 16, 477)
    with pytest.raises(BadInput, match="claims 477 bytes"):
        uf2.read(write(tmp_path, bytes(bad)))


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(BadInput, match="can't be read"):
        uf2.read(tmp_path / "none.uf2")


def test_the_only_drive_is_found_by_its_info_file(tmp_path):
    folder = drive(tmp_path / "media")
    (tmp_path / "media" / "stick").mkdir()
    found = bootdrive.find(within=[tmp_path / "nowhere", tmp_path / "media"])
    assert (found.path, found.mcu) == (folder, "rp2040")


def test_no_drive_says_how_to_get_one(tmp_path):
    with pytest.raises(exits.Stop) as stop:
        bootdrive.find(within=[tmp_path])
    assert (
        stop.value.code == exits.NO_DEVICE and "BOOTSEL" in stop.value.lines[0] and "udisksctl" in stop.value.lines[0]
    )


def test_two_drives_are_a_choice(tmp_path):
    one, two = drive(tmp_path), drive(tmp_path, "RP2350", "RP2350")
    with pytest.raises(exits.Stop) as stop:
        bootdrive.find(within=[tmp_path])
    assert (
        stop.value.code == exits.NO_DEVICE
        and f"--drive {one}" in stop.value.lines[0]
        and f"--drive {two}" in stop.value.lines[0]
    )
    assert bootdrive.find(two).mcu == "rp2350"


@pytest.mark.parametrize("text", ["", "Board-ID: CAMERA\n", "nothing\n"])
def test_a_folder_of_something_else_is_no_board(tmp_path, text):
    (tmp_path / "INFO_UF2.TXT").write_text(text)
    with pytest.raises(BadInput, match="not a board Potreeve knows"):
        bootdrive.find(tmp_path)


# The command, with a folder as the drive


def test_micropython_is_copied(tmp_path, potreeve):
    folder, file = drive(tmp_path), write(tmp_path, program())
    code, _, said = potreeve(f"flash --firmware {file} --drive {folder} --no-wait")
    assert code == exits.OK and (folder / file.name).read_bytes() == file.read_bytes()
    assert "MicroPython 1.28 for rp2040" in said


@pytest.mark.parametrize(
    ("data", "board_id", "words"),
    [
        (program(RP2350), "RPI-RP2", "for rp2350, but the board"),
        (program(RP2040), "RP2350", "for rp2040, but the board"),
        (program(version=b"MicroPython v1.25.0 on 2025-04-15; x\0"), "RPI-RP2", "1.26 or newer is needed"),
        (program(version=b"something else"), "RPI-RP2", "names no MicroPython version"),
        (b"x" * 512, "RPI-RP2", "no UF2 block"),
    ],
)
def test_what_does_not_fit_is_not_copied(tmp_path, potreeve, data, board_id, words):
    folder, file = drive(tmp_path, board_id), write(tmp_path, data)
    code, _, said = potreeve(f"flash --firmware {file} --drive {folder} --no-wait")
    assert code == exits.BAD_INPUT and words in said
    assert [path.name for path in folder.iterdir()] == ["INFO_UF2.TXT"]


def test_a_drive_that_stays_means_the_board_did_not_take_it(tmp_path):
    made = bootdrive.find(drive(tmp_path))
    with pytest.raises(exits.Stop) as stop:
        bootdrive.wait_gone(made, seconds=1, sleep=lambda s: None)
    assert stop.value.code == exits.NOT_VERIFIED
    (made.path / "INFO_UF2.TXT").unlink()
    bootdrive.wait_gone(made, seconds=1, sleep=lambda s: None)


@pytest.mark.parametrize(("share", "fails"), [(0.3, True), (1.0, False)])
def test_only_an_error_at_the_very_end_of_the_copy_is_no_error(tmp_path, monkeypatch, share, fails):
    """The board takes the drive away with the last block: an error then is how it says thanks."""
    firmware, made = uf2.read(write(tmp_path, program(blocks=1000))), bootdrive.find(drive(tmp_path))
    sent, size = [0], firmware.path.stat().st_size
    sync = bootdrive.os.fsync

    def vanish(number):
        sent[0] += bootdrive.PIECE
        if sent[0] >= share * size:
            raise OSError(5, "Input/output error")
        sync(number)

    monkeypatch.setattr(bootdrive.os, "fsync", vanish)
    if fails:
        with pytest.raises(exits.Stop) as stop:
            bootdrive.copy(firmware, made)
        assert stop.value.code == exits.NOT_VERIFIED and "broke off" in stop.value.lines[0]
    else:
        bootdrive.copy(firmware, made)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("flash --drive x", "belong to --firmware"),
        ("flash --no-wait", "belong to --firmware"),
        ("flash --firmware x.uf2 --dry-run", "leave them out"),
        ("flash --firmware x.uf2 --no-gate", "leave them out"),
        ("flash --confirm x", "belongs to --no-gate"),
        ("flash --firmware x.hex", "neither .uf2"),
        ("flash --firmware x.bin --drive y", "has no drive"),
    ],
)
def test_options_that_contradict_each_other(potreeve, line, words):
    code, _, said = potreeve(line)
    assert code == exits.BAD_INPUT and words in said


# ESP32


def image(chip=0, first=0xE9):
    return bytes([first, 4, 2, 0x20]) + bytes(8) + struct.pack("<H", chip) + bytes(100)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (image(first=0), "no ESP32 image"),
        (b"", "no ESP32 image"),
        (image(9), "for esp32s3"),
        (image(77), "for another chip"),
    ],
)
def test_only_an_image_for_a_plain_esp32_is_taken(tmp_path, data, words):
    with pytest.raises(BadInput, match=words):
        esp.check(write(tmp_path, data, "firmware.bin"))
    esp.check(write(tmp_path, image(), "firmware.bin"))


def test_without_esptool_it_says_how_to_get_it(tmp_path, potreeve, monkeypatch):
    monkeypatch.setattr(esp.importlib.util, "find_spec", lambda name: None)
    file = write(tmp_path, image(), "firmware.bin")
    code, _, said = potreeve(f"flash --firmware {file} --no-wait", port="/dev/nothing")
    assert code == exits.BAD_INPUT and "pip install esptool==" in said


@pytest.mark.parametrize("fails", [False, True])
def test_esptool_is_called_with_chip_port_and_offset(tmp_path, potreeve, monkeypatch, fails):
    """A stand-in for esptool notes how it was called: that the real one understands it is not shown here."""
    noted = tmp_path / "noted"
    stand_in = tmp_path / "lib"
    stand_in.mkdir()
    ends = "A fatal error: no serial data" if fails else 0
    (stand_in / "esptool.py").write_text(
        f"import sys\nopen({str(noted)!r}, 'w').write(' '.join(sys.argv[1:]))\nsys.exit({ends!r})\n"
    )
    monkeypatch.setenv("PYTHONPATH", str(stand_in))
    monkeypatch.syspath_prepend(str(stand_in))
    file = write(tmp_path, image(), "firmware.bin")
    code, _, said = potreeve(f"flash --firmware {file} --no-wait", port="/dev/ttyUSB9")
    assert noted.read_text() == f"--chip esp32 --port /dev/ttyUSB9 write-flash 0x1000 {file}"
    assert code == (exits.NOT_VERIFIED if fails else exits.OK)
    assert ("no serial data" in said) == fails
