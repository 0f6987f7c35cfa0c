"""`potreeve bench wear`: how long the flash lasts."""

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import screen

HELP = "\n\n".join(
    [
        "Count the erases of every flash block while the default rig is tended in real MicroPython on its real "
        "littlefs, and carry the pace of the worst block on to 100,000 erases, the least that data sheets of such "
        "flash promise (from memory).",
        "littlefs moves its busiest blocks after 100 erases each, so the longer the run the longer the life it "
        "foretells; the last column is the life if all blocks wore alike. Files that never change, such as the "
        "firmware's own, are not in the run.",
        habits.examples(
            ("potreeve bench wear", "a month on every board"),
            ("potreeve bench wear --board esp32 --days 365", "a year on one"),
        ),
    ]
)


@click.command(cls=habits.Command, name="wear", help=HELP, short_help="How long the flash lasts.")
@click.option("--board", "names", multiple=True, metavar="NAME|FILE", help="Only this board; may be given again.")
@click.option("--days", type=click.IntRange(1, 3660), default=30, show_default=True, help="How long.")
@click.option("--seed", type=click.IntRange(0, 2**53), default=1, show_default=True, help="As in rehearse.")
@habits.as_json
@habits.no_color
def command(names, days, seed, as_json):
    from potreeve_tools.bench import wear

    rows = wear.run(names or wear.BOARDS, days, seed)
    if as_json:
        habits.print_json(
            {"schema": "potreeve-wear/1", "days": days, "seed": seed, "cycles": wear.CYCLES, "boards": rows}
        )
    else:
        _show(rows, wear.CYCLES)


def _show(rows, cycles):
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    table.add_column("board")
    for title in (
        "days",
        "wakes",
        "blocks",
        "erases a day",
        "worst block a day",
        f"years to {cycles:,}",
        "years, spread",
    ):
        table.add_column(title, justify="right")
    for row in rows:
        table.add_row(
            row["board"],
            str(row["days"]),
            str(row["wakes"]),
            str(row["blocks"]),
            str(row["erases_per_day"]),
            str(row["worst_per_day"]),
            str(row["years"]),
            str(row["years_spread"]),
        )
    screen.console().print(table)
