"""`potreeve bench swarm`: random rigs, weather and mishaps, a rig-quarter each."""

import time

import click

from potreeve_tools.commands import habits, progress
from potreeve_tools.terminal import exits, screen

LINES_MOST = 3

HELP = "\n\n".join(
    [
        "Draw rigs, weather and up to three mishaps at random, make settings as the product makes them, rehearse a "
        "quarter year of each; judge W1 to W9 and L1 to L5. A plant may die of three mishaps at once, but not "
        "unannounced: every death is counted with its cause.",
        habits.examples(
            ("potreeve bench swarm --seeds 50", "the first fifty"),
            ("potreeve bench swarm --seeds 1000 --jobs 2", "half an hour and more on two cores"),
            ("potreeve bench swarm --seed 171", "one again"),
            ("potreeve bench swarm --seeds 200 --edited", "settings changed by hand, as far as the check lets one"),
            ("potreeve bench swarm --seeds 200 --keep", "make a mishap file of what breaks"),
        ),
        "Exit status 1 if something did not hold.",
    ]
)


@click.command(
    cls=habits.Command, name="swarm", help=HELP, short_help="Random rigs, weather and mishaps, a quarter year each."
)
@click.option("--seeds", type=click.IntRange(1, 1_000_000), default=50, show_default=True, help="How many seeds.")
@click.option("--first", type=click.IntRange(0, 2**53), default=1, show_default=True, help="The first of them.")
@click.option("--seed", type=click.IntRange(0, 2**53), help="This seed alone.")
@click.option("--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes.")
@click.option("--interpreter", type=click.Choice(("cpython", "micropython")), default="cpython", show_default=True)
@click.option("--edited", is_flag=True, help="Settings changed by hand after the product made them.")
@click.option("--keep", is_flag=True, help="Shrink what breaks and write it to mishaps/scenarios.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, seeds, first, seed, jobs, interpreter, edited, keep, as_json):
    from potreeve_tools.bench import swarm

    chosen = [seed] if seed is not None else list(range(first, first + seeds))
    began = time.monotonic()
    with progress.bar("seeds", len(chosen)) as move:
        results = swarm.run(chosen, jobs, interpreter, lambda result: _told(result, move), edited)
    found = swarm.report(results, time.monotonic() - began, edited)
    if keep:
        _keep([result for result in results if result.broken], edited)
    if as_json:
        habits.print_json(found)
    else:
        _show(found)
    ctx.exit(exits.FAILED if found["broken"] else exits.OK)


def _told(result, move):
    move(what=f"seed {result.seed}")
    from potreeve_tools.mishaps import wording

    for finding in result.broken[:LINES_MOST]:
        click.echo(f"seed {result.seed}: {wording.say(finding)}\n  potreeve bench swarm --seed {result.seed}", err=True)


def _show(found):
    console = screen.console()
    count, broken = found["seeds"], len(found["broken"])
    console.print(
        f"{count:,} rig{'' if count == 1 else 's'}, {found['days_each']} days each: "
        + ("W1 to W9 and L1 to L5 held in all of them." if not broken else f"{broken} did not hold."),
        style="bold",
    )
    for one in found["broken"]:
        console.print(f"  seed {one['seed']}: {one['what'][0]}", soft_wrap=True)
    if found["laws_broken"]:
        console.print("Seeds per law: " + _listed(found["laws_broken"]) + ".", soft_wrap=True)
    console.print(
        f"{found['pots_dead']:,} of {found['pots']:,} plants died, {found['unannounced_deaths']:,} of them unannounced."
    )
    for cause, counts in found["deaths"].items():
        console.print(f"  {cause}: {_listed({key: n for key, n in counts.items() if n})}")
    if found["excused"]:
        console.print("Not held against the firmware (seeds): " + _listed(found["excused"]) + ".", soft_wrap=True)
    console.print(
        f"{found['simulated_days']:,} days in {found['wall_s']:,} s, per core {found['time_compression_per_core']:,} "
        f"times as fast as they go by; {found['wakes']:,} wakes, {found['pulses']:,} pulses.",
        soft_wrap=True,
    )


def _listed(counts):
    return ", ".join(f"{name.replace('_', ' ')} {count:,}" for name, count in counts.items())


def _keep(broken, edited):
    from potreeve_tools.bench import swarm, swarmdraw, swarmshrink
    from potreeve_tools.mishaps import scenario

    def say(text):
        click.echo(text, err=True)

    for result in broken:
        data, found = swarmshrink.shrink(
            swarmdraw.draw(result.seed, swarm.rig_mapping(), edited=edited), result.seed, result.broken, say
        )
        path = scenario.HAZARDS / f"swarm_{result.seed}.toml"
        path.write_text(swarmshrink.to_toml(data, result.seed, found), encoding="utf-8")
        say(f"written: {path}")
