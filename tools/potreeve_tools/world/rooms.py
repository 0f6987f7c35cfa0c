"""The invented reading room, with as many pots as a board has pumps for: what runs where no rig file is given."""

from potreeve_tools.terminal.faultlist import read_toml
from potreeve_tools.world.rigfile import DEFAULT_RIG, check_rig

FOUR = DEFAULT_RIG.with_name("reading_room_four.toml")
PATHS = (DEFAULT_RIG, FOUR)


def path_for(pots):
    """The rig file of a room with so many pots, or more where none has so few."""
    return FOUR if pots > 3 else DEFAULT_RIG


def mapping_for(board):
    """(rig file's mapping, its path) for a board in device form: its first pots, if it has fewer pumps than the room
    has pots."""
    count = len(board["pins"]["pumps"])
    path = path_for(count)
    data = read_toml(path)
    data["pot"] = data["pot"][:count]
    return data, path


def rig_for(board):
    """The same as a Rig."""
    data, path = mapping_for(board)
    return check_rig(data, str(path))
