"""`potreeve bench link`: what moving things to and from a board costs."""

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import screen

HELP = "\n\n".join(
    [
        "Count bytes and round trips, and time the seconds, of a first flash, an unchanged one, a settings push and a "
        "log pull, through the real transport on a virtual board.",
        "A virtual board answers faster than USB does and its flash takes no time: bytes and round trips carry over "
        "to a real board, seconds do not.",
        habits.examples(("potreeve bench link", "all of them"), ("potreeve bench link --days 90", "with a longer log")),
    ]
)


@click.command(cls=habits.Command, name="link", help=HELP, short_help="Bytes, seconds and round trips to a board.")
@click.option(
    "--board", default="rp2040_wifi", show_default=True, metavar="NAME|FILE", help="Whose files and geometry."
)
@click.option("--days", type=click.IntRange(1, 365), default=30, show_default=True, help="Length of the log.")
@habits.as_json
@habits.no_color
def command(board, days, as_json):
    from potreeve_tools.bench import link

    found = link.run(board, days, lambda name: click.echo(f"measuring {name} ...", err=True))
    if as_json:
        habits.print_json(found)
        return
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style=screen.FAINT)
    table.add_column("work")
    for title in ("payload", "bytes out", "bytes in", "round trips", "s", "s in all", "payload kB/s"):
        table.add_column(title, justify="right")
    for row in found["rows"]:
        rate = f"{row['payload_bytes'] / row['s'] / 1000:.0f}" if row["payload_bytes"] and row["s"] else ""
        table.add_row(
            row["work"],
            f"{row['payload_bytes']:,}",
            f"{row['bytes_out']:,}",
            f"{row['bytes_in']:,}",
            str(row["round_trips"]),
            f"{row['s']:.2f}",
            f"{row['s_in_all']:.2f}",
            rate,
        )
    screen.console().print(table)
