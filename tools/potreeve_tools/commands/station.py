"""`potreeve station`: the service that listens to rigs."""

import sys
from pathlib import Path

import click

from potreeve_tools.commands import habits, station_rigs
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput

BUILTIN = "builtin"
NEEDS = ("paho", "fastjsonschema", "apprise", "starlette", "uvicorn")

HELP = "\n\n".join(
    [
        "Listen to rigs: store what they tell, exactly once; notice when one falls silent; tell its owner; show a "
        "page.",
        "A rig empties its queue only when this station says that a record is safely stored, so neither broker nor "
        "station may lose "
        "any. Routes for letters, quiet hours and a heartbeat are in station.toml in your data folder (or --config).",
        habits.examples(
            ("potreeve station --broker 192.168.1.20", "with a broker you have"),
            ("potreeve station --broker builtin", "with one of its own"),
            ("potreeve station pair --rig sill", "tell a board on the cable"),
            ("potreeve station --test-alarm", "try every route"),
            ("potreeve station alarms", "what is up; 1 if somebody is needed"),
        ),
        "Exit status 1 if a test letter was refused or, for alarms, if something needs a person; 2 for what "
        "can't be used.",
    ]
)


def _need_packages():
    import importlib.util

    missing = [name for name in NEEDS if importlib.util.find_spec(name) is None]
    if missing:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                "The station needs packages that are not installed: pip install 'potreeve[station]', or start it by "
                "tools/go.py"
            ],
        )


def _config_option(function):
    return click.option(
        "--config",
        "config_path",
        type=click.Path(path_type=Path),
        metavar="FILE.toml",
        help="Instead of station.toml in your data folder.",
    )(function)


@click.group(
    cls=habits.Group,
    name="station",
    help=HELP,
    short_help="Listen to rigs; store, watch, tell and show.",
    invoke_without_command=True,
)
@click.option(
    "--broker", metavar="HOST[:PORT]|builtin", help="The MQTT broker to listen to, or one of the station's own."
)
@click.option("--user", metavar="NAME", help="Its name for the station.")
@click.option(
    "--key-file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A file with the station's key there (or POTREEVE_BROKER_KEY).",
)
@click.option("--tls", is_flag=True, help="Speak TLS with the broker; its certificate is checked.")
@click.option(
    "--ca",
    type=click.Path(path_type=Path, exists=True),
    metavar="FILE",
    help="Check it against this authority; implies --tls.",
)
@click.option(
    "--broker-listen",
    default="0.0.0.0:1883",
    show_default=True,
    metavar="HOST:PORT",
    help="Where the builtin broker listens.",
)
@station_rigs.store_option
@_config_option
@click.option("--listen", default="127.0.0.1:8090", show_default=True, metavar="HOST:PORT", help="Where the page is.")
@click.option("--no-page", is_flag=True, help="Show no page.")
@click.option("--certificate", type=click.Path(exists=True), metavar="FILE", help="The page's certificate.")
@click.option("--certificate-key", type=click.Path(exists=True), metavar="FILE", help="Its key.")
@click.option("--behind-proxy", is_flag=True, help="A proxy before the page speaks TLS.")
@click.option(
    "--share",
    default="",
    metavar="NAME",
    help="Share the listening with other stations that give the same name and store.",
)
@click.option(
    "--worker", default="", metavar="NAME", help="Of those, be one that only stores; each has a name of its own."
)
@click.option("--test-alarm", is_flag=True, help="Send a test letter by every route, and leave.")
@habits.no_color
@click.pass_context
def command(ctx, **options):
    if ctx.invoked_subcommand is not None:
        return
    _need_packages()
    from potreeve_tools.station import config

    settings = config.load(options["config_path"])
    if options["test_alarm"]:
        ctx.exit(_test_alarm(settings))
    if not options["broker"]:
        raise BadInput(["--broker is needed: the address of your MQTT broker, or builtin for one of the station's own"])
    _run(settings, options)


def _run(settings, options):
    from potreeve_tools.station import broker, builtin, service

    page = None if options["no_page"] else _host_port(options["listen"], "listen")
    tls = _certificates(options, page)
    where = options["where"] or station_rigs.default_store()
    child = None
    if options["broker"] == BUILTIN:
        child = builtin.Builtin(*_host_port(options["broker_listen"], "broker-listen")).start()
        to = child.address()
        click.echo(f"Broker: {child.host}:{child.port}, for paired rigs alone.", err=True)
    else:
        to = broker.address(
            options["broker"],
            options["user"],
            options["key_file"],
            options["ca"] and str(options["ca"]),
            options["tls"],
        )
        click.echo(f"Broker: {to.host}:{to.port}{' by TLS' if to.ca is not None else ''}.", err=True)
    try:
        page = None if options["worker"] else page
        plan = service.Plan(
            to,
            str(where),
            settings,
            page,
            tls,
            options["behind_proxy"],
            _name(options, "share"),
            _name(options, "worker"),
        )
        with service.Station(plan, lambda text: click.echo(text, err=True), child) as station:
            if not settings.routes:
                click.echo(
                    "No route for letters yet: alarms show on the page alone. Name one in station.toml.", err=True
                )
            station.serve()
    finally:
        if child:
            child.stop()


