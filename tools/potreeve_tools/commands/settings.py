"""`potreeve settings`: what the rig is to do, on the desktop as commented TOML, on the board as JSON."""

from pathlib import Path

import click

from potreeve_tools.commands import habits, settings_asked, settings_new, settings_put
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
        facts = settings_asked.facts_of(link)
        settings_asked.need(facts, link)
    settings_asked.say_notes(facts)
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
        facts = settings_asked.facts_of(link)
        settings_asked.need(facts, link)
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
@settings_asked.YES
@habits.port
@habits.no_color
def set_(key, value, yes, port, wait_s):
    """Change one key on the board, after showing what that means. Without VALUE it is asked for (so that a secret is
    in no command line)."""
    from potreeve_tools.link import awake, settings_keys
    from potreeve_tools.settings import settings_secret, settingsfile

    with habits.connect(port, wait_s) as link:
        facts = settings_asked.facts_of(link)
        settings_asked.need(facts, link)
        index, bare, _ = settings_keys.find(facts.settings, key)
        if value is None:
            with awake.kept(link):
                value = click.prompt(key, hide_input=settings_secret.is_secret(bare), err=True)
        new = settingsfile.check(settings_keys.with_value(facts.settings, key, value), "settings")
        settings_asked.propose(link, facts, new, yes, f"set {key}")


@command.command(
    "edit",
    short_help="Change them in your editor.",
    epilog=habits.examples(("potreeve settings edit", "in $VISUAL or $EDITOR")),
)
@settings_asked.YES
@habits.port
@habits.no_color
def edit(yes, port, wait_s):
    """Open the board's settings in your editor (VISUAL, EDITOR), then push what you made of them."""
    from potreeve_tools.link import awake, backup
    from potreeve_tools.settings import settings_toml, settingsfile

    with habits.connect(port, wait_s) as link:
        facts = settings_asked.facts_of(link)
        settings_asked.need(facts, link)
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
        settings_asked.propose(link, facts, new, yes, "edit")
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
        facts = settings_asked.facts_of(link)
        settings_asked.need(facts, link)
    settings_asked.say_notes(facts)
    text = settings_toml.to_toml(facts.settings, simulated=settings_measured.is_virtual(link))
    backup.write_whole(path, text.encode("utf-8"))
    click.echo(f"Settings of {facts.settings['name']} written to {path}.", err=True)


command.add_command(settings_put.command)


@command.command(
    "undo",
    short_help="Back to those before the last push.",
    epilog=habits.examples(("potreeve settings undo", "back to those before the last push")),
)
@settings_asked.YES
@habits.port
@habits.no_color
def undo(yes, port, wait_s):
    """Put back the settings the last push (or calibration) replaced. Undoing twice is doing it again."""
    from potreeve_tools.link import held, settings_push, status_facts

    with habits.connect(port, wait_s) as link:
        facts = settings_asked.facts_of(link)
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
