"""`potreeve calibrate`: what probes and pumps are worth, and which tube goes where."""

from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput

HELP = "\n\n".join(
    [
        "Measure probes and pumps step by step, and see that no tubes are crossed.",
        "Nothing is stored before the end, when it is shown what changes and what that means; `potreeve settings "
        "undo` takes it back. Pumps run only with every cap in force. What is uncertain is used cautiously: a pot "
        "counts as rather wetter, a pump as faster than measured.",
        habits.examples(
            ("potreeve calibrate probe --channel mint", "in air, then soaked and drained"),
            ("potreeve calibrate probe --channel mint --point", "one more point, by kitchen scale"),
            ("potreeve calibrate pump --channel mint", "into a cup"),
            ("potreeve calibrate wiring", "which probe answers to which pump"),
        ),
        "Leaves with 1 when what was measured won't do, a tube is crossed or dead, someone said no, or the board has "
        "no settings; 2 when an "
        f"answer can't be used or nobody is there to give it; {habits.LINK_CODES}; 5 when what was written does not "
        f"read back.",
    ]
)


def _scripted(function):
    for option in (
        click.option(
            "--answers",
            type=click.Path(path_type=Path, dir_okay=False),
            metavar="FILE.toml",
            help="Answers to what would be asked: name = value, or a list of values in their order.",
        ),
        click.option("--yes", is_flag=True, help="Answer yes to every yes-or-no question, the last one included."),
    ):
        function = option(function)
    return function


CHANNEL = click.option("--channel", required=True, metavar="POT", help="The pot, by its name or its place (0, 1, ...).")


@click.group("calibrate", help=HELP, short_help="Measure probes and pumps; find crossed tubes.")
def command():
    pass


@command.command(
    "probe",
    short_help="In air, then at container capacity.",
    epilog=habits.examples(
        ("potreeve calibrate probe --channel mint", "its two ends"),
        ("potreeve calibrate probe --channel mint --point", "one point between, by scale"),
    ),
)
@CHANNEL
@click.option("--point", is_flag=True, help="Add one point between, by the pot's weight.")
@_scripted
@habits.port
@habits.no_color
def probe(channel, point, answers, yes, port, wait_s):
    """Calibrate the probe of one pot: in air, then in the pot at container capacity."""
    from potreeve_tools.link import calibrate_notes
    from potreeve_tools.owner import calibrate_probe

    with habits.connect(port, wait_s) as link:
        bench, talk, facts, index = _begin(link, channel, answers, yes)
        if point:
            known = calibrate_notes.last(_notes(facts), ("probe", "point"), facts.settings["channels"][index])
            found, seen, more = calibrate_probe.point(bench, talk, index, facts.settings, known)
            _finish(link, facts, index, found, ("point", seen, more), talk, yes)
        else:
            found, seen, more = calibrate_probe.anchors(bench, talk, index, facts.settings)
            _finish(link, facts, index, found, ("probe", seen, more), talk, yes)


@command.command(
    "pump",
    short_help="Into a cup, weighed or measured.",
    epilog=habits.examples(
        ("potreeve calibrate pump --channel mint", "into a cup"),
        ("potreeve calibrate pump --channel mint --runs 4", "more runs, less doubt"),
    ),
)
@CHANNEL
@click.option("--ms", type=click.IntRange(200, 10000), default=5000, show_default=True, help="Length of a run.")
@click.option("--runs", type=click.IntRange(2, 6), default=2, show_default=True, help="Runs with the tube full.")
@click.option("--primed", is_flag=True, help="The tube is full already; priming is not measured.")
@click.option(
    "--amount",
    "amounts",
    multiple=True,
    metavar="AMOUNT",
    help="What a run brought, e.g. 23ml or 23.5g; once per run, in order.",
)
@_scripted
@habits.port
@habits.no_color
def pump(channel, ms, runs, primed, amounts, answers, yes, port, wait_s):
    """Calibrate the pump of one pot: run it into a cup and say how much came."""
    from potreeve_tools.owner import calibrate_pump

    with habits.connect(port, wait_s) as link:
        bench, talk, facts, index = _begin(link, channel, answers, yes)
        if amounts:
            talk.answers["amount"] = list(amounts)
        found, seen = calibrate_pump.run(bench, talk, index, facts.settings, ms, runs, primed)
        _finish(link, facts, index, found, ("pump", seen, None), talk, yes)