def _name(options, key):
    from potreeve_tools.station import messages

    if options[key] and messages.rig_name_fault(options[key]):
        raise BadInput([f"--{key} {options[key]!r}: use 1 to 32 of a-z, 0-9, - and _"])
    if options["worker"] and not options["share"]:
        raise BadInput(["--worker: only for stations that share their listening; add --share NAME"])
    return options[key]


def _host_port(text, key):
    host, _, port = text.rpartition(":")
    if not host or not port.isdigit() or not 1 <= int(port) <= 65535:
        raise BadInput([f"{key} = {text!r}: no address to listen at; give HOST:PORT, such as 127.0.0.1:8090"])
    return host.strip("[]"), int(port)


def _certificates(options, page):
    """(certificate, key) or None. A page for others needs TLS, here or in front, and a password."""
    from potreeve_tools.station import account, keys

    given = options["certificate"], options["certificate_key"]
    if any(given) and not all(given):
        raise BadInput(["--certificate and --certificate-key: give both"])
    if page is None or account.is_loopback(page[0]) and not options["behind_proxy"]:
        return given if all(given) else None
    faults = []
    if not all(given) and not options["behind_proxy"]:
        faults.append(
            f"--listen {options['listen']}: others on the network could read the password; add --certificate and "
            f"--certificate-key, "
            "or --behind-proxy if a proxy before it speaks TLS"
        )
    if "account" not in keys.load():
        faults.append(f"--listen {options['listen']}: there is no password yet; set one with potreeve station account")
    if faults:
        raise BadInput(faults)
    return given if all(given) else None


def _test_alarm(settings):
    from potreeve_tools.station import notify

    if not settings.routes:
        raise BadInput(["There is no route: name one in station.toml ([[route]] with name and url)"])
    bad = 0
    for route in settings.routes:
        good = notify.deliver(
            route.url,
            "Potreeve: this is a test",
            "If you read this, alarms of your rigs reach you this way. Nothing is wrong.",
            route.level,
        )
        bad += not good
        click.echo(f"{route.name}: {'taken' if good else 'REFUSED; see its url in station.toml'}")
    return exits.FAILED if bad else exits.OK


@command.command(
    "alarms",
    short_help="What is up; 1 if somebody is needed.",
    epilog=habits.examples(("potreeve station alarms --json", "for programs")),
)
@station_rigs.store_option
@habits.as_json
@habits.no_color
@click.pass_context
def alarms(ctx, where, as_json):
    """Show all alarms that are not over. Exit status 1 if one of them needs a person and nobody has seen it."""
    from potreeve_tools.station import book, store

    kept = station_rigs.opened(store, where)
    try:
        found = book.open_alarms(kept)
    finally:
        kept.close()
    told = book.for_programs(found)
    if as_json:
        habits.print_json(told)
    elif not found:
        click.echo("Nothing is up.")
    for one in [] if as_json else found:
        who = " · ".join(part for part in (one["rig"], one["pot"]) if part) or "station"
        click.echo(
            f"{who}: {one['what']}."
            + (f" To do: {one['todo']}." if one["todo"] else "")
            + (" (seen)" if one["acked_s"] else "")
        )
    ctx.exit(exits.FAILED if told["needed"] else exits.OK)


@command.command(
    "account",
    short_help="Set the page's password.",
    epilog=habits.examples(("potreeve station account", "asks for it")),
)
@habits.no_color
def account():
    """Set the password of the page, for those who come over a network. Whoever was logged in has to log in again."""
    from potreeve_tools.station import keys

    if screen.is_terminal(sys.stdin):
        password = click.prompt("Password", hide_input=True, confirmation_prompt=True, err=True)
    else:
        password = sys.stdin.readline().rstrip("\r\n")
    if not 8 <= len(password) <= 200:
        raise BadInput([f"password: {len(password)} characters; give 8 to 200"])
    keys.set_password(keys.load(), password)
    click.echo("The password is set; a running station takes it at its next start.", err=True)


command.add_command(station_rigs.pair)
command.add_command(station_rigs.access)
command.add_command(station_rigs.tell)
command.add_command(station_rigs.export)
