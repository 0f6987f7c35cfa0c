"""`potreeve settings`: what the rig is to do, on the desktop as commented TOML, on the board as JSON."""

from pathlib import Path

import click

from potreeve_tools.commands import habits, settings_new
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput

HELP = "\n\n".join(
    [
        "See, change and push the settings of a board.",
        "The same checker judges them here and on the board. Before anything is pushed, it is shown what changes and "
        "what that means; what is pushed replaces the old whole or not at all, is checked once more by the board and "
        "read back. A dated copy stays in your data folder (POTREEVE_DATA_DIR, if set).",
        habits.examples(
            ("potreeve settings show", "all of them, as commented TOML"),
            ("potreeve settings get mint.day_ml", "one of them"),
            ("potreeve settings set mint.day_ml 250", "change one"),
            ("potreeve settings edit", "change them in your editor"),
            ("potreeve settings new my.toml --plant mint --pot 1.2 --tray-cm2 900 --tray-wall-mm 15", "a first file"),
            ("potreeve settings pull my.toml", "into a file"),
            ("potreeve settings push my.toml", "from a file"),
            ("potreeve settings push --from-backup", "onto a blank or a replacement board"),
            ("potreeve settings undo", "back to those before the last push"),
        ),
        "Exit status 1 if nothing was changed: someone said no, there is nothing to work on, or the board is "
        "full; 2 if a key, a value "
        f"or a file won't do, or nobody is there to agree; {habits.LINK_CODES}; 5 if what was written does not "
        "read back.",
    ]
)

YES = click.option("--yes", is_flag=True, help="Agree beforehand; nothing is asked.")


@click.group(cls=habits.Group, name="settings", help=HELP, short_help="See, change and push the settings of a board.")
def command():
    pass


@command.command(
    "show",
    short_help="All settings of the board.",
    epilog=habits.examples(
        ("potreeve settings show", "all of them, as commented TOML"), ("potreeve settings show --json", "for programs")
    ),
)
@habits.port
@habits.as_json
@habits.no_color
def show(port, wait_s, as_json):
    """Print the settings the board runs, as commented TOML; secrets are left out."""
    from potreeve_tools.link import settings_push
    from potreeve_tools.settings import settings_toml

    with habits.connect(port, wait_s) as link:
        facts = _facts(link)
        _need(facts, link)
    _say_notes(facts)
    if as_json:
        habits.print_json(settings_push.veiled_json(facts.settings))
    else:
        click.echo(settings_toml.to_toml(facts.settings, hide_secrets=True), nl=False)


@command.command(
    "get", short_help="One key.", epilog=habits.examples(("potreeve settings get mint.day_ml", "one of them"))
)
@click.argument("key")
@habits.port
@habits.as_json
@habits.no_color
def get(key, port, wait_s, as_json):
    """Print one key: `wake_s`, or of a pot `mint.day_ml` (by name) or `channels[0].day_ml` (by place)."""
    from potreeve_tools.link import settings_keys
    from potreeve_tools.settings import settings_secret, settings_toml

    with habits.connect(port, wait_s) as link:
        facts = _facts(link)
        _need(facts, link)
    value, row = settings_keys.get(facts.settings, key)
    value = settings_secret.shown(row[0], value)
    if as_json:
        habits.print_json({"key": key, "value": value, "unit": row[2]})
    else:
        click.echo(value if isinstance(value, str) else settings_toml.toml_value(value))


@command.command(
    "set",
    short_help="Change one key.",
    epilog=habits.examples(
        ("potreeve settings set mint.day_ml 250", "change one"),
        ("potreeve settings set wake_s 3600 --yes", "without being asked"),
    ),
)
@click.argument("key")
@click.argument("value", required=False)
@YES
@habits.port
@habits.no_color
def set_(key, value, yes, port, wait_s):
    """Change one key on the board, after showing what that means. Without VALUE it is asked for (so that a secret is
    in no command line)."""
    from potreeve_tools.link import awake, settings_keys
    from potreeve_tools.settings import settings_secret, settingsfile

    with habits.connect(port, wait_s) as link:
        facts = _facts(link)
        _need(facts, link)
        index, bare, _ = settings_keys.find(facts.settings, key)
        if value is None:
            with awake.kept(link):
                value = click.prompt(key, hide_input=settings_secret.is_secret(bare), err=True)
        new = settingsfile.check(settings_keys.with_value(facts.settings, key, value), "settings")
        _propose(link, facts, new, yes, f"set {key}")


@command.command(
    "edit",
    short_help="Change them in your editor.",
    epilog=habits.examples(("potreeve settings edit", "in $VISUAL or $EDITOR")),
)
@YES
@habits.port
@habits.no_color
def edit(yes, port, wait_s):
    """Open the board's settings in your editor (VISUAL, EDITOR), then push what you made of them."""
    from potreeve_tools.link import awake, backup
    from potreeve_tools.settings import settings_toml, settingsfile

    with habits.connect(port, wait_s) as link:
        facts = _facts(link)
        _need(facts, link)
        with awake.kept(link):
            text = click.edit(settings_toml.to_toml(facts.settings), extension=".toml")
        if text is None:
            click.echo("Nothing was changed.", err=True)
            return
        path = backup.board_folder(facts.id) / "edited.toml"
        backup.write_whole(path, text.encode("utf-8"))
        try:
            new = settingsfile.load(path)
        except BadInput as fault:
            raise BadInput(
                [*fault.faults, f"Your text is kept in {path}; correct it and run: potreeve settings push {path}"]
            ) from None
        _propose(link, facts, new, yes, "edit")
        path.unlink(missing_ok=True)