@command.command(
    "wiring",
    short_help="Which probe answers to which pump.",
    epilog=habits.examples(
        ("potreeve calibrate wiring", "all of them"), ("potreeve calibrate wiring --channel mint", "one")
    ),
)
@click.option("--channel", metavar="POT", help="Only this pot; all of them otherwise.")
@click.option(
    "--soak",
    "soak_s",
    type=click.FloatRange(1, 7200),
    default=900,
    show_default=True,
    metavar="SECONDS",
    help="How long to wait for a probe to notice.",
)
@_scripted
@habits.port
@habits.as_json
@habits.no_color
@click.pass_context
def wiring(ctx, channel, soak_s, answers, yes, port, wait_s, as_json):
    """Give each pot a little water and watch which probe notices: finds crossed tubes and dead channels. Nothing is
    stored."""
    from potreeve_tools.link import calibrate_wiring
    from potreeve_tools.owner import calibration

    with habits.connect(port, wait_s) as link:
        bench, talk, facts, index = _begin(link, channel, answers, yes)
        if as_json:
            talk.say = lambda *text, **style: None
        if not talk.confirm("ready", "Tubes and probes in their pots, the tray empty: give each pot a little water?"):
            raise exits.Stop(exits.FAILED, ["Nothing was done."])
        results = calibrate_wiring.run(bench, talk, facts.settings, soak_s, index)
    bad = [result for result in results if result["verdict"] != calibration.RIGHT]
    if as_json:
        words = {
            calibration.RIGHT: "right",
            calibration.SILENT: "silent",
            calibration.CROSSED: "crossed",
            calibration.UNCLEAR: "unclear",
        }
        habits.print_json({"channels": [{**result, "verdict": words[result["verdict"]]} for result in results]})
    else:
        console = screen.console()
        console.print(f"{len(results) - len(bad)} of {len(results)} channels are right.", style="bold")
    ctx.exit(exits.FAILED if bad else exits.OK)


def _begin(link, channel, answers, yes):
    """(bench, talk, facts, index of the channel or None)."""
    from potreeve_tools.link import calibrate_bench, settings_keys, status_facts
    from potreeve_tools.owner import calibrate_talk

    status_facts.need_firmware(link)
    facts = status_facts.read(link)
    if facts.settings is None:
        raise exits.Stop(
            exits.FAILED,
            [
                f"{link.port}: there are no settings on this board that pass the check; calibration needs to know its "
                f"pots.",
                "Push some first: potreeve settings push FILE.",
            ],
        )
    index = None if channel is None else settings_keys.channel_index(facts.settings, channel)
    return calibrate_bench.Bench(link), calibrate_talk.Talk(answers, yes), facts, index


def _notes(facts):
    from potreeve_tools.link import calibrate_notes

    return calibrate_notes.read(facts.files.get(calibrate_notes.NAME))


def _finish(link, facts, index, found, told, talk, yes):
    """Show, ask, push as any settings, and note date and uncertainty."""
    from potreeve_tools.link import calibrate_notes, settings_push
    from potreeve_tools.settings import settingsfile

    kind, uncertainty, extra = told
    new = {**facts.settings, "channels": [dict(table) for table in facts.settings["channels"]]}
    new["channels"][index].update(found)
    name = new["channels"][index]["name"]
    try:
        new = settingsfile.check(new, "what was measured")
    except BadInput as fault:
        raise exits.Stop(
            exits.FAILED,
            [
                *fault.faults,
                "What was measured does not go with the other settings; change those first. Nothing was changed.",
            ],
        ) from None
    if not settings_push.show(screen.console(), facts.settings, new, facts):
        click.echo("It is as it was: nothing to do.", err=True)
        return
    if not yes and not talk.confirm("store", "Store this on the board?"):
        raise exits.Stop(exits.FAILED, ["Nothing was changed."])
    note = calibrate_notes.make(kind, name, found, uncertainty, extra)
    data = calibrate_notes.with_note(facts.files.get(calibrate_notes.NAME), note)
    link.write_file(f"data/{calibrate_notes.NAME}", data)
    kept = settings_push.push(link, facts, new, f"calibrate {kind} {name}")
    click.echo(
        f"Done and read back ({uncertainty}). `potreeve settings undo` takes it back; a copy is in {kept}.", err=True
    )
