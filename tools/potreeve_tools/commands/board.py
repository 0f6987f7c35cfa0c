"""`potreeve board`: names for boards, instead of their ids of many digits; a board file as a board has it."""

import click

from potreeve_tools.commands import board_new, habits

HELP = "\n\n".join(
    [
        "Give boards names, and make board files of your own. A name stays in your data folder; wherever a command "
        "takes a board's id, it takes the name.",
        habits.examples(
            ("potreeve board name kitchen", "the board that is plugged in"),
            ("potreeve board list", "all boards that left something here"),
            ("potreeve board file esp32 > board.json", "to install the firmware by hand"),
            ("potreeve board new my_board.toml --chip esp32 --pots 2", "a board file of your own"),
        ),
        f"Exit status 2 if a name or a board file won't do; {habits.LINK_CODES}.",
    ]
)


@click.group(cls=habits.Group, name="board", help=HELP, short_help="Give boards names; make and show board files.")
def command():
    pass


command.add_command(board_new.command)


@command.command(
    "name",
    short_help="Name the board that is plugged in.",
    epilog=habits.examples(("potreeve board name kitchen", "call it that"), ("potreeve board name", "say its name")),
)
@click.argument("name", required=False)
@habits.port
@habits.no_color
def name_(name, port, wait_s):
    """Name a board, or say its name and its whole id."""
    from potreeve_tools.link import boardnames

    with habits.connect(port, wait_s, service=False) as link:
        board_id = link.info["id"]
    if name is not None:
        boardnames.give(board_id, name)
    click.echo(f"{boardnames.shown(board_id)}: {board_id}")


@command.command(
    "list", short_help="All boards known here.", epilog=habits.examples(("potreeve board list", "names and ids"))
)
@habits.as_json
@habits.no_color
def list_(as_json):
    """List the boards that left copies or logs on this computer; needs no board."""
    from potreeve_tools.link import backup, boardnames

    folder = backup.data_folder() / "boards"
    ids = sorted(path.name for path in folder.iterdir() if path.is_dir()) if folder.is_dir() else []
    rows = [{"id": one, "name": boardnames.known().get(one)} for one in sorted({*ids, *boardnames.known()})]
    if as_json:
        habits.print_json({"boards": rows})
        return
    for row in rows:
        click.echo(f"{row['name'] or '(no name)':<24}  {row['id']}")
    if not rows:
        click.echo("No board has left anything here yet.", err=True)


@command.command(
    "file",
    short_help="A board file as a board has it, /board.json.",
    epilog=habits.examples(("potreeve board file esp32 > board.json", "then: mpremote cp board.json :/board.json")),
)
@click.argument("board", metavar="NAME|FILE")
@habits.no_color
def file_(board):
    """Print what lies on a board as /board.json; needs no board. `potreeve flash` writes it by itself."""
    from potreeve_tools.boards import boardfile

    click.echo(boardfile.load(board).device_json(), nl=False)
