"""`potreeve settings push`: a file, or a copy from the data folder, onto the board."""

from pathlib import Path

import click

from potreeve_tools.commands import habits, settings_asked
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput


@click.command(
    "push",
    cls=habits.Command,
    short_help="From a file, or from a copy.",
    epilog=habits.examples(
        ("potreeve settings push my.toml", "from a file"),
        ("potreeve settings push my.toml --dry-run", "only show what it means"),
        ("potreeve settings push --from-backup", "onto a blank or a replacement board"),
    ),
)
@click.argument("path", type=click.Path(path_type=Path), metavar="FILE", required=False)
@click.option(
    "--from-backup",
    "copy_path",
    is_flag=False,
    flag_value="newest",
    metavar="[COPY]",
    help="Take a copy from your data folder instead: the newest one of this board, or the one named (a path, or a "
    "board's id). Brings a blank or a replacement board back to work, with its pots' history.",
)
@click.option("--list-backups", is_flag=True, help="List the copies and leave.")
@click.option(
    "--without-calibration", "without", is_flag=True, help="Leave out the file's probe curves and pump figures."
)
@click.option(
    "--discard-calibration",
    "discard",
    is_flag=True,
    help="Let the file's probe curves and pump figures, or their absence, replace what was measured on the board.",
)
@click.option("--dry-run", is_flag=True, help="Show what would change and what it means, and leave.")
@settings_asked.YES
@habits.port
@habits.no_color
def command(path, copy_path, list_backups, without, discard, dry_run, yes, port, wait_s):
    """Check a file (TOML or JSON), show what changes and what it means, ask, and put it on the board.

    What was measured on the board (potreeve calibrate) stays, whatever the file says of it.
    """
    if list_backups:
        _list_copies()
        return
    if (path is None) == (copy_path is None):
        raise BadInput(["settings push: give one of FILE and --from-backup"])
    if copy_path is not None:
        _push_copy(copy_path, dry_run, yes, port, wait_s)
        return
    from potreeve_tools.link import calibrate_notes, settings_measured
    from potreeve_tools.settings import settingsfile

    if without and discard:
        raise BadInput(["--without-calibration and --discard-calibration: give one of them"])
    way = settings_measured.WITHOUT if without else settings_measured.DISCARD if discard else settings_measured.KEEP
    new, simulated = settingsfile.load(path), settingsfile.is_simulated(path)
    with habits.connect(port, wait_s) as link:
        facts = settings_asked.facts_of(link)
        if simulated:
            settings_measured.refuse_simulated(new, path, link, way)
        notes = calibrate_notes.read(facts.files.get(calibrate_notes.NAME))
        merged, stays = settings_measured.merge(facts.settings, new, notes, way)
        new = settingsfile.check(merged, f"{path} with what was measured on the board")
        for line in stays:
            click.echo(line)
        settings_asked.propose(link, facts, new, yes, "settings push", dry_run)


def _push_copy(which, dry_run, yes, port, wait_s):
    from potreeve_tools.link import boardnames, settings_measured, settings_push, settings_restore, status_facts

    with habits.connect(port, wait_s) as link:
        status_facts.need_firmware(link)
        facts = settings_asked.facts_of(link)
        if facts.board is None:
            raise exits.Stop(
                exits.FAILED,
                [f"{link.port}: the board has no board file, so its pumps are not known.", "Run potreeve flash first."],
            )
        copy = _find_copy(which, facts.id)
        settings_measured.refuse_simulated_copy(copy, link)
        restored = settings_restore.fit(copy, facts.board)
        console = screen.console()
        console.print(
            f"Copy of board {boardnames.shown(copy.board_id)}, taken {copy.taken_utc} ({copy.why}).", style="bold"
        )
        changed = settings_push.show(console, facts.settings, restored.settings, facts)
        for note in restored.notes:
            console.print(note, soft_wrap=True)
        if dry_run:
            return
        if not changed and facts.state is not None:
            click.echo("The board has these settings and a memory of its own: nothing to do.", err=True)
            return
        settings_push.ask("Put this on the board?", yes, link)
        kept, history = settings_push.restore(link, facts, restored, "restore from a copy")
    if history:
        console.print(
            "The pots have their history back. What was given since the copy is not known, so the day's water counts "
            "as given and the tray as full: empty the tray, then hold the button for two seconds, twice.",
            soft_wrap=True,
        )
    elif restored.state is not None:
        console.print("The board's own memory is newer than the copy's and was left alone.")
    click.echo(f"Done and read back. A copy is kept: {kept.stem}.", err=True)


def _find_copy(which, board_id):
    from potreeve_tools.link import backup, boardnames

    if which == "newest":
        own = backup.listing(board_id)
        # A blank board's own copies hold no settings: look for one that does.
        copies = [
            copy
            for copy in map(backup.read, reversed(own))
            if "settings.json" in copy.files or "settings.good.json" in copy.files
        ]
        if copies:
            return copies[0]
        others = sorted({path.parent.parent.name for path in backup.listing()} - {backup.plain(board_id)})
        told = f"; boards with copies: {', '.join(others)}; give one's id as --from-backup ID" if others else ""
        raise BadInput([f"there is no copy with settings of this board ({board_id}) in {backup.data_folder()}{told}"])
    if Path(which).exists():
        return backup.read(which)
    of_board = backup.listing(boardnames.resolve(which))
    for path in reversed(of_board):
        copy = backup.read(path)
        if "settings.json" in copy.files or "settings.good.json" in copy.files:
            return copy
    raise BadInput(
        [
            f"{which}: neither a copy's file nor a board's id with copies; `potreeve settings push --list-backups` "
            f"lists them"
        ]
    )


def _list_copies():
    from potreeve_tools.link import backup, boardnames

    paths = backup.listing()
    for path in paths:
        try:
            copy = backup.read(path)
            click.echo(f"{copy.taken_utc}  board {boardnames.shown(copy.board_id)}  {copy.why}  {path}")
        except BadInput as fault:
            click.echo(fault.faults[0])
    if not paths:
        click.echo(f"No copies in {backup.data_folder()} yet.", err=True)
