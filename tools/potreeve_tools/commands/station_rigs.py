"""`potreeve station pair`, `access`, `tell`, `export`: what concerns single rigs, and where the station's store is."""

import os
import sys
from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput


def store_option(function):
    return click.option(
        "--store",
        "where",
        metavar="FILE|URL",
        help="An SQLite file, or postgresql://... Default: station.db in your data folder.",
    )(function)


def default_store():
    from potreeve_tools.station import config, service

    return config.folder() / service.FILE


def opened(store, where):
    where = where or default_store()
    if "://" not in str(where) and not Path(where).exists():
        raise BadInput(
            [f"{where}: no station has stored anything here yet; start one with potreeve station --broker ADDRESS"]
        )
    return store.open_store(where)


@click.command(
    cls=habits.Command,
    name="access",
    short_help="Write a broker's access list.",
    epilog=habits.examples(("potreeve station access /etc/mosquitto/potreeve", "then include potreeve.conf there")),
)
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--rig", "rigs", multiple=True, metavar="NAME", help="Make keys for this rig if it has none; may be given again."
)
@click.option("--listener", default="1883", show_default=True, metavar="PORT [HOST]", help="Where the broker listens.")
@click.option("--dry-run", is_flag=True, help="Only show the access list.")
@habits.no_color
def access(folder, rigs, listener, dry_run):
    """Write mosquitto's access list, passwords (as hashes) and settings: each rig may speak for itself alone."""
    from potreeve_tools.station import access as lists
    from potreeve_tools.station import config, keys, messages

    faults = [fault for rig in rigs if (fault := messages.rig_name_fault(rig))]
    if faults:
        raise BadInput(faults)
    if dry_run:
        click.echo(lists.access_list(), nl=False)
        return
    known = keys.load()
    for rig in rigs:
        keys.rig(known, rig)
    lists.write(folder, known, listener)
    click.echo(
        f"Written for {len(known['rigs'])} rigs: {folder}. The station's own name there is {keys.STATION}; keys are in "
        f"{config.folder() / keys.NAME}.",
        err=True,
    )


@click.command(
    cls=habits.Command,
    name="pair",
    short_help="Give a board its name, keys and the broker's address.",
    epilog=habits.examples(("potreeve station pair --rig sill --ssid HOME", "asks for the Wi-Fi's key")),
)
@click.option("--rig", required=True, metavar="NAME", help="The rig's name in all messages: a-z, 0-9, - and _.")
@click.option("--broker-host", metavar="ADDRESS", help="The broker as the board sees it, IPv4. Default: this machine.")
@click.option("--broker-port", type=click.IntRange(1, 65535), help="Its port.")
@click.option("--ssid", metavar="NAME", help="The Wi-Fi to join; its key is asked for, or read from POTREEVE_WIFI_KEY.")
@click.option("--commands/--no-commands", default=False, help="Let the board take signed hold and acknowledge.")
@click.option("--new-keys", is_flag=True, help="Make new keys; the old ones no longer open anything.")
@click.option("--dry-run", is_flag=True, help="Only show what would change.")
@click.option(
    "--store", "where", metavar="FILE|URL", help="The station's store. Default: station.db in your data folder."
)
@click.option("--yes", is_flag=True, help="Agree beforehand.")
@habits.port
@habits.no_color
def pair(rig, broker_host, broker_port, ssid, commands, new_keys, dry_run, where, yes, port, wait_s):
    """Write a rig's name, keys and the broker's address to a board on the cable, as settings; keys are never shown."""
    from potreeve_tools.link import settings_push, status_facts
    from potreeve_tools.settings import settingsfile
    from potreeve_tools.station import pair as pairing

    host = broker_host or pairing.own_address()
    pairing.check(rig, host)
    wifi_key = _wifi_key() if ssid else None
    with habits.connect(port, wait_s) as link:
        status_facts.need_firmware(link)
        facts = status_facts.read(link)
        if facts.settings is None:
            raise exits.Stop(
                exits.FAILED,
                [f"{link.port}: this board has no settings that pass; push some first (potreeve settings push FILE)"],
            )
        broker_key, command_key, made = pairing.keys_for(rig, commands, new_keys and not dry_run)
        told = {"broker_host": host, "broker_port": broker_port, "wifi_ssid": ssid, "wifi_key": wifi_key}
        new = settingsfile.check(pairing.table(facts.settings, rig, broker_key, command_key, **told), "settings")
        changed = settings_push.show(screen.console(), facts.settings, new, facts)
        if dry_run:
            return
        if changed:
            settings_push.ask("Pair this board?", yes, link)
            settings_push.push(link, facts, new, "station pair")
    _remember(pairing, pairing.about(new, rig, facts.board["name"]), where)
    click.echo(f"{rig} is paired with the broker at {host}.", err=True)
    if made:
        click.echo(
            "A broker of your own must learn its key: potreeve station access FOLDER. The builtin one learns it by "
            "itself.",
            err=True,
        )


