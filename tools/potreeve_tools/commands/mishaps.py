"""`potreeve mishaps`: everything that can go wrong, on the simulated rig."""

import shlex
import time
from pathlib import Path

import click

from potreeve_tools.commands import given, habits, progress
from potreeve_tools.terminal import exits, screen

HELP = "\n\n".join(
    [
        "Let everything go wrong, one mishap after the other, and judge what the real firmware did about it.",
        "Each mishap is a file of mishaps/scenarios: a rig, a schedule of faults, what people do. Judged are W1 to W9 "
        "and L1 to L5 by the world's truth, floods, wet electronics, every death (called for three days before, or "
        "not; and whether the same rig without the mishap and with the product's own settings loses the plant, too), "
        "and whether the rig tends again afterwards or waits for a person with a reason and an alarm. A mishap that "
        "never made a difference is "
        '"not shown", which is not a pass.',
        habits.examples(
            ("potreeve mishaps", "all of them, three seeds each"),
            ("potreeve mishaps --only probe_out", "one of them"),
            ("potreeve mishaps --only probe_out --seed 2", "one seed again"),
            ("potreeve mishaps --seeds 10 --json", "for programs"),
        ),
        "Exit status 1 if anything is broken; what is not shown is counted, and is for a person to judge.",
    ]
)


@click.command(
    cls=habits.Command, name="mishaps", help=HELP, short_help="Let everything go wrong, and judge what came of it."
)
@click.option("--only", multiple=True, metavar="NAME", help="Only this mishap; may be given again.")
@click.option("--seeds", type=click.IntRange(1, 10_000), default=3, show_default=True, help="Seeds 1 to N for each.")
@click.option("--seed", type=click.IntRange(0, 2**53), help="This seed alone.")
@click.option("--jobs", type=click.IntRange(1, 256), metavar="N", help="Processes.  [default: one per core]")
@given.interpreter()
@given.board("For mishaps whose file names none.")
@given.settings
@given.rig
@click.option(
    "--hazards",
    "folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Where the mishaps' files are. Default: mishaps/scenarios.",
)
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, only, seeds, seed, jobs, interpreter, board, settings_path, rig_path, folder, as_json):
    from potreeve_tools.mishaps import judge, run, table
    from potreeve_tools.rehearsal import interpreters

    scenarios = _scenarios(folder, only)
    bench = _bench(board, settings_path, rig_path, interpreter)
    interpreters.version(interpreter)
    _try_out(scenarios, bench, interpreter)
    extra = _extra(ctx)
    began = time.monotonic()
    chosen = [seed] if seed is not None else range(1, seeds + 1)
    with progress.bar("mishaps", sum(len(one.seeds(chosen)) for one in scenarios)) as move:
        found = run.every(scenarios, bench, chosen, jobs, lambda verdict: move(what=verdict.name))
    rows = [
        run.together(scenario, found[scenario.name], lambda name, at: _rerun(name, at, extra)) for scenario in scenarios
    ]
    if as_json:
        habits.print_json(run.result(rows))
    else:
        table.show(screen.console(), rows, {s.name: s.title for s in scenarios}, time.monotonic() - began)
    ctx.exit(exits.FAILED if any(row["verdict"] == judge.BROKEN for row in rows) else exits.OK)


def _scenarios(folder, only):
    from potreeve_tools.mishaps import scenario
    from potreeve_tools.terminal.faultlist import BadInput, nearest

    found = scenario.load_all(folder or scenario.HAZARDS)
    known = {one.name: one for one in found}
    wrong = [
        f'only = "{name}": no such mishap{nearest(name, known)}; there are: {", ".join(known)}'
        for name in only
        if name not in known
    ]
    if wrong:
        raise BadInput(wrong)
    return [one for one in found if not only or one.name in only]


def _bench(board, settings_path, rig_path, interpreter):
    """The Bench all trials share."""
    from potreeve_tools.mishaps import trial

    _, device, settings, (data, path) = given.load(board, settings_path, rig_path)
    return trial.Bench(data, str(path), device, settings, interpreter)


def _try_out(scenarios, bench, interpreter):
    """Say before a long run what could not be run at all: every fault of every scenario on this rig.

    Settings that do not go with one scenario's own are said, too, and end nothing: that one is not shown.
    """
    from potreeve_tools.mishaps import scenario as files
    from potreeve_tools.terminal.faultlist import BadInput

    wrong = []
    for one in scenarios:
        try:
            rig = files.the_rig(one, bench.rig_data, bench.rig_where)
            board = files.the_board(one, bench.board)
            if interpreter == "micropython32" and board["keeps_ram"]:
                wrong.append(
                    f"{one.where}: board {board['name']} keeps its memory in sleep, which micropython32 can't "
                    "rehearse; give --board esp32 or latched"
                )
        except BadInput as fault:
            wrong += fault.faults
            continue
        _try_settings(one, rig, board, bench.settings)
    if wrong:
        raise BadInput(wrong)


def _try_settings(one, rig, board, given):
    from potreeve_tools.mishaps import scenario as files
    from potreeve_tools.terminal.faultlist import BadInput

    own = given is not None and files.brings_own_pots(one)
    if own:
        click.echo(f"{one.name} brings pots of its own: played with settings calibrated for them.", err=True)
    if own or not (one.settings or one.sent) or one.expects["may_be_refused"]:
        return
    try:
        files.the_settings(one, rig, board, one.seed or 1, given)
    except BadInput as fault:
        for line in fault.faults:
            click.echo(f"{one.name} will not be shown: {line}", err=True)


def _extra(ctx):
    """The options a rerun needs besides name and seed."""
    defaults = {param.name: param.default for param in ctx.command.params}
    words = []
    for name, option in (
        ("board", "--board"),
        ("settings_path", "--settings"),
        ("rig_path", "--rig"),
        ("folder", "--hazards"),
        ("interpreter", "--interpreter"),
    ):
        value = ctx.params[name]
        if value is not None and value != defaults[name]:
            words += [option, shlex.quote(str(value))]
    return words


def _rerun(name, seed, extra):
    return " ".join(["python3 tools/go.py mishaps --only", name, "--seed", str(seed), *extra])
