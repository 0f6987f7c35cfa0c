"""What the subcommands of `potreeve settings` share: read a board, say what is odd, show a change, ask, push."""

import click

from potreeve_tools.terminal import exits, screen

YES = click.option("--yes", is_flag=True, help="Agree beforehand; nothing is asked.")


def facts_of(link):
    """What stands on a connected board: link.status_facts.Facts."""
    from potreeve_tools.link import status_facts

    return status_facts.read(link)


def need(facts, link):
    """Stop when the board has no settings at all."""
    if facts.settings is None:
        say_notes(facts)
        raise exits.Stop(
            exits.FAILED,
            [
                f"{link.port}: there are no settings on this board that pass the check.",
                "Push some (potreeve settings push FILE), or bring back a copy (potreeve settings push --from-backup).",
            ],
        )


def say_notes(facts):
    """Tell, beside the result, what is odd about the settings that were read."""
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


def propose(link, facts, new, yes, why, dry_run=False):
    """Show, ask, push."""
    from potreeve_tools.link import settings_push, status_facts

    status_facts.need_firmware(link)
    say_notes(facts)
    changed = settings_push.show(screen.console(), facts.settings, new, facts)
    if dry_run:
        return
    if not changed and not facts.old_ones:
        click.echo("The board has these settings already: nothing to do.", err=True)
        return
    settings_push.ask("Push these settings?", yes, link)
    kept = settings_push.push(link, facts, new, why)
    click.echo(f"Done and read back. A copy is kept: {kept.stem}.", err=True)
