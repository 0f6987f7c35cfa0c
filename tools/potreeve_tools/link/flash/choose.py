"""Which board file a board gets: the one asked for, else the one it has, else the one its build's name fits."""

import json

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput


def choose(found, asked):
    """(Board or None, bytes of board.json, words why). asked: name or path from the command line, or None.

    None for the Board when the one on the board is of somebody's own making: it
    stays as it is. Raises BadInput, or Stop when nothing fits.
    """
    if asked:
        board = boards.load(asked)
        return board, board.device_json().encode(), "as asked"
    there = _there(found.board)
    if there is not None:
        return _as_there(found, there)
    fits = [name for name, data in boards.plain().items() if found.build and data["micropython"] == found.build]
    if len(fits) == 1:
        board = boards.load(fits[0])
        return board, board.device_json().encode(), f"the one for {found.build}"
    names = fits or boards.plain(found.mcu) or boards.plain()
    raise exits.Stop(
        exits.BAD_INPUT,
        [
            f'the board says it is "{found.machine}", which does not tell how it is wired; give one of '
            + ", ".join(f"--board {name}" for name in names)
            + ", or --board FILE.toml"
        ],
    )


def _there(text):
    try:
        data = json.loads(text)
        return data if isinstance(data["name"], str) and isinstance(data["pins"], dict) else None
    except (TypeError, ValueError, KeyError):
        return None


def _as_there(found, there):
    name = there["name"]
    if name not in boards.names():
        return None, found.board.encode(), "your own, as it is on the board"
    board = boards.load(name)
    ours = board.device_dict()["pins"]
    wired = {key: there["pins"][key] for key in ours if key in there["pins"]}
    other = [key for key, value in wired.items() if value != ours[key]]
    if other:
        key = other[0]
        raise BadInput(
            [
                f"/board.json: pins.{key} = {wired[key]} on the board, but {ours[key]} in {board.path}; give the file "
                f"it was made from with --board FILE.toml, or --board {name} if the wires now are as that file says"
            ]
        )
    return board, board.device_json().encode(), "as before"
