"""The display of a virtual board: real MicroPython, hal's own driver, a chip that holds what was written."""

import json

import pytest
from potreeve.logic import debounce, errors, ledger, record, recorded, segments
from potreeve_tools.bench import device
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.virtual import dots, imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

ADDRESS, UA = 0x3C, 4000


def with_display(name):
    """Device form of a board that comes with Potreeve, and a display on its bus."""
    made = boards.load(name).device_dict()
    made["extras"] = {"display": "ssd1306", "display_address": ADDRESS}
    made["energy"]["display_ua"] = UA
    return made


@pytest.fixture
def tending(tmp_path):
    """tending(board, faults) -> (VirtualBoard that tends and sleeps, its image): stopped at the end."""
    made = []

    def make(name="rp2040_wifi", faults=(), asleep=1):
        own, rig = with_display(name), load_rig(DEFAULT_RIG)
        image = tmp_path / f"{len(made)}.img"
        imagefile.install(image, own, commission.make_settings(rig, own, 1))
        board = VirtualBoard(own, rig, 1, image, awake=0, asleep=asleep, usb=False, faults=faults)
        made.append(board)
        board.start()
        assert board.wait(lambda: board.asleep, 60)
        return board, image

    yield make
    for board in made:
        board.stop()


def kept(image, own):
    """(state, settings, [records]) on a board's flash."""
    with imagefile.Image(image, own["flash"]) as flash:
        files = flash.files()
    state = ledger.choose(*[files.get("data/" + name) for name in ledger.SLOTS])[0]
    found = []
    for number in segments.numbers([name.removeprefix("data/") for name in files]):
        data = files["data/" + segments.name(number)][segments.HEAD_BYTES :]
        found += [data[at : at + record.RECORD_BYTES] for at in range(0, len(data), record.RECORD_BYTES)]
    return state, json.loads(files["data/settings.json"]), found


def seen_lit(board):
    return board.do(lambda: (board.wiring.display.lit, bytes(board.wiring.display.memory)))


@pytest.mark.parametrize("name", boards.names())
def test_a_press_shows_the_very_bytes_that_the_framebuffer_holds(tending, name):
    board, image = tending(name)
    assert not seen_lit(board)[0]
    board.press(300)
    assert board.wait(lambda: seen_lit(board)[0], 60), board.log
    memory = seen_lit(board)[1]
    board.stop()
    from potreeve.logic import state as states

    state, settings, lines = kept(image, board.board)
    head, _ = recorded.decode(lines[-1])
    # It woke for the press, which was to light it and nothing else.
    assert len(lines) == 2 and head["button"] == debounce.NONE
    job = {"state": states.pack(state).hex(), "settings": settings, "head": head, "page": 0}
    (page,) = device.run("drawn.py", [job])
    assert memory.hex() == page["bytes"]
    # Its memory was lost: the rig has a word to say, and the pots are there.
    assert sum(byte.bit_count() for byte in memory) > 800
    assert len(dots.text(memory)) == 32


def test_gone_in_mid_write_the_board_goes_on_and_the_press_counts(tending):
    board, image = tending(faults=[make_fault("display_gone", 60.0)], asleep=60)
    assert board.wait(lambda: board.truth() and "display_gone" in board.world.flags, 60)
    writes = board.wiring.display.writes
    board.press(300)
    assert board.wait(lambda: board.wiring.display.left == 0, 60)
    assert board.wait(lambda: board.asleep, 60)
    board.stop()
    assert board.wiring.display.writes == writes + 9
    # Two wakes: the one that could not show anything, and the one in which the press counts.
    heads = [recorded.decode(line)[0] for line in kept(image, board.board)[2]]
    assert [head["button"] for head in heads[:3]] == [0, 0, debounce.SHORT]
    assert heads[2]["errors"] & errors.PANEL
    assert "watchdog" not in board.log and board.world.flags["display_gone"].bit > 0
