"""`potreeve bench`: measurements and searches that take longer than a test."""

import click

from potreeve_tools.commands import habits
from potreeve_tools.commands.benches import alive, belief, cuts, daysleft, fleet, link, mutants, swarm, tubdays, wear
from potreeve_tools.terminal import exits, screen


@click.group(
    cls=habits.Group,
    name="bench",
    short_help="Measure, and search longer than a test may.",
    help="Measure, and search longer than a test may.\n\n"
    + habits.examples(
        ("potreeve bench speed", "days per second, a wake by its parts"),
        ("potreeve bench footprint", "flash and heap the firmware takes"),
        ("potreeve bench cuts", "cut the power at every write"),
        ("potreeve bench wear", "how long the flash lasts"),
        ("potreeve bench days-left", "days left as told, against what came"),
        ("potreeve bench tub-days", "days of water as told, against what came"),
        ("potreeve bench link", "what a flash, a push and a pull cost"),
        ("potreeve bench fleet", "how many rigs one station takes"),
        ("potreeve bench lies", "fuzzed payloads against the station"),
        ("potreeve bench alive --rigs 20", "rigs without a mishap: does every plant live"),
        ("potreeve bench swarm --seeds 50", "random rigs and mishaps, a quarter year each"),
        ("potreeve bench mutants", "change the logic; see which test notices"),
    ),
)
def command():
    pass


command.add_command(alive.command)
command.add_command(belief.command)
command.add_command(cuts.command)
command.add_command(swarm.command)
command.add_command(wear.command)
command.add_command(daysleft.command)
command.add_command(tubdays.command)
command.add_command(link.command)
command.add_command(fleet.command)
command.add_command(fleet.lies)
command.add_command(mutants.command)


def _say(text):
    click.echo(text, err=True)


def _table(title, columns, rows):
    """Print rows (lists of text); the first column is text, the rest figures."""
    from rich.table import Table

    table = Table(
        title=title, title_justify="left", box=None, pad_edge=False, title_style="", header_style=screen.FAINT
    )
    for index, name in enumerate(columns):
        table.add_column(name, justify="left" if index == 0 else "right")
    for row in rows:
        table.add_row(*[str(cell) for cell in row])
    screen.console().print(table)


@command.command(
    "speed",
    short_help="Simulated days per second; a wake by its parts.",
    epilog=habits.examples(("potreeve bench speed --days 30", "a short one")),
)
@click.option("--days", type=click.FloatRange(2, 3650), default=120, show_default=True, help="Length of a rehearsal.")
@habits.as_json
@habits.no_color
def speed(days, as_json):
    """Rehearse the reading room in each interpreter and time it.

    All times are wall times of this one run on this machine; compare them with
    each other, not with another day's.
    """
    from potreeve_tools.bench import speed as bench

    found = bench.run(days, on_part=lambda name: _say(f"measuring {name} ..."))
    if as_json:
        habits.print_json(found)
        return
    _table(
        "Rehearsals",
        ["interpreter", "days", "s", "days/s", "s per rig-year", "aim", "times CPython", "wake us", "of it world"],
        [
            [
                row["interpreter"],
                f"{row['days']:g}",
                row["s"],
                row["days_per_s"],
                row["s_per_rig_year"],
                "" if row["aim_s"] is None else f"{row['aim_s']:g}",
                row["times_cpython"],
                row["wake_us"],
                row["world_us"],
            ]
            for row in found["interpreters"]
        ],
    )
    click.echo()
    _table("A wake in MicroPython, by its parts", ["part", "us"], list(found["parts_us"].items()))


@command.command(
    "footprint",
    short_help="Flash and heap the firmware takes.",
    epilog=habits.examples(
        ("potreeve bench footprint --json", "for programs"),
        ("potreeve bench footprint --everything", "with all sensors and a display on each board"),
    ),
)
@click.option("--everything", is_flag=True, help="Only boards with all extras and a radio; not judged.")
@habits.as_json
@habits.no_color
@click.pass_context
def footprint(ctx, everything, as_json):
    """Weigh the firmware: sources, compiled modules, each board's heap, growth over 1,000 wakes.

    Exit status 1 if the compiled firmware is larger than its aim, a board's heap too small, or the heap grows.
    """
    from potreeve_tools.bench import footprint as bench

    if everything:
        _everything(as_json)
        return
    found = bench.run()
    good = bench.holds(found)
    if as_json:
        habits.print_json(found)
        ctx.exit(exits.OK if good else exits.FAILED)
    _table(
        "Files",
        ["file", "source", ".mpy"],
        [
            [row["file"], f"{row['source_bytes']:,}", f"{row['mpy_bytes']:,}"]
            for row in sorted(found["files"], key=lambda row: -row["mpy_bytes"])
        ]
        + [["all", f"{found['source_bytes']:,}", f"{sum(row['mpy_bytes'] for row in found['files']):,}"]]
        + [
            [f"what {name} is sent", "", f"{size:,} of {found['mpy_aim_bytes']:,}"]
            for name, size in found["image_bytes"].items()
        ]
        + [
            [f"{name}'s modules with a radio", "", f"{size:,} of {found['radio_aim_bytes']:,}"]
            for name, size in found["radio_bytes"].items()
        ]
        + [
            [f"what {name} is sent, with extras and a radio", "", f"{size:,} of {found['extras_aim_bytes']:,}"]
            for name, size in found["extras_bytes"].items()
        ],
    )
    grown = found["growth"]
    click.echo()
    keys = ("hal", "code", "alive", "working", "peak", "heap", "free")
    _table(
        "Heap of each board, bytes (alive: 32-bit MicroPython; working: what a wake holds at once, 64-bit)",
        ["board", *keys],
        [[row["board"], *(f"{row[key]:,}" for key in keys)] for row in found["heap"]],
    )
    click.echo()
    keys = ("told", "radio", "sending", "radio_peak", "radio_free")
    _table(
        "The same with a radio (told: by its settings; radio: loaded, after a wake's work), without what TLS takes",
        ["board", *keys],
        [[row["board"], *(f"{row[key]:,}" for key in keys)] for row in found["heap"]],
    )
    keys = ("display", "showing", "display_peak", "names")
    shown = [row for row in found["heap"] if row["display"]]
    if shown:
        click.echo()
        _table(
            "Boards with a display (display: loaded, after a wake's work; names: of 1,260 before MicroPython's table "
            "of them doubles)",
            ["board", *keys],
            [[row["board"], *(f"{row[key]:,}" for key in keys)] for row in shown],
        )
    click.echo(f"\nHeap after {grown['wakes']:,} wakes more: {grown['grown']:+,} bytes.")
    ctx.exit(exits.OK if good else exits.FAILED)


def _everything(as_json):
    from potreeve_tools.bench import everything

    rows = everything.run()
    if as_json:
        habits.print_json(rows)
        return
    keys = ("sent", "heap", "peak", "free", "display_peak", "radio_peak", "radio_free", "names")
    _table(
        "Tray, tub, display and radio wired, bytes (free: without the radio in the settings; names: of 1,260)",
        ["board", *keys],
        [[row["board"], *(f"{row[key]:,}" for key in keys)] for row in rows],
    )
