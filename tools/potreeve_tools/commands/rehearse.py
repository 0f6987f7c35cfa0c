"""`potreeve rehearse`: the real firmware tends a simulated rig."""

import math
import sys
from pathlib import Path

import click

from potreeve_tools.commands import given, habits, progress
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput, collect

MOST_DAYS = 3660

HELP = "\n\n".join(
    [
        "Tend a simulated rig with the real, unchanged firmware and show how it went.",
        "Without options: thirty days in the bay window of a town library's reading room, with mint, strawberry and "
        "cherry tomato (an invented rig on real hourly weather), in MicroPython with the heap and the file system of "
        "the board.",
        habits.examples(
            ("potreeve rehearse", "a month, as a table"),
            ("potreeve rehearse --report month.html", "the same, with plots"),
            ("potreeve rehearse --days 90 --seed 7 --json", "a season, for programs"),
            ("potreeve rehearse --write-settings my.toml", "the settings it used, to change them"),
            ("potreeve rehearse --settings my.toml", "and to try them out"),
            ("potreeve rehearse --station", "and let the pots report to a station"),
        ),
        "Exit status 1 if water went where it must not, or a plant died.",
    ]
)


def _days(ctx, param, value):
    if not math.isfinite(value) or not 0.05 <= value <= MOST_DAYS:
        raise click.BadParameter(f"{value:g}: give 0.05 to {MOST_DAYS} days")
    return int(value) if value == int(value) else value


@click.command(
    cls=habits.Command, name="rehearse", help=HELP, short_help="Tend a simulated rig with the real firmware."
)
@click.option("--days", type=float, default=30, show_default=True, callback=_days, help="How long, in days.")
@click.option(
    "--seed",
    type=click.IntRange(0, 2**53),
    default=1,
    show_default=True,
    help="Fixes all that chance decides: the same seed gives the same run.",
)
@given.board("A board that comes with Potreeve, or a board file.")
@given.settings
@given.rig
@given.interpreter(
    " micropython32 has a board's 31-bit small integers, and takes only boards that forget while asleep."
)
@click.option(
    "--report",
    "report_path",
    type=click.Path(path_type=Path),
    metavar="FILE.html",
    help="Write a page with plots; it needs no network.",
)
@click.option(
    "--write-settings",
    "write_path",
    type=click.Path(path_type=Path),
    metavar="FILE.toml",
    help="Write the settings that were used.",
)
@click.option(
    "--station",
    is_flag=False,
    flag_value="127.0.0.1:1883",
    metavar="[HOST:PORT]",
    help="Afterwards the pots report to a live station, through the broker at this address.",
)
@click.option(
    "--pace",
    type=click.FloatRange(0, 1000),
    default=1.0,
    show_default=True,
    help="Days a second at which they report; 0: as fast as it goes.",
)
@click.option("--mishap", metavar="NAME", help="One of the mishaps befalls the rig; see potreeve mishaps.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(
    ctx,
    days,
    seed,
    board,
    settings_path,
    rig_path,
    interpreter,
    report_path,
    write_path,
    station,
    pace,
    mishap,
    as_json,
):
    inputs = _inputs(board, settings_path, rig_path)
    collect(
        lambda: _check_ending("--report", report_path, ".html"),
        lambda: _check_ending("--write-settings", write_path, ".toml"),
    )
    for path in (report_path, write_path):
        if path is not None:
            _check_writable(path)
    to = _station(station) if station else None
    befalls = _mishap(mishap) if mishap else ()
    session, outcome = _rehearse(inputs, days, seed, interpreter, befalls)
    if write_path is not None:
        from potreeve_tools.settings import settingsfile

        # Without a file of settings a simulated owner calibrated a simulated rig.
        simulated = settings_path is None or settingsfile.is_simulated(settings_path)
        write_whole(write_path, settingsfile.to_toml(session.checked, simulated))
    if report_path is not None:
        from potreeve_tools.report import page

        write_whole(report_path, page.make_page(session, outcome, _command_line(ctx)))
    if as_json:
        habits.print_json(outcome)
    else:
        from potreeve_tools.rehearsal import summary

        summary.show(screen.console(), session, outcome)
        _last_words(report_path, write_path)
    if to is not None:
        _report_to(to, session, pace)
    from potreeve_tools.rehearsal import verdict

    ctx.exit(exits.FAILED if verdict.judge(outcome)[0] == verdict.BAD else exits.OK)


