"""Virtual boards and mpremote's transport to them."""

import math

import pytest
from mpremote.transport_serial import SerialTransport
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard

QUICK = {"awake": 0, "asleep": math.inf}


@pytest.fixture
def start(tmp_path):
    """start(**options) -> a running VirtualBoard with its flash in tmp_path; all are stopped at the end."""
    made = []

    def make(board="rp2040_wifi", files=None, **options):
        image = options.pop("image", tmp_path / f"{len(made)}.img")
        if files:
            with imagefile.Image(image, boards.load(board).flash) as opened:
                for name, data in files.items():
                    opened.write(name, data)
        made.append(VirtualBoard(board, image=image, **{**QUICK, **options}))
        return made[-1].start()

    yield make
    for board in made:
        board.stop()


@pytest.fixture
def talk():
    """talk(board) -> mpremote's SerialTransport; closed at the end."""
    opened = []

    def make(board):
        opened.append(SerialTransport(board.port, timeout=2))
        return opened[-1]

    yield make
    for transport in opened:
        try:
            transport.close()
        except OSError:
            pass  # unplugged
