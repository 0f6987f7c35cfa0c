"""A board whose image can't start says so for as long as it waits, and flash mends it over the same cable."""

import board_files
import flash_kit
import pytest
from potreeve_tools.link.flash import image as images
from potreeve_tools.terminal import exits

MENDED = "flash --no-gate --confirm rp2040_wifi"


@pytest.fixture(scope="module")
def image():
    return images.make_image(flash_kit.BOARD_JSON)


@pytest.mark.parametrize("path", ["potreeve/hal/__init__.mpy", "potreeve/__init__.mpy", "manifest.json"])
def test_flash_mends_a_board_with_a_damaged_file(plug, potreeve, image, path):
    lived = board_files.lived()
    files = {"/" + name: data for name, data in image.files.items()}
    data = bytearray(files["/" + path])
    # Three flipped bits of a compiled module may make its loader read on for ever.
    for at in (len(data) // 3, len(data) // 2, len(data) - 4):
        data[at] ^= 0x11
    board = plug({**lived, **files, "/" + path: bytes(data)}, kind=flash_kit.Witness, awake=0)
    assert board.wait(lambda: board.time.now_us() > 30e6) and "watchdog" not in board.log
    code, out, err = potreeve(MENDED, board.port)
    assert code == exits.OK and "every file reads back as sent" in err, err
    assert flash_kit.firmware_in(board.left()) == image.files
    board.stop()