def _inputs(board_name, settings_path, rig_path):
    """(rig, board in device form, settings or None), which go together."""
    rig, board, settings, _ = given.load(board_name, settings_path, rig_path)
    count = len(rig.pots)
    if settings is not None and len(settings["channels"]) != count:
        raise BadInput(
            [
                f"{settings_path}: channels = {len(settings['channels'])} tables, but {rig.where} has {count} pots; "
                "give one channel per pot, in the same order"
            ]
        )
    return rig, board, settings


def _station(text):
    """Address of the broker, with the key of the rehearsal's rig there."""
    from potreeve_tools.station import broker, config, keys, rehearsed

    to = broker.address(text)
    if (config.folder() / keys.NAME).exists():
        key, _, _ = keys.rig(keys.load(), rehearsed.RIG)
        to = to._replace(user=rehearsed.RIG, key=key)
    return to


def _report_to(to, session, pace):
    import importlib.metadata

    from potreeve_tools.station import rehearsed

    with progress.bar("reporting", session.days, "day {task.completed:.0f} of {task.total:g}") as move:
        count, took_s = rehearsed.play(session, to, pace, importlib.metadata.version("potreeve"), move=move)
    click.echo(f"{count:,} records reported to the station in {took_s:.0f} s, each committed there.", err=True)


def _mishap(name):
    """What befalls the rig, and what people do about it."""
    from potreeve_tools.mishaps import scenario

    known = {one.name: one for one in scenario.load_all()}
    if name not in known:
        from potreeve_tools.terminal.faultlist import nearest

        raise BadInput(
            [f"mishap = {name!r}: no such mishap{nearest(name, known)}; give one of {', '.join(sorted(known))}"]
        )
    return [*known[name].persons, *known[name].faults]


def _rehearse(inputs, days, seed, interpreter, befalls):
    """(finished Session, outcome)."""
    from potreeve_tools.rehearsal import engines, interpreters, outcome, rehearse

    rig, board, settings = inputs
    which = interpreters.version(interpreter)
    with progress.bar("on the sill", days, "day {task.completed:.0f} of {task.total:g}") as move:
        session = rehearse.make_session(rig, board, days, seed, settings, befalls, on_day=move)
        try:
            rehearse.run(session, interpreter)
        except engines.RehearsalBroke as fault:
            raise exits.Stop(
                exits.FAILED, ["the firmware broke off in the rehearsal; its last words:", *str(fault).splitlines()]
            ) from fault
    return session, outcome.make_outcome(session, which)


def _check_ending(option, path, ending):
    """A name without its ending is a slip; browsers and editors go by it."""
    if path is not None and path.suffix.lower() != ending:
        raise BadInput([f"{option} {path}: give a name that ends in {ending}, e.g. {path.stem or 'my'}{ending}"])


def _check_writable(path):
    """Say so before a long run when its result could not be written."""
    folder = path.parent
    if path.is_dir():
        raise BadInput([f"{path}: is a folder; give the name of a file"])
    if not folder.is_dir():
        raise BadInput([f"{path}: there is no folder {folder}; make it first or give another place"])
    try:
        with open(path, "ab") as file:
            empty = file.tell() == 0
        if empty:
            path.unlink()
    except OSError as fault:
        raise BadInput([f"{path}: can't be written: {fault.strerror or fault}; give another place"]) from None


def write_whole(path, text):
    """Write a text file so that it is there whole or not at all."""
    part = path.with_name(path.name + ".part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        part.replace(path)
    except OSError as fault:
        part.unlink(missing_ok=True)
        raise BadInput([f"{path}: can't be written: {fault.strerror or fault}; give another place"]) from None


def _command_line(ctx):
    """The command that gives this very rehearsal again."""
    words = ["potreeve rehearse"]
    defaults = {param.name: param.default for param in ctx.command.params}
    for param in ctx.command.params:
        value = ctx.params.get(param.name)
        if param.name in ("report_path", "write_path", "as_json", "station", "pace") or value in (None, False):
            continue
        if value != defaults[param.name] or param.name in ("days", "seed"):
            text = str(value)
            words.append(f"{param.opts[0]} {text if text.isprintable() and ' ' not in text else repr(text)}")
    return " ".join(words)


def _last_words(report_path, write_path):
    if write_path is not None:
        click.echo(f"Settings written to {write_path}; change them and try --settings {write_path}.", err=True)
    if report_path is not None:
        click.echo(f"Report written to {report_path}; open it in a browser.", err=True)
    elif screen.is_terminal(sys.stderr):
        click.echo("See it day by day: add --report month.html", err=True)
