"""`potreeve bench days-left`: what a board tells of its battery, against the day watering ends."""

import click

from potreeve_tools.commands import habits, progress
from potreeve_tools.terminal import exits, screen

HELP = "\n\n".join(
    [
        "Tend a rig on each board and chemistry until its battery is refused for good, in CPython; set the days told "
        "when 75, 50 and 25 % of the charge are really left against the days that came. The tub is kept full, the "
        "battery never changed.",
        "Seed 1 is the rig as it is; others draw capacity, pumps, month, window and pots. Their owner wrote the "
        "current on the pumps' label into the board file, which is within 15 % of theirs; --unlabelled leaves the "
        "figure that came with it.",
        habits.examples(
            ("potreeve bench days-left", "the default rig: a minute and a half"),
            ("potreeve bench days-left --seed 6 --seed 7 --jobs 2", "two others of each"),
            ("potreeve bench days-left --board latched --chemistry nimh", "one case"),
        ),
        "Within 15 % or five days is good. Exit status 1 if a row is not.",
    ]
)


@click.command(
    cls=habits.Command, name="days-left", help=HELP, short_help="Days left as told, against the day watering ends."
)
@click.option("--board", "names", multiple=True, metavar="NAME|FILE", help="Only this board; may be given again.")
@click.option("--chemistry", type=click.Choice(("lithium", "alkaline", "nimh")), help="Only this one.")
@click.option("--seed", "seeds", multiple=True, type=click.IntRange(0, 2**53), help="May be given again. [default: 1]")
@click.option("--rig", "rig_path", type=click.Path(dir_okay=False), help="Another rig file.")
@click.option("--unlabelled", is_flag=True, help="The owner left the board file's pump current as it came.")
@click.option("--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, names, chemistry, seeds, rig_path, unlabelled, jobs, as_json):
    from potreeve_tools.bench import daysleft

    packs = [pack for pack in daysleft.PACKS if chemistry in (None, pack[0])]
    chosen = daysleft.cases(
        names or daysleft.BOARDS, packs, seeds or (1,), rig_path or daysleft.DEFAULT_RIG, not unlabelled
    )
    with progress.bar("batteries", len(chosen)) as move:
        rows = daysleft.run(chosen, jobs, lambda found: move(None, f"{found[0]['board']} {found[0]['chemistry']}"))
    found = daysleft.report(rows)
    if as_json:
        habits.print_json(found)
    else:
        _show(found)
    ctx.exit(exits.OK if found["good"] == found["judged"] else exits.FAILED)


def _show(found):
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style=screen.FAINT)
    table.add_column("board")
    table.add_column("battery")
    for title in ("mAh", "seed", "% left", "told d", "came d", "error d", "error %", ""):
        table.add_column(title, justify="right")
    for row in found["rows"]:
        table.add_row(
            row["board"],
            f"{row['chemistry']} x {row['cells']}",
            str(row["capacity_mah"]),
            str(row["seed"]),
            str(row["mark_pct"]),
            *[_text(row[key]) for key in ("told_days", "real_days", "error_days", "error_pct")],
            {True: "", False: "off", None: "not judged"}[row["good"]],
        )
    console = screen.console()
    console.print(table)
    console.print(
        f"\n{found['good']} of {found['judged']} within {found['within_pct']} % or {found['within_days']} days; "
        f"{found['not_judged']} not judged, as no end, or no such charge, came within the run. Somebody who knows "
        f"charge and past use, but neither weather nor growth to come, tells {found['knowing_good']} so well."
    )
    if found["called_days_least"] is not None:
        console.print(
            f"Another battery was asked for {found['called_days_least']:g} to {found['called_days_most']:g} days "
            f"before the end."
        )


def _text(value):
    return "" if value is None else f"{value:g}"
