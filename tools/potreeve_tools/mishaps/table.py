"""The mishaps on the terminal: one block each, what broke in full."""

from rich.table import Table
from rich.text import Text

from potreeve_tools.mishaps import judge, run
from potreeve_tools.terminal import screen

INKS = {judge.HOLDS: screen.LEAF, judge.BROKEN: "bold red", judge.NOT_SHOWN: screen.CLAY}
NARROW = 110
LINES_MOST = 4


def show(console, rows, titles, took_s):
    """Print all rows and their tally. rows: as run.together gives them; titles: {name: title}."""
    (_table if console.width >= NARROW else _blocks)(console, rows, titles)
    console.print()
    counts = run.tally(rows)
    console.print(
        Text(
            ", ".join(f"{count} {verdict}" for verdict, count in counts.items() if count) + f"; {took_s:.0f} s.",
            style=INKS[judge.BROKEN if counts[judge.BROKEN] else judge.HOLDS],
        )
    )
    console.print(
        Text(
            "Beyond need: water from the tubes that ran through the pots or past them. d4 06:30 is half past six on "
            "the fourth day.",
            style=screen.FAINT,
        )
    )


def _table(console, rows, titles):
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style=screen.FAINT)
    table.add_column("mishap", width=30)
    table.add_column("what Potreeve did, and when; how to run it again", ratio=1)
    table.add_column("beyond need", justify="right")
    table.add_column("tray peak", justify="right", width=12)
    table.add_column("plants", width=14)
    table.add_column("verdict", no_wrap=True)
    for row in rows:
        did = _did(row)
        did.append(f"\n{row['rerun']}", style=screen.FAINT)
        table.add_row(
            titles[row["name"]],
            did,
            _ml(row["water_beyond_need_ml"]),
            _peak(row),
            _plants(row["plants"]),
            _verdict(row),
        )
    console.print(table)


def _blocks(console, rows, titles):
    for row in rows:
        head = Text.assemble((titles[row["name"]], "bold"), "  ", _verdict(row))
        console.print(head)
        console.print(
            Text.assemble(
                "  ",
                (
                    f"beyond need {_ml(row['water_beyond_need_ml'])}, tray peak {_peak(row)}, "
                    f"plants: {_plants(row['plants'])}"
                ),
            )
        )
        for line in _did(row).split("\n"):
            console.print(Text("  ").append_text(line))
        console.print(Text(f"  {row['rerun']}", style=screen.FAINT))


def _verdict(row):
    return Text(row["verdict"], style=INKS[row["verdict"]])


def _ml(value):
    return f"{value:.0f} ml"


def _peak(row):
    return f"{row['tray_peak_ml']:.0f} of {row['tray_headroom_ml']:.0f} ml"


def _did(row):
    lines = row["what_it_did"]
    if row["verdict"] != judge.BROKEN and len(lines) > LINES_MOST:
        lines = lines[: LINES_MOST - 1] + [f"… {len(lines) - LINES_MOST + 1} more"]
    text = Text()
    for place, line in enumerate(lines):
        broken = line.startswith("does not hold")
        text.append(("\n" if place else "") + line, style=INKS[judge.BROKEN] if broken else "")
    return text


def _plants(fates):
    bad = [f"{name} {fate}" for name, fate in fates.items() if fate != "alive"]
    return ", ".join(bad) if bad else "all alive" if fates else "–"
