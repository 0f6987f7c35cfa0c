"""`potreeve bench tub-days`: days of water left as told, over the last week of a tub."""

import click

from potreeve_tools.commands import habits, progress
from potreeve_tools.terminal import exits, screen

HELP = "\n\n".join(
    [
        "Draw rigs that people might well build, with floats in a tub that nobody fills again; set the days told on "
        "each day of its last week against the days that came. With --leaky each tub cracks at a drawn time and rate: "
        "is that told?",
        habits.examples(
            ("potreeve bench tub-days --rigs 20", "a first look"),
            ("potreeve bench tub-days --rigs 60 --seed 31 --jobs 2", "the exam"),
            ("potreeve bench tub-days --leaky --floats 3", "cracked tubs"),
            ("potreeve bench tub-days --rig-seed 310007", "one rig again"),
        ),
        "Within two days is good. Exit status 1 if a rig's worst day is not, or a leak was told where there is none.",
    ]
)


@click.command(
    cls=habits.Command, name="tub-days", help=HELP, short_help="Days of water as told, over a tub's last week."
)
@click.option("--rigs", type=click.IntRange(1, 9_000), default=20, show_default=True, help="How many rigs.")
@click.option("--seed", type=click.IntRange(0, 10**9), default=1, show_default=True, help="Which draw of rigs.")
@click.option("--rig-seed", type=click.IntRange(0, 2**53), help="This rig alone, by the number a report gave it.")
@click.option("--floats", type=click.IntRange(1, 4), help="So many floats in each tub. [default: drawn]")
@click.option("--strip", is_flag=True, help="A strip with four marks instead of floats.")
@click.option("--leaky", is_flag=True, help="Each tub cracks.")
@click.option("--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, rigs, seed, rig_seed, floats, strip, leaky, jobs, as_json):
    from potreeve_tools.bench import tubdays

    seeds = [rig_seed] if rig_seed is not None else tubdays.rig_seeds(seed, rigs)
    with progress.bar("tubs", len(seeds)) as move:
        results = tubdays.run(seeds, jobs, floats, leaky, strip, lambda result: move(what=f"rig {result.seed}"))
    found = tubdays.report(results, leaky)
    if as_json:
        habits.print_json(found)
    else:
        _show(found)
    sound = found["all"]["good"] == found["all"]["tubs"] and not found["notes"]["leak"]
    ctx.exit(exits.OK if not found["broke_off"] and (leaky or sound) else exits.FAILED)


def _show(found):
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style=screen.FAINT)
    table.add_column("rig")
    for title in ("floats", "ended d", "told 7 to 1 days before", "worst d", "told besides"):
        table.add_column(title, justify="right")
    for one in found["detail"]:
        for place, tub in enumerate(one["tubs"]):
            days = [tub["told"].get(day) for day in range(7, 0, -1)]
            notes = " ".join(f"{name} d{day:g}" for name, day in one["notes"].items())
            table.add_row(
                "" if place else f"{one['seed']}",
                "" if place else str(one["floats"]),
                f"{tub['ended_d']:g}",
                " ".join("-" if pair is None else str(pair[0]) for pair in days),
                "-" if tub["worst_d"] is None else f"{tub['worst_d']:g}",
                "" if place else notes,
            )
    console = screen.console()
    console.print(table)
    console.print()
    names = {
        "all": "all tubs",
        "knowing": "told by somebody who knows tub and past use, not the weather to come",
        "first": "first fillings",
        "later": "later fillings",
    }
    names.update({f"{count}": f"tubs with {count} float{'' if count == '1' else 's'}" for count in found["by_floats"]})
    for key, name in names.items():
        tally = found["by_floats"][key] if key in found["by_floats"] else found[key]
        if tally["tubs"]:
            console.print(
                f"{name}: {tally['good']} of {tally['tubs']} within {found['within_days']:g} days on each day of the "
                f"last week, {tally['days_good']} of {tally['days']} days; worst day of a tub: median "
                f"{tally['worst_median_d']:g}, 90th percentile {tally['worst_p90_d']:g}, worst {tally['worst_d']:g}.",
                soft_wrap=True,
            )
    notes = ", ".join(f"{name} {count}" for name, count in found["notes"].items())
    console.print(
        f"{found['refused']} rigs refused, {found['outlasted']} tubs outlasted the run. A pump reached no water "
        f"before the rig held in {found['ran_dry_before_held']}. Rigs that told: {notes}.",
        soft_wrap=True,
    )
    if found["leaky"]:
        after = found["leak_told_after_d_median"]
        console.print(
            f"{found['leaks_told']} of {found['leaks']} leaks told"
            + (f", {after:g} days after they began (median)." if after is not None else "."),
            soft_wrap=True,
        )
    for one in found["broke_off"]:
        console.print(f"rig {one['seed']} broke off: {one['what']}", soft_wrap=True)
