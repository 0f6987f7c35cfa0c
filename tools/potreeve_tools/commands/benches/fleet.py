"""`potreeve bench fleet` and `potreeve bench lies`: the station under load, and under attack."""

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, screen

HELP = "\n\n".join(
    [
        "Let simulated rigs report through a real mosquitto to the station's own ingest, and count in the store what "
        "came of it.",
        "Each rig empties its queue on the station's word alone; a tenth of all messages is sent twice. mosquitto "
        "must be installed.",
        habits.examples(
            ("potreeve bench fleet", "100 and 1,000 rigs"),
            ("potreeve bench fleet --rigs 10000", "ten thousand"),
            ("potreeve bench fleet --store postgresql:///fleet", "into PostgreSQL"),
        ),
        "Exit status 1 if a record was lost or stored wrongly.",
    ]
)


@click.command(cls=habits.Command, name="fleet", help=HELP, short_help="How many rigs one station takes.")
@click.option(
    "--rigs", "sizes", multiple=True, type=click.IntRange(1, 100_000), metavar="N", help="How many; may be given again."
)
@click.option("--records", type=click.IntRange(1, 10_000), default=40, show_default=True, help="Of each rig.")
@click.option("--piece", type=click.IntRange(1, 40), default=8, show_default=True, help="Records a message.")
@click.option(
    "--store", "where", metavar="URL", help="Store into this instead of an SQLite file; it must hold no fleet yet."
)
@click.option(
    "--push", default="", metavar="URL", help="Then send all to this time-series database, and time that, too."
)
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, sizes, records, piece, where, push, as_json):
    from potreeve_tools.bench import fleet

    found = []
    for rigs in sizes or (100, 1000):
        figures = fleet.run(rigs, records, piece, where, push, on_part=lambda text: click.echo(text, err=True))
        found.append({**figures, **fleet.on_paper(figures)})
    if as_json:
        habits.print_json({"schema": "potreeve-fleet/1", "runs": found})
    else:
        _show(found)
    ctx.exit(exits.FAILED if any(one["lost"] or one["doubled_or_wrong"] for one in found) else exits.OK)


TITLES = {
    "rigs": "rigs",
    "records": "records",
    "seconds": "seconds",
    "records_per_s": "records a second, committed",
    "messages_per_s": "messages a second",
    "sent_twice": "messages sent twice",
    "lost": "records lost",
    "doubled_or_wrong": "doubled or wrong",
    "lag_median_ms": "lag in ms, median",
    "lag_99_ms": "lag in ms, 99 %",
    "cpu_us_per_record": "station's CPU a record, us",
    "cpu_s_per_rig_year": "station's CPU a rig and year, s",
    "station_mb": "station's memory, MB",
    "store_bytes_per_record": "store, bytes a record",
    "day_of_backlog_s": "seconds for a day's backlog of all",
    "lines_per_s": "time-series database, lines a second",
    "values_per_s": "time-series database, values a second",
}


def _show(found):
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_header=False)
    table.add_column("what")
    for _ in found:
        table.add_column(justify="right")
    for key, title in TITLES.items():
        if any(key in one for one in found):
            table.add_row(title, *["" if one.get(key) is None else f"{one[key]:,}" for one in found])
    screen.console().print(table)


@click.command(
    cls=habits.Command,
    name="lies",
    short_help="Fuzzed payloads against the station.",
    epilog=habits.examples(("potreeve bench lies --count 100000", "a few minutes")),
)
@click.option("--count", type=click.IntRange(1000, 10_000_000), default=100_000, show_default=True, help="Payloads.")
@click.option("--seed", type=click.IntRange(0, 2**53), default=1, show_default=True, help="Fixes them.")
@habits.as_json
@habits.no_color
@click.pass_context
def lies(ctx, count, seed, as_json):
    """Send torn, mad and almost right payloads through a real broker; see that the station stays up, small and right.

    Exit status 1 if the ingest died, its memory grew after the first tenth, or something unfit was stored.
    """
    from potreeve_tools.bench import lies as bench

    found = bench.run(count, seed, on_part=lambda text: click.echo(text, err=True))
    good = found["alive"] and found["stored_unfit"] == 0 and found["grown_kb"] < bench.GROWTH_KB
    if as_json:
        habits.print_json({"schema": "potreeve-lies/1", **found})
    else:
        for name, value in found.items():
            click.echo(
                f"{name.replace('_', ' ')}: {value:,}"
                if not isinstance(value, bool)
                else f"{name}: {'yes' if value else 'NO'}"
            )
    ctx.exit(exits.OK if good else exits.FAILED)
