"""`potreeve bench belief`: one belief per pot, as a prototype, beside what the firmware says of its water."""

import click

from potreeve_tools.commands import habits, progress
from potreeve_tools.terminal import exits, screen

HELP = "\n\n".join(
    [
        "Draw rigs that people might well build, and let a trouble begin in the second week. Would a filter with a "
        "sequential test, one per pot, tell sooner whether its water arrives? It reads the records of the firmware, "
        "and waters nothing.",
        habits.examples(
            ("potreeve bench belief --rigs 20", "tubes that clog"),
            ("potreeve bench belief --rigs 60 --trouble dry --jobs 2", "readings that lie"),
            ("potreeve bench belief --trouble none --json", "sound rigs, for scripts"),
        ),
        "Nothing can fail here; exit status 0.",
    ]
)
TROUBLES = ("none", "clogged", "clogged-dry", "clogged-wet", "dry", "leaning")


@click.command(cls=habits.Command, name="belief", help=HELP, short_help="One belief per pot, beside the firmware.")
@click.option("--rigs", type=click.IntRange(1, 9_000), default=20, show_default=True, help="How many rigs.")
@click.option("--seed", type=click.IntRange(0, 10**9), default=1, show_default=True, help="Which draw of rigs.")
@click.option("--trouble", type=click.Choice(TROUBLES), default="clogged", show_default=True, help="What befalls them.")
@click.option("--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, rigs, seed, trouble, jobs, as_json):
    from potreeve_tools.bench import alive, beliefrun

    with progress.bar("rigs", rigs) as move:
        results = beliefrun.run(alive.rig_seeds(seed, rigs), trouble, jobs, lambda result: move(what=trouble))
    found = beliefrun.report(results, trouble)
    if as_json:
        habits.print_json(found)
    else:
        _show(found)
    ctx.exit(exits.OK)


def _show(found):
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style=screen.FAINT)
    for title in ("", "belief", "firmware"):
        table.add_column(title, justify="right" if title else "left")
    if found["stopped"]:
        for key, what in (("median", "hours until told, median"), ("p90", "nine in ten within"), ("never", "never")):
            table.add_row(what, *[str(found[side].get(key, "-")) for side in ("belief_h", "firmware_h")])
        table.add_row("doses believed though none came", str(found["believed"]), "")
    table.add_row("pots condemned though water came", str(found["pots_condemned"]), str(found["pots_held"]))
    console = screen.console()
    console.print(table)
    console.print()
    console.print(
        f"{found['rigs']} rigs, {found['refused']} refused; {found['pots']} pots, {found['stopped']} whose water "
        f"stopped; {found['doses']:,} doses that came, {found['condemned']} of them condemned.",
        highlight=False,
    )
