"""Options that name what a run is made of: board, rig, settings, interpreter; and what the files hold."""

from pathlib import Path

import click

from potreeve_tools.terminal.faultlist import collect

INTERPRETERS = ("micropython", "cpython", "micropython32")

settings = click.option(
    "--settings",
    "settings_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Settings, TOML or JSON. Default: what calibrating this rig gives.",
)
"""Add --settings; the function gets `settings_path`."""

rig = click.option(
    "--rig",
    "rig_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The rig, TOML. Default: the reading room, a pot for each of the board's pumps.",
)
"""Add --rig; the function gets `rig_path`."""


def board(help_text):
    """Add --board, a name or a file."""
    return click.option("--board", default="rp2040_wifi", show_default=True, metavar="NAME|FILE", help=help_text)


def interpreter(more=""):
    """Add --interpreter; more: sentences after the common one."""
    return click.option(
        "--interpreter",
        type=click.Choice(INTERPRETERS),
        default="micropython",
        show_default=True,
        help="What runs the firmware." + more,
    )


def load(board_name, settings_path, rig_path):
    """(rig, board in device form, settings or None, (mapping of the rig, its path)). Raises BadInput with the faults of
    all three files. Where no rig is named it is the reading room, with a pot for each pump."""
    from potreeve_tools.boards import boardfile as boards
    from potreeve_tools.settings import settingsfile
    from potreeve_tools.world import rigfile, rooms

    rig, board, settings = collect(
        lambda: rigfile.load_rig(rig_path) if rig_path else None,
        lambda: boards.load(board_name).device_dict(),
        lambda: settingsfile.load(settings_path) if settings_path else None,
    )
    if rig is None:
        return rooms.rig_for(board), board, settings, rooms.mapping_for(board)
    return rig, board, settings, (rigfile.read(rig_path), rig_path)
