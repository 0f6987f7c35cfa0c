"""`potreeve calibrate`: what probes and pumps are worth, and which tube goes where."""

import sys
from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, screen
from potreeve_tools.terminal.faultlist import BadInput

HELP = "\n\n".join(
    [
        "Measure probes and pumps step by step, and see that no tubes are crossed.",
        "Before anything is stored, it is shown what changes and what that means; `potreeve settings undo` takes "
        "it back. Pumps run only with every cap in force. What is uncertain is used cautiously: a pot counts as "
        "rather wetter, "
        "a pump as faster than measured.",
        "Alone, `potreeve calibrate` shows what is done and what is still to do, and goes on there: all dry "
        "ends, then the pumps "
        "while the pots drain, then all wet ends. Each step is kept on the board before the next, so a pulled "
        "cable costs one "
        "step. The board waits while you soak and drain.",
        habits.examples(
            ("potreeve calibrate", "what is still to do; goes on there"),
            ("potreeve calibrate probe --channel mint", "in air, then soaked and drained"),
            ("potreeve calibrate probe --channel mint --point", "one more point, by kitchen scale"),
            ("potreeve calibrate pump --channel mint", "into a cup"),
            ("potreeve calibrate wiring", "which probe answers to which pump"),
            ("potreeve calibrate tray", "the sensor in the tray, where there is one"),
            ("potreeve calibrate tub", "floats or a strip in the tub, where there are some"),
        ),
        "Exit status 1 if what was measured won't do, a tube is crossed or dead, someone said no, or the board "
        "has no settings; 2 if an "
        f"answer can't be used or nobody is there to give it; {habits.LINK_CODES}; 5 if what was written does not "
        "read back.",
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


@click.group(
    cls=habits.Group,
    name="calibrate",
    help=HELP,
    short_help="Measure probes and pumps; find crossed tubes.",
    invoke_without_command=True,
)
@_scripted
@habits.port
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, answers, yes, port, wait_s, as_json):
    if ctx.invoked_subcommand is not None:
        return
    from potreeve_tools.link import calibrate_sitting, calibrate_todo

    with habits.connect(port, wait_s) as link:
        sitting = calibrate_sitting.Sitting(link, answers, yes)
        rows = sitting.rows()
        if as_json:
            habits.print_json({"pots": rows, "next": calibrate_todo.next_step(rows)})
            return
        _tell(rows)
        there = yes or answers is not None or screen.is_terminal(sys.stdin)
        if calibrate_todo.next_step(rows) and there:
            _tell(sitting.go_on())


def _tell(rows):
    """What is done, what is to do, and how to go on."""
    from potreeve_tools.link import calibrate_todo

    console = screen.console()
    for line in calibrate_todo.lines(rows):
        console.print(line, soft_wrap=True)
    if calibrate_todo.next_step(rows) is None:
        console.print(
            "Probes and pumps are measured. Next: say that the tray is empty (hold the button for two seconds, twice), "
            "then potreeve calibrate drop.",
            soft_wrap=True,
        )


@command.command(
    "probe",
    short_help="In air, then at container capacity.",
    epilog=habits.examples(
        ("potreeve calibrate probe", "all pots that have no curve yet"),
        ("potreeve calibrate probe --channel mint", "both ends of one"),
        ("potreeve calibrate probe --channel mint --dry", "its dry end; the wet one another time"),
        ("potreeve calibrate probe --channel mint --point", "one point between, by scale"),
    ),
)
@click.option("--channel", metavar="POT", help="Only this pot, by its name or its place (0, 1, ...).")
@click.option("--dry", is_flag=True, help="Only the dry end; it is kept on the board.")
@click.option("--wet", is_flag=True, help="Only the wet end; the dry end was measured before.")
@click.option("--point", is_flag=True, help="Add one point between, by the pot's weight.")
@_scripted
@habits.port
@habits.no_color
def probe(channel, dry, wet, point, answers, yes, port, wait_s):
    """Calibrate probes: in air, then in the pot at container capacity. The board waits as long as you need."""
    from potreeve_tools.link import calibrate_sitting, settings_keys
    from potreeve_tools.owner import calibrate_probe

    if dry + wet + point > 1:
        raise BadInput(["--dry, --wet and --point: give one of them"])
    if point and channel is None:
        raise BadInput(["--point: name the pot too, e.g. potreeve calibrate probe --channel mint --point"])
    with habits.connect(port, wait_s) as link:
        sitting = calibrate_sitting.Sitting(link, answers, yes)
        if channel is not None:
            chosen = [settings_keys.channel_index(sitting.facts.settings, channel)]
        else:
            chosen = [index for index, row in enumerate(sitting.rows()) if row["wet"] is None]
            if not chosen:
                raise exits.Stop(
                    exits.FAILED, ["Every probe is calibrated; name the one to measure anew: --channel POT."]
                )
        if point:
            sitting.point(chosen[0])
            return
        lacking = chosen if channel is not None else [at for at in chosen if sitting.rows()[at]["dry"] is None]
        if not wet:
            for index in lacking:
                sitting.dry(index)
        if not dry:
            calibrate_probe.tell_soak(sitting.talk, [sitting.name(index) for index in chosen])
            sitting.wet(chosen)


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
    """Calibrate the pump of one pot: run it into a cup and say how much came.

    It asks whether the battery itself drives the pump, which then slows down as the battery sinks; behind a step-up
    converter it does not.
    """
    from potreeve_tools.link import calibrate_sitting, settings_keys

    with habits.connect(port, wait_s) as link:
        sitting = calibrate_sitting.Sitting(link, answers, yes)
        index = settings_keys.channel_index(sitting.facts.settings, channel)
        if amounts:
            sitting.talk.answers["amount"] = list(amounts)
        sitting.pump(index, ms, runs, primed)


@command.command(
    "tray",
    short_help="The sensor in the tray, dry and in water.",
    epilog=habits.examples(("potreeve calibrate tray", "with an empty tray and a measuring cup of water")),
)
@_scripted
@habits.port
@habits.no_color
def tray(answers, yes, port, wait_s):
    """Calibrate the sensor in the tray: dry, then with as much water as it takes to reach it. No pump runs."""
    from potreeve_tools.link import calibrate_sitting

    with habits.connect(port, wait_s) as link:
        calibrate_sitting.Sitting(link, answers, yes).tray()


@command.command(
    "tub",
    short_help="Floats or a strip in the tub, filled jug by jug.",
    epilog=habits.examples(
        ("potreeve calibrate tub", "with an empty tub and a jug"),
        (
            "potreeve calibrate tub --answers tub.toml",
            'poured_ml = ["0.6 l", "3 l"], back_ml = "90 ml", brim_ml = "4 l", ...',
        ),
    ),
)
@_scripted
@habits.port
@habits.no_color
def tub(answers, yes, port, wait_s):
    """Calibrate the tub: fill it jug by jug, and say how much went in until each float came up. Each pump runs into a
    cup once from little water and once from the full tub, or not at all (shares = false): without that, days left are
    less sure until a float or two have fallen.

    What stands below the pumps' inlet does not count. Who knows the figures already can set them: potreeve settings
    set tub.mark1_ml and on.
    """
    from potreeve_tools.link import calibrate_sitting

    with habits.connect(port, wait_s) as link:
        calibrate_sitting.Sitting(link, answers, yes).tub()


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
    from potreeve_tools.link import calibrate_sitting, calibrate_wiring, settings_keys
    from potreeve_tools.owner import calibration

    with habits.connect(port, wait_s) as link:
        sitting = calibrate_sitting.Sitting(link, answers, yes)
        talk, settings = sitting.talk, sitting.facts.settings
        index = None if channel is None else settings_keys.channel_index(settings, channel)
        if as_json:
            talk.say = lambda *text, **style: None
        _need_water(sitting.facts, range(len(settings["channels"])) if index is None else [index])
        if not talk.confirm("ready", "Tubes and probes in their pots, the tray empty: give each pot a little water?"):
            raise exits.Stop(exits.FAILED, ["Nothing was done."])
        results = calibrate_wiring.run(sitting.bench, talk, settings, soak_s, index)
    bad = [result for result in results if result["verdict"] != calibration.RIGHT]
    if as_json:
        words = {
            calibration.RIGHT: "right",
            calibration.SILENT: "silent",
            calibration.CROSSED: "crossed",
            calibration.UNCLEAR: "unclear",
            calibration.NOT_TRIED: "not tried",
        }
        habits.print_json({"channels": [{**result, "verdict": words[result["verdict"]]} for result in results]})
    else:
        console = screen.console()
        console.print(f"{len(results) - len(bad)} of {len(results)} channels are right.", style="bold")
    ctx.exit(exits.FAILED if bad else exits.OK)


def _need_water(facts, indexes):
    """Stop where no pot may be given anything today: say why, until when, and what can be done meanwhile."""
    from potreeve_tools.link import water_wait

    if facts.state is None:
        return
    told = [water_wait.sentence(facts.settings, facts.state, index) for index in indexes]
    if not all(told):
        return
    why, until = told[0]
    raise exits.Stop(
        exits.FAILED,
        [
            f"no pot may be given water now: {why}.",
            f"It may be again {until}. Nothing is wrong with tubes and probes; they were not tried.",
            "Until then, the first few ml of each pot while you watch: potreeve calibrate drop.",
        ],
    )


@command.command(
    "drop",
    short_help="The first few ml of each pot, while you watch.",
    epilog=habits.examples(
        ("potreeve calibrate drop", "all pots, one after another"), ("potreeve calibrate drop --channel mint", "one")
    ),
)
@click.option("--channel", metavar="POT", help="Only this pot; all of them otherwise.")
@_scripted
@habits.port
@habits.no_color
def drop(channel, answers, yes, port, wait_s):
    """Give each pot its first few millilitres, while you stand beside it, also on the day on which the board began.

    A board without a memory counts a whole day's water as given. Somebody who presses its button and watches may give
    each pot about 5 ml all the same: at most 10 ml and what its tube holds, once for each press, and never more than
    half
    of what the tray can take. All of it is counted like any other water.
    """
    from potreeve_tools.link import calibrate_drop, calibrate_sitting, settings_keys

    with habits.connect(port, wait_s) as link:
        sitting = calibrate_sitting.Sitting(link, answers, yes)
        settings = sitting.facts.settings
        chosen = range(len(settings["channels"]))
        if channel is not None:
            chosen = [settings_keys.channel_index(settings, channel)]
        calibrate_drop.run(sitting, chosen)
