"""What the gate's rehearsal and mishaps run with: the board's own settings, on a rig that resembles what they say."""

from dataclasses import dataclass
from pathlib import Path

import platformdirs

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import boardtoml
from potreeve_tools.link import backup
from potreeve_tools.link.flash import twin
from potreeve_tools.settings import settings_toml
from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput, collect


@dataclass(frozen=True)
class Setting:
    """What a rehearsal needs. options: command line words; said: where rig and settings came from; rig: rig file, None:
    default."""

    options: tuple
    said: str
    rig: Path | None = None


def default_setting(board_name, rig_path=None):
    """A rig calibrated as an owner would, for a board that has no settings yet. rig_path: None for the reading room."""
    rig = f"the rig of {rig_path}, calibrated" if rig_path else "the default rig, an invented reading room"
    options = ("--rig", str(Path(rig_path).resolve())) if rig_path else ()
    return Setting(
        ("--board", str(board_name), *options), f"The board has no settings yet: rehearsing with {rig}.", rig_path
    )


def own_board(device, board_id):
    """Path of a board file that gives the device form on a board again, None where that form is not sound."""
    path = _folder(board_id) / "board.toml"
    try:
        text = boardtoml.of_device(device)
        boards.parse(files.parse_toml(text, str(path)), path)
    except (BadInput, KeyError, TypeError, AttributeError):
        return None
    backup.write_whole(path, text.encode())
    return str(path)


def _folder(board_id):
    return Path(platformdirs.user_cache_dir("potreeve", appauthor=False)) / "gate" / backup.plain(board_id)


def check_files(settings_path, rig_path):
    """Read what the command line names, before a board is troubled for it. Raises BadInput with every fault."""
    from potreeve_tools.settings import settingsfile
    from potreeve_tools.world import rigfile

    collect(lambda: settings_path and settingsfile.load(settings_path), lambda: rig_path and rigfile.load_rig(rig_path))


def given_setting(board_name, settings_path, rig_path):
    """Rig and settings from the command line, as they are."""
    options = (
        "--board",
        str(board_name),
        "--settings",
        str(Path(settings_path).resolve()),
        "--rig",
        str(Path(rig_path).resolve()),
    )
    return Setting(options, f"Rehearsing with {settings_path} and {rig_path}.", rig_path)


def own_setting(board_name, board, settings, board_id, settings_path=None, rig_path=None):
    """A board's own settings on a rig simulated for them, or on a given one whose probes and pumps they are calibrated
    for.

    board: device form; settings: checked; settings_path: the file they are from, None for the board. Raises BadInput.
    """
    folder = _folder(board_id)
    whose = f"{settings_path}" if settings_path else "this board's own settings"
    if rig_path:
        fitted, path = twin.fit_to(settings, rig_path, board, whose), Path(rig_path).resolve()
        said = f"Rehearsing with {whose} on the rig of {rig_path}."
    else:
        rig, fitted = twin.make_twin(settings, board)
        path = folder / "rig.toml"
        backup.write_whole(path, twin.write(rig).encode())
        said = f"Rehearsing with {whose}, on a rig simulated to resemble what they describe."
    fitted_path = folder / "settings.toml"
    backup.write_whole(fitted_path, settings_toml.to_toml(fitted, hide_secrets=True).encode())
    bare = [channel["name"] for channel in settings["channels"] if not channel["curve"] or not channel["pump_ul_s"]]
    more = f" Not calibrated yet, taken as if it were: {', '.join(bare)}." if bare else ""
    return Setting(("--board", str(board_name), "--rig", str(path), "--settings", str(fitted_path)), said + more, path)
