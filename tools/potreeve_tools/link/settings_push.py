"""Puts settings on a board: whole or not at all, checked there once more, read back.

The file travels into the board's memory; only when all of it has arrived does the
board check it and replace the old one, in one step of its own store. A cable pulled
at any moment leaves the old settings or the new ones.
"""

import base64
from binascii import crc32

import click
from potreeve.logic import errors, ledger

from potreeve_tools.link import awake, calibrate_notes, settings_diff, settings_meaning, status_facts
from potreeve_tools.link.device import program
from potreeve_tools.settings import judge, settings_secret, settingsfile
from potreeve_tools.terminal import exits, screen

PIECE_BYTES = 768

NO_ROOM = 28


def show(console, old, new, facts):
    """Print what changes and what it means; returns False when nothing changes."""
    changes = settings_diff.changes(old, new)
    if not changes:
        return False
    console.print("What changes:" if old else "New settings, but for what is as by default:", style="bold")
    for change in changes:
        console.print(f"  {change.line()}", soft_wrap=True)
    console.print("What it means:", style="bold")
    for line in settings_meaning.meaning(old, new, facts.board, facts.state):
        console.print(f"  {line}", soft_wrap=True)
    return True


def ask(question, yes, link):
    """Go on only when a person agrees, or --yes has been given; the board is kept in service while they think."""
    if yes:
        return
    import sys

    if not screen.is_terminal(sys.stdin):
        raise exits.Stop(
            exits.BAD_INPUT,
            [f"{question} There is nobody to ask: add --yes to agree beforehand.", "Nothing was changed."],
        )
    with awake.kept(link):
        agreed = click.confirm(question, default=False, err=True)
    if not agreed:
        raise exits.Stop(exits.FAILED, ["Nothing was changed."])


def push(link, facts, new, why, progress=None):
    """Put checked settings on a board and read them back; returns the path of the copy left behind.

    facts: as status_facts.read gave them; they are up to date afterwards. Raises Stop.
    """
    status_facts.need_firmware(link)
    if facts.board is None:
        raise exits.Stop(
            exits.FAILED,
            [f"{link.port}: the board has no board file, so its pumps are not known.", "Run potreeve flash first."],
        )
    if len(new["channels"]) > facts.pumps:
        raise exits.Stop(
            exits.BAD_INPUT,
            [f"channels = {len(new['channels'])} tables, but this board has {facts.pumps} pumps; leave pots out"],
        )
    data = settingsfile.to_json(new)
    status_facts.keep_copy(facts, "before " + why)
    send(link, data, facts.pumps, progress)
    return _settle(link, facts, data, why)


def send(link, data, pumps, progress=None):
    """Move the file over and have the board commit it. Raises Stop."""
    for at in range(0, len(data), PIECE_BYTES):
        piece = base64.b64encode(data[at : at + PIECE_BYTES]).decode("ascii")
        begin = "_new=bytearray()\n" if at == 0 else ""
        link.run(f"{begin}_new.extend(_a('{piece}'))", "taking the settings in")
        if progress:
            progress(min(at + PIECE_BYTES, len(data)), len(data))
    _check_word(
        link.run(
            f"{program('putting')}answer=_commit(_new,{len(data)},{crc32(data)},{pumps})",
            "checking and storing the settings",
        ),
        link.port,
    )


def undo(link, facts):
    """Put the settings before the last push back; returns the path of the copy left behind."""
    status_facts.need_firmware(link)
    old = facts.files.get(status_facts.UNDO)
    if old is None:
        raise exits.Stop(
            exits.FAILED,
            [
                "There is nothing to undo: no settings were pushed over others on this board.",
                "Copies of what it held are listed by: potreeve settings push --list-backups",
            ],
        )
    status_facts.keep_copy(facts, "before undo")
    _check_word(
        link.run(f"{program('putting')}answer=_undo({facts.pumps})", "putting the settings before back"), link.port
    )
    return _settle(link, facts, old, "undo")


def _check_word(answer, port):
    word, detail = answer
    if word == "done" and not detail & errors.SETTINGS:
        return
    if word == "refused":
        raise exits.Stop(
            exits.NOT_VERIFIED,
            [
                "The board's own check does not pass these settings, the old ones stay:",
                *[f"  {line if isinstance(line, str) else judge.line(line)}" for line in detail],
                "Its firmware may be older than this tool: run potreeve flash.",
            ],
        )
    if word == "none":
        raise exits.Stop(exits.FAILED, ["There is nothing to undo."])
    if word == "file":
        raise exits.Stop(
            exits.FAILED,
            [
                f"{port}: the settings could not be stored: "
                + (
                    "the board's file system is full."
                    if detail == NO_ROOM
                    else f"its file system failed (error {detail})."
                ),
                "The old settings are still in force. Keep the log (potreeve logs pull), remove files that are not "
                "Potreeve's (mpremote fs tree lists them), and push again.",
            ],
        )
    raise exits.Stop(
        exits.NOT_VERIFIED,
        [
            f"{port}: the settings did not arrive whole; the old ones are still in force.",
            "Check the cable and push again.",
        ],
    )


def _settle(link, facts, data, why):
    """Read back, bring facts up to date, leave a copy."""
    back = link.read_file("data/settings.json")
    if back != data:
        raise exits.Stop(
            exits.NOT_VERIFIED,
            [
                f"{link.port}: the settings do not read back as they were sent.",
                "The board runs its last good ones then; push again, and if it stays so, flash the board.",
            ],
        )
    fresh = status_facts.read(link)
    facts.__dict__.update(fresh.__dict__)
    return status_facts.keep_copy(facts, why)


def put_history(link, state):
    """Put a carried State on the board's ledger; returns nothing. Raises Stop."""
    slots = [link.read_file(f"data/{name}") for name in ledger.SLOTS]
    _, number, slot = ledger.choose(*slots)
    link.write_file(f"data/{ledger.SLOTS[slot]}", ledger.encode(number, state))


def restore(link, facts, restored, why, progress=None):
    """Settings and, where the board's own memory is not the newer one, history from a copy.

    Returns (path of the copy left behind, whether history was put back).
    """
    newer = facts.state is not None and (restored.state is None or facts.state.rig.seq >= restored.state.rig.seq)
    history = restored.state is not None and not newer
    if history:
        put_history(link, restored.state)
    notes = calibrate_notes.together(facts.files.get(calibrate_notes.NAME), restored.calibrations)
    if notes != facts.files.get(calibrate_notes.NAME):
        link.write_file(f"data/{calibrate_notes.NAME}", notes)
    return push(link, facts, restored.settings, why, progress), history


def veiled_json(settings):
    """Settings for --json, secrets taken out."""
    return settings_secret.veiled(settings)
