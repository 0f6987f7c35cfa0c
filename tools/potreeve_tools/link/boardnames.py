"""Names that people give their boards, in the user's data folder; a board itself knows only its id of many digits."""

import json

from potreeve_tools.link import backup
from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput

NAMES = "names.json"
MOST = 24
SHORT = 8


def known():
    """{id: name} of all boards that were named."""
    try:
        names = files.read_json(_path())
    except BadInput:
        return {}
    return {str(one): str(name) for one, name in names.items()} if isinstance(names, dict) else {}


def shown(board_id):
    """A board's name; without one the end of its id, which differs from board to board."""
    board_id = str(board_id)
    own = known().get(backup.plain(board_id))
    return own or (board_id if len(board_id) <= 2 * SHORT else f"…{board_id[-SHORT:]}")


def resolve(word):
    """The id that a person means by a name, an id, or the end of one; the word itself where none is meant."""
    names = known()
    meant = [one for one, name in names.items() if name == word]
    if not meant:
        folder = backup.data_folder() / "boards"
        there = [path.name for path in folder.iterdir() if path.is_dir()] if folder.is_dir() else []
        meant = [one for one in there if one == backup.plain(word)] or [
            one for one in there if len(word.lstrip("…")) >= 4 and one.endswith(word.lstrip("…"))
        ]
    if len(meant) > 1:
        raise BadInput([f"{word}: that may be {' or '.join(sorted(meant))}; give more of it"])
    return meant[0] if meant else word


def give(board_id, name):
    """Name a board. Raises BadInput for a name that won't do, or that another board has."""
    name = name.strip()
    if not 1 <= len(name) <= MOST or not name.isprintable():
        raise BadInput([f"{name!r}: give a board a name of 1 to {MOST} characters"])
    names = known()
    other = next((one for one, own in names.items() if own == name and one != backup.plain(board_id)), None)
    if other:
        raise BadInput([f"{name}: another board has that name ({other}); give this one its own"])
    names[backup.plain(board_id)] = name
    _path().parent.mkdir(parents=True, exist_ok=True)
    backup.write_whole(_path(), json.dumps(names, ensure_ascii=False, indent=1, sort_keys=True).encode("utf-8"))


def _path():
    return backup.data_folder() / "boards" / NAMES
