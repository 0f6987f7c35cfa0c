"""`potreeve flash` mends a board whose firmware can't start, whatever it does instead."""

import board_files
import flash_kit
import pytest
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.port import open_board
from potreeve_tools.terminal import exits

UNGUARDED = "flash --no-gate --confirm rp2040_wifi"

# How a start ends that must not go on: a watchdog that bites at the prompt unless it is fed, and one sentence again and
# again.
WAITS = b"""
import machine, time
watchdog = machine.WDT(timeout=8000)
why = "damaged: potreeve/app.mpy"
fed = machine.Timer(-1)
fed.init(mode=machine.Timer.PERIODIC, period=2000, callback=lambda _: watchdog.feed())
while True:
    print("potreeve: %s; not started, pumps are off; run potreeve flash" % why)
    watchdog.feed()
    time.sleep_ms(1000)
"""
ENDS = b"print('potreeve: unfinished, no pump is driven; run potreeve flash again')\n"


@pytest.fixture(scope="module")
def image():
    return images.make_image(flash_kit.BOARD_JSON)


@pytest.mark.parametrize("main", [WAITS, ENDS, b"this is no Python", b""], ids=["waits", "ends", "breaks", "empty"])
def test_a_board_that_does_not_start_is_mended(plug, potreeve, image, main):
    """One that waits was refused: its watchdog ran, and it did not go into service."""
    board = plug({"/main.py": main, "/potreeve/app.mpy": b"M\x06\x00\x1f"}, kind=flash_kit.Witness)
    code, out, err = potreeve(UNGUARDED, board.port)
    assert code == exits.OK, err
    if main is WAITS:
        assert "It does not start its firmware (damaged: potreeve/app.mpy); its pumps are off." in err
    assert flash_kit.firmware_in(board.now()) == image.files
    assert f"now runs Potreeve {image.version}" in out
    assert board.log.count("watchdog") == 0 and board.wiring.pulses == []


def test_other_commands_say_what_to_do(plug, potreeve):
    board = plug({**board_files.lived(), "/main.py": WAITS})
    with open_board(board.port) as link:
        assert link.info["refuses"] == "damaged: potreeve/app.mpy" and not link.info["serving"]
    code, _, err = potreeve("calibrate probe --channel 0", board.port)
    assert code == exits.FAILED and "Run potreeve flash" in err, err


@pytest.mark.parametrize("cut", [3, 40, 2000])
def test_a_torn_module_of_the_firmware_is_mended(plug, potreeve, image, cut):
    path = "potreeve/app.mpy"
    board = plug({f"/{path}": image.files[path][:cut]}, kind=flash_kit.Witness)
    code, _, err = potreeve(UNGUARDED, board.port)
    assert code == exits.OK, err
    assert flash_kit.firmware_in(board.now()) == image.files


# A watchdog runs, and what is at the prompt after Ctrl-C does not feed it.
BITES = b"""
import machine, time
watchdog = machine.WDT(timeout=8000)
while True:
    print("potreeve: stopped, pumps are off; restarting in 60 s (Ctrl-C to stay)")
    watchdog.feed()
    time.sleep_ms(1000)
"""


def test_a_watchdog_that_nobody_feeds_does_not_bite_in_the_middle_of_the_work(plug, potreeve, image):
    board = plug({"/main.py": BITES}, kind=flash_kit.Witness)
    with open_board(board.port) as link:
        assert link.info["watchdog"] and not link.info["serving"]
        link.run("import time\ntime.sleep(12)\nanswer=1", timeout_s=30)
        assert board.log.count("watchdog") == 0
    code, _, err = potreeve(UNGUARDED, board.port)
    assert code == exits.OK, err
    assert flash_kit.firmware_in(board.now()) == image.files
