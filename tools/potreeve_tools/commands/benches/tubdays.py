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
@click.option("--leaky", is_flag=True, help="Each tub cracks.")
@click.option("--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, rigs, seed, rig_seed, floats, leaky, jobs, as_json):
    from potreeve_tools.bench import tubdays

    seeds = [rig_seed] if rig_seed is not None else tubdays.rig_seeds(seed, rigs)
    with progress.bar("tubs", len(seeds)) as move:
        results = tubdays.run(seeds, jobs, floats, leaky, lambda result: move(what=f"rig {result.seed}"))
    found = tubdays.report(results, leaky)
    if as_json:
        habits.print_json(found)
    else:
        _show(found)
    wrong = found["broke_off"] or not leaky and (found["good"] < found["judged"] or found["notes"]["leak"])
    ctx.exit(exits.FAILED if wrong else exits.OK)


def _show(found):
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style=screen.FAINT)
    table.add_column("board")
    for title in ("rig", "floats", "full ml", "end d", *[f"-{day} d" for day in range(7, 0, -1)], "worst", "notes"):
        table.add_column(title, justify="right")
    for one in found["detail"]:
        if one["refused"] or one["broke"]:
            continue
        told = [one["told"].get(day) for day in range(7, 0, -1)]
        table.add_row(
            one["board"],
            str(one["seed"]),
            str(one["floats"]),
            f"{one['full_ml']:,}",
            "" if one["ended_d"] is None else f"{one['ended_d']:g}",
            *["" if pair is None else str(pair[0]) for pair in told],
            "" if one["worst_d"] is None else f"{one['worst_d']:.1f}",
            " ".join(f"{name} d{day:g}" for name, day in one["notes"].items()),
        )
    console = screen.console()
    console.print(table)
    console.print(
        f"\n{found['good']} of {found['judged']} tubs within {found['within_days']:g} days on every day of their last "
        f"week; {found['days_good']} of {found['days_judged']} days. Worst day of a tub: median "
        f"{found['worst_median_d']}, 90th percentile {found['worst_p90_d']}, worst {found['worst_d']} days.",
        soft_wrap=True,
    )
    console.print(
        f"{found['refused']} rigs refused, {found['outlasted']} tubs outlasted the run; a pump reached no water before "
        f"the rig held in {len(found['ran_dry_before_held'])}. Notes: {found['notes']}.",
        soft_wrap=True,
    )
    if found["leaky"]:
        console.print(
            f"{found['leaks_told']} of {found['judged']} leaks told, after {found['leak_told_after_d_median']} days "
            f"(median).",
            soft_wrap=True,
        )
    for one in found["broke_off"]:
        console.print(f"rig {one['seed']} broke off: {one['what']}", soft_wrap=True)
