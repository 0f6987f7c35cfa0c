"""`potreeve bench alive`: rigs without a mishap, a quarter year each."""

import time

import click

from potreeve_tools.commands import habits, progress
from potreeve_tools.terminal import exits, screen
from potreeve_tools.world.potspec import SOILS

WORST_SHOWN = 12

HELP = "\n\n".join(
    [
        "Draw rigs that people might well build, make their settings by Potreeve's own commissioning, and run a "
        "quarter year of each without any mishap, tub full, battery changed when asked for: no plant may die, none be "
        "held for a day, the tray never run over. A plain threshold loop waters the same rigs for comparison.",
        habits.examples(
            ("potreeve bench alive --rigs 20", "a first look"),
            ("potreeve bench alive --rigs 200 --jobs 2", "the exam"),
            ("potreeve bench alive --rig-seed 10007 --pots", "one rig again, pot by pot"),
            ("potreeve bench alive --soil richards", "on the second soil model"),
            ("potreeve bench alive --on-feet", "pots that touch no water in the tray"),
        ),
        "Exit status 1 if a target was missed.",
    ]
)


@click.command(cls=habits.Command, name="alive", help=HELP, short_help="Rigs without a mishap: does every plant live?")
@click.option("--rigs", type=click.IntRange(1, 9_000), default=20, show_default=True, help="How many rigs.")
@click.option("--seed", type=click.IntRange(0, 10**9), default=1, show_default=True, help="Which draw of rigs.")
@click.option("--first", type=click.IntRange(1, 9_000), default=1, show_default=True, help="The first rig of the draw.")
@click.option("--rig-seed", type=click.IntRange(0, 2**53), help="This rig alone, by the number a report gave it.")
@click.option("--days", type=click.IntRange(1, 3650), default=90, show_default=True, help="Days of each rig.")
@click.option("--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes.")
@click.option(
    "--soil",
    type=click.Choice(SOILS),
    default=SOILS[0],
    show_default=True,
    help="How water moves in the pots: by layers, or after Richards' equation (the firmware was not tuned on it).",
)
@click.option("--on-feet", is_flag=True, help="The same rigs, their pots on feet above the tray's water.")
@click.option("--interpreter", type=click.Choice(("cpython", "micropython")), default="cpython", show_default=True)
@click.option("--pots", is_flag=True, help="Show every pot.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, rigs, seed, first, rig_seed, days, jobs, soil, on_feet, interpreter, pots, as_json):
    from potreeve_tools.bench import alive, alivereport

    seeds = [rig_seed] if rig_seed is not None else alive.rig_seeds(seed, rigs, first)
    began = time.monotonic()
    with progress.bar("rigs", len(seeds)) as move:
        results = alive.run(
            seeds, jobs, days, interpreter, lambda result: move(what=f"rig {result.seed}"), soil, on_feet
        )
    found = alivereport.report(results, days, pots, soil, on_feet)
    found["wall_s"] = round(time.monotonic() - began, 1)
    if as_json:
        habits.print_json(found)
    else:
        _show(found)
    ctx.exit(exits.FAILED if found["missed"] else exits.OK)


ROWS = (
    ("pots", "pots"),
    ("plants that died", "deaths"),
    ("in band, median %", "in_band_pct_median"),
    ("in band, 5th percentile %", "in_band_pct_p5"),
    ("hours dry", "dry_h"),
    ("hours over the band", "over_h"),
    ("hours roots lacked air", "soaked_h"),
    ("times the tray ran over", "floods"),
    ("ml over the tray", "spilled_ml"),
)


def _show(found):
    console = screen.console()
    _table(console, ("", "Potreeve", "plain loop"), [(text, found[key], found["rival"][key]) for text, key in ROWS])
    console.print(f"\nIn band: {found['band']}.", soft_wrap=True)
    console.print(
        f"{found['unannounced_deaths']} deaths unannounced; {found['holds_over_a_day']} pots held or rationed for "
        f"more than a day ({found['held_or_rationed_h']:,} h in all); {found['notes']} notes, {found['calls']} calls, "
        f"{found['batteries']} batteries.",
        soft_wrap=True,
    )
    refused = found["refused"]
    console.print(f"{refused['rigs']} of {found['rigs']} rigs refused.")
    for why, count in refused["reasons"].items():
        console.print(f"  {count} x {why}", soft_wrap=True, highlight=False)
    for one in found["broke_off"]:
        console.print(f"  rig {one['seed']} broke off: {one['what']}", soft_wrap=True)
    for one in found["worst"][:WORST_SHOWN]:
        console.print(f"  rig {one['seed']}, {one['pot']}: {one['why']}", soft_wrap=True, highlight=False)
    if len(found["worst"]) > WORST_SHOWN:
        console.print(f"  and {len(found['worst']) - WORST_SHOWN} more (--json has them all)")
    for rig in found.get("detail", ()):
        _show_rig(console, rig)
    if found["missed"]:
        console.print("Missed: " + "; ".join(found["missed"]), style="bold", soft_wrap=True)
    else:
        console.print("Every target reached.", style="bold")
    how = f"soil {found['soil']}" + (", pots on feet" if found["on_feet"] else "")
    console.print(f"{found['rigs']} rigs of {found['days_each']} days, {how}, in {found['wall_s']:,} s.")


def _show_rig(console, rig):
    if not rig["pots"]:
        console.print(f"\nrig {rig['seed']}, {rig['board']}: {rig['refused'] or rig['broke']}", soft_wrap=True)
        return
    console.print(f"\nrig {rig['seed']}, {rig['board']}, {rig['spilled_ml']} ml over the tray")
    rows = []
    for who, pots in (("", rig["pots"]), ("loop: ", rig["loop"])):
        for pot in pots:
            fate = "alive" if pot["died_d"] is None else f"{pot['why']} d{pot['died_d']:.0f}"
            what = f"{who}{pot['name']}, {pot['pot_ml'] / 1000:.1f} l {pot['substrate']}"
            rows.append((what, fate, pot["in_band_pct"], pot["dry_h"], pot["over_h"], pot["held_h"], pot["rationed_h"]))
    _table(console, ("pot", "fate", "in band %", "dry h", "over h", "held h", "rationed h"), rows)


def _table(console, columns, rows):
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style=screen.FAINT)
    for index, name in enumerate(columns):
        table.add_column(name, justify="left" if index == 0 else "right")
    for row in rows:
        table.add_row(*[f"{cell:,}" if isinstance(cell, int | float) else str(cell) for cell in row])
    console.print(table)