def _remember(pairing, body, where):
    from potreeve_tools.station import store

    kept = store.open_store(where or default_store())
    try:
        pairing.introduce(kept, body)
    finally:
        kept.close()


def _wifi_key():
    if os.environ.get("POTREEVE_WIFI_KEY"):
        return os.environ["POTREEVE_WIFI_KEY"]
    if screen.is_terminal(sys.stdin):
        return click.prompt("Key of the Wi-Fi", hide_input=True, default="", show_default=False, err=True)
    raise BadInput(["--ssid: nobody is there to ask for the key of the Wi-Fi; put it into POTREEVE_WIFI_KEY"])


@click.command(
    cls=habits.Command,
    name="tell",
    short_help="Ask a rig to hold, or to take it that somebody has looked.",
    epilog=habits.examples(("potreeve station tell sill hold", "as a long press of its button does")),
)
@click.argument("rig")
@click.argument("what", type=click.Choice(("hold", "acknowledge")), required=False)
@click.option(
    "--store", "where", metavar="FILE|URL", help="The station's store. Default: station.db in your data folder."
)
@habits.as_json
@habits.no_color
def tell(rig, what, where, as_json):
    """Leave a signed command for a rig; it hears of it when it next reports. Without a command, show what became of
    the last.

    Only a rig that was paired with --commands obeys, and nothing here can give water.
    """
    from potreeve_tools.station import commands, store

    kept = store.open_store(where or default_store())
    try:
        if what:
            commands.ask(kept, rig, what)
        found = commands.state(kept, rig)
    finally:
        kept.close()
    shown = {key: value for key, value in (found or {"state": "none"}).items() if key != "payload"}
    if as_json:
        habits.print_json({"schema": "potreeve-tell/1", "rig": rig, **shown})
    else:
        said = {
            "waiting": "waits until the rig reports",
            "none": "nothing was asked of it",
            "stale": "never taken, and stale by now",
        }
        whys = {"mac": "the rig holds another key; pair it again"}
        why = f" ({whys.get(shown['why'], shown['why'])})" if shown.get("why") else ""
        click.echo(f"{rig}: {shown.get('do', '')} {said.get(shown['state'], shown['state'])}{why}".replace(":  ", ": "))


@click.command(
    cls=habits.Command,
    name="export",
    short_help="All records of a rig, for a spreadsheet.",
    epilog=habits.examples(("potreeve station export sill sill.csv", "one line per wake and pot")),
)
@click.argument("rig")
@click.argument("path", type=click.Path(path_type=Path), metavar="FILE.csv|.jsonl|.parquet")
@store_option
@habits.no_color
def export(rig, path, where):
    """Write a rig's records as `potreeve logs export` does, with the names and units explained there."""
    from potreeve_tools.link import logs_export
    from potreeve_tools.station import exporting, store
    from potreeve_tools.terminal import files

    form = logs_export.FORMS.get(path.suffix.lstrip("."))
    if form is None:
        raise BadInput(
            [f"{path}: no form of export is called {path.suffix!r}; end the name in .csv, .jsonl or .parquet"]
        )
    kept = opened(store, where)
    try:
        rows, names = exporting.rows(kept, rig)
    finally:
        kept.close()
    if not rows:
        raise BadInput([f"rig = {rig!r}: nothing is stored of such a rig"])
    files.write_whole(path, form(rows, names))
    click.echo(f"{len(rows):,} records written to {path}.", err=True)