command.add_command(settings_new.command)


@command.command(
    "pull", short_help="Into a file.", epilog=habits.examples(("potreeve settings pull my.toml", "into a file"))
)
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.toml")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@habits.port
@habits.no_color
def pull(path, force, port, wait_s):
    """Write the board's settings to a file, as commented TOML that can be pushed again. It holds secrets, if there
    are any."""
    from potreeve_tools.link import backup, settings_measured
    from potreeve_tools.settings import settings_toml

    if path.exists() and not force:
        raise BadInput([f"{path}: is there already; give another name, or --force to write over it"])
    with habits.connect(port, wait_s) as link:
        facts = _facts(link)
        _need(facts, link)
    _say_notes(facts)
    text = settings_toml.to_toml(facts.settings, simulated=settings_measured.is_virtual(link))
    backup.write_whole(path, text.encode("utf-8"))
    click.echo(f"Settings of {facts.settings['name']} written to {path}.", err=True)


@command.command(
    "push",
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
@YES
@habits.port
@habits.no_color
def push(path, copy_path, list_backups, without, discard, dry_run, yes, port, wait_s):
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
        facts = _facts(link)
        if simulated:
            settings_measured.refuse_simulated(new, path, link, way)
        notes = calibrate_notes.read(facts.files.get(calibrate_notes.NAME))
        merged, stays = settings_measured.merge(facts.settings, new, notes, way)
        new = settingsfile.check(merged, f"{path} with what was measured on the board")
        for line in stays:
            click.echo(line)
        _propose(link, facts, new, yes, "settings push", dry_run)


def _push_copy(which, dry_run, yes, port, wait_s):
    from potreeve_tools.link import boardnames, settings_measured, settings_push, settings_restore, status_facts

    with habits.connect(port, wait_s) as link:
        status_facts.need_firmware(link)
        facts = _facts(link)
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


@command.command(
    "undo",
    short_help="Back to those before the last push.",
    epilog=habits.examples(("potreeve settings undo", "back to those before the last push")),
)
@YES
@habits.port
@habits.no_color
def undo(yes, port, wait_s):
    """Put back the settings the last push (or calibration) replaced. Undoing twice is doing it again."""
    from potreeve_tools.link import held, settings_push, status_facts

    with habits.connect(port, wait_s) as link:
        facts = _facts(link)
        data = facts.files.get(status_facts.UNDO)
        old, why = held.checked(data, facts.pumps) if data is not None else (None, None)
        if why:
            raise exits.Stop(
                exits.FAILED,
                [
                    f"the settings before can't be used: {why}",
                    "Copies are listed by: potreeve settings push --list-backups",
                ],
            )
        if old is not None:
            if not settings_push.show(screen.console(), facts.settings, old, facts):
                click.echo("The settings before are the same as those in force: nothing to do.", err=True)
                return
            settings_push.ask("Put these back?", yes, link)
        kept = settings_push.undo(link, facts)
    click.echo(f"Done and read back. A copy is kept: {kept.stem}.", err=True)


def _facts(link):
    from potreeve_tools.link import status_facts

    return status_facts.read(link)


def _need(facts, link):
    """Stop when the board has no settings at all."""
    if facts.settings is None:
        _say_notes(facts)
        raise exits.Stop(
            exits.FAILED,
            [
                f"{link.port}: there are no settings on this board that pass the check.",
                "Push some (potreeve settings push FILE), or bring back a copy (potreeve settings push --from-backup).",
            ],
        )


def _say_notes(facts):
    from potreeve_tools.link import status_facts

    for what, do in facts.notes:
        click.echo(f"Note: {what}; {do}.", err=True)
    if facts.old_ones:
        newer = facts.files.get(status_facts.SETTINGS)
        click.echo(
            "Note: these are the last good settings"
            + ("; the newer file does not pass." if newer else "; the newer file is gone."),
            err=True,
        )


def _propose(link, facts, new, yes, why, dry_run=False):
    """Show, ask, push."""
    from potreeve_tools.link import settings_push, status_facts

    status_facts.need_firmware(link)
    _say_notes(facts)
    changed = settings_push.show(screen.console(), facts.settings, new, facts)
    if dry_run:
        return
    if not changed and not facts.old_ones:
        click.echo("The board has these settings already: nothing to do.", err=True)
        return
    settings_push.ask("Push these settings?", yes, link)
    kept = settings_push.push(link, facts, new, why)
    click.echo(f"Done and read back. A copy is kept: {kept.stem}.", err=True)
