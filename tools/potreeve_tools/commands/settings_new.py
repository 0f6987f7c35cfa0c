"""`potreeve settings new`: a first file of settings from what an owner knows."""

import math
import sys
from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import screen
from potreeve_tools.terminal.faultlist import BadInput

EXAMPLE = (
    "potreeve settings new my.toml --plant mint --pot 12x10.5 --plant strawberry --pot 1.5 "
    "--tray-cm2 740 --tray-wall-mm 15"
)


TRAY = "tray_headroom_ml"

# A tray that takes less than so many ordinary days' drink of its pots is called small. Of 1,000 rigs of the swarm, pots
# of 31 were held or dry for too long; 17 of those trays took less, and 41 of 200 of all.
SMALL_TRAY_DAYS = 4
SMALL_TRAY = (
    "The tray takes {tray_ml} ml, little beside the {day_ml} ml that its pots drink on an ordinary day: water that a "
    "probe did not see counts as standing there, so a plant that drinks more than usual may wait for room and go dry. "
    "A larger tray gives it room."
)
# Of 42 such rigs, commissioned and without a mishap, 5 lost plants in 90 days though their trays were dry.
ON_FEET = (
    "Pots on feet tell the rig nothing of the tray below: what a probe did not see of a dose counts as standing there "
    "until it has dried, and a thirsty plant may wait for room and go dry. Let the pots stand on the tray's floor, or "
    "have somebody look each week, empty the tray and hold the button for two seconds, twice."
)


@click.command(
    cls=habits.Command,
    name="new",
    short_help="A first file, from pot, plant and tray.",
    epilog=habits.examples((EXAMPLE, "two pots on one tray"), ("potreeve settings new my.toml", "asks for the rest")),
)
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.toml")
@click.option(
    "--plant",
    "plants",
    multiple=True,
    metavar="PLANT",
    help="What grows in a pot, or a plant file; once per pot, in channel order.",
)
@click.option(
    "--pot",
    "sizes",
    multiple=True,
    metavar="SIZE",
    help="Its substrate: litres (1.2), or width x height in cm (12x10.5).",
)
@click.option("--substrate", "mixes", multiple=True, metavar="MIX", help="The mix on the bag; peat_mix unless said.")
@click.option("--name", "names", multiple=True, metavar="NAME", help="What you call a pot; its plant unless said.")
@click.option(
    "--weighed-ml",
    "holds",
    multiple=True,
    type=float,
    metavar="ML",
    help="The water it holds between air-dry and drained, if you weighed that (1 g is 1 ml); else it is taken from "
    "the mix.",
)
@click.option("--tray-cm2", type=click.FloatRange(20, 20000), help="The tray's floor left open between the pots.")
@click.option("--tray-wall-mm", type=click.FloatRange(2, 300), help="The lowest point of its rim, above its floor.")
@click.option(
    "--tray-ml", type=click.FloatRange(24, 23000), help="What it takes to its rim, if you measured that instead."
)
@click.option("--on-feet", is_flag=True, help="The pots stand on feet or gravel, not on the tray's floor.")
@click.option("--rig", "rig_name", default="windowsill", show_default=True, help="What you call the rig.")
@click.option("--battery", type=click.Choice(("lithium", "alkaline", "nimh")), default="lithium", show_default=True)
@click.option("--cells", type=click.IntRange(1, 8), default=1, show_default=True, help="Cells in series.")
@click.option("--mah", type=click.IntRange(100, 50000), default=2500, show_default=True, help="Printed on the cells.")
@click.option(
    "--insist", is_flag=True, help="Write it although plants would starve under it; the board says so while it runs."
)
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@habits.no_color
def command(
    path,
    plants,
    sizes,
    mixes,
    names,
    holds,
    tray_cm2,
    tray_wall_mm,
    tray_ml,
    on_feet,
    rig_name,
    battery,
    cells,
    mah,
    insist,
    force,
):
    """Write a settings file to begin with, every key explained, from what you know of pots, plants and tray.

    Water, doses, caps and refill points follow from published figures (container capacity and available water of the
    mix, FAO-56 for the plant). On a terminal what is missing is asked for. The pots get no water before they are
    calibrated; that also fits the pulses to their pumps.
    """
    from potreeve_tools.link import backup
    from potreeve_tools.owner import asking, recipe
    from potreeve_tools.settings import settings_toml, settingsfile

    if path.suffix.lower() != ".toml":
        raise BadInput([f"{path}: settings new writes TOML, with a word on every key; name it {path.stem}.toml"])
    if path.exists() and not force:
        raise BadInput([f"{path}: is there already; give another name, or --force to write over it"])
    _numbers({"--tray-cm2": tray_cm2, "--tray-wall-mm": tray_wall_mm, "--tray-ml": tray_ml}, holds)
    plants, sizes, mixes = _ask_pots(list(plants), list(sizes), list(mixes))
    tray_cm2, tray_wall_mm = _ask_tray(tray_cm2, tray_wall_mm, tray_ml)
    told = asking.pots(plants, list(names), sizes, mixes, list(holds))
    rig = asking.rig(rig_name, tray_cm2, tray_wall_mm, tray_ml, on_feet, (battery, cells, mah))
    made = {**recipe.make(rig, told), "insist": insist}
    try:
        checked = settingsfile.check(made, "settings new")
    except BadInput as refused:
        raise BadInput([*refused.faults, *_larger_tray(made)]) from None
    backup.write_whole(path, settings_toml.to_toml(checked).encode("utf-8"))
    for channel in checked["channels"]:
        click.echo(
            f"{channel['name']}: holds about {channel['holds_ml']} ml, an ordinary day's drink {channel['ration_ml']} "
            f"ml, at most {channel['day_ml']} ml in any 24 hours.",
            err=True,
        )
    day_ml = sum(channel["ration_ml"] for channel in checked["channels"])
    if checked["tray_headroom_ml"] < SMALL_TRAY_DAYS * day_ml:
        click.echo(SMALL_TRAY.format(tray_ml=checked["tray_headroom_ml"], day_ml=day_ml), err=True)
    if on_feet:
        click.echo(ON_FEET, err=True)
    click.echo(f"Written to {path}; look through it, then: potreeve settings push {path}", err=True)


def _ask_pots(plants, sizes, mixes):
    """The three lists, asked for on a terminal where nothing was given."""
    if plants and sizes:
        return plants, sizes, mixes
    if not screen.is_terminal(sys.stdin):
        missing = [option for option, words in (("--plant", plants), ("--pot", sizes)) if not words]
        raise BadInput([f"{option} is missing and nobody is there to ask; e.g. {EXAMPLE}" for option in missing])
    if not plants:
        count = click.prompt("How many pots?", type=click.IntRange(1, 4), default=1, err=True)
        plants = [click.prompt(f"What grows in pot {place + 1}?", err=True) for place in range(count)]
    if not sizes:
        sizes = [
            click.prompt(f"{plant}: litres of substrate, or width x height of it in cm?", err=True) for plant in plants
        ]
    if not mixes:
        mixes = [click.prompt(f"{plant}: which mix?", default="peat_mix", err=True) for plant in plants]
    return plants, sizes, mixes


def _numbers(trays, holds):
    """Raises BadInput for what is no number, and for a tray measured in two ways."""
    given = [*trays.items(), *[("--weighed-ml", ml) for ml in holds]]
    faults = [
        f"{option} = {value}: give a number"
        for option, value in given
        if value is not None and not math.isfinite(value)
    ]
    if trays["--tray-wall-mm"] is not None and trays["--tray-ml"] is not None:
        both = " beside ".join(f"{option} = {trays[option]:g}" for option in ("--tray-wall-mm", "--tray-ml"))
        faults.append(f"{both}: give the height of the rim, or what the tray takes")
    if faults:
        raise BadInput(faults)


def _larger_tray(made):
    """What a refusal for the tray means in the options' own words and figures."""
    from potreeve.logic import settings, starving

    from potreeve_tools.owner import recipe

    faults = settings.check(made)[1]
    needs = [fault[4] for fault in faults if fault[0] == starving.TOO_LITTLE and fault[2] == TRAY]
    slow = [fault[4] for fault in faults if fault[0] == starving.DRIES_SLOW]
    return [
        f"a tray with {cm2} cm2 left open between the pots would do (--tray-cm2), or pots on its floor (without "
        "--on-feet); or --insist"
        for cm2 in slow
    ] + [
        f"a tray that takes {math.ceil((ml + 1) / recipe.HEADROOM_SHARE)} ml to its rim would do (--tray-ml): "
        f"{100 * recipe.HEADROOM_SHARE:.0f} % of it is counted on, as a tray is seldom level; or --insist"
        for ml in needs
    ]


def _ask_tray(tray_cm2, tray_wall_mm, tray_ml):
    missing = ["--tray-cm2"] if tray_cm2 is None else []
    missing += ["--tray-wall-mm or --tray-ml"] if tray_wall_mm is None and tray_ml is None else []
    if missing and not screen.is_terminal(sys.stdin):
        raise BadInput([f"{option} is missing and nobody is there to ask; e.g. {EXAMPLE}" for option in missing])
    if tray_cm2 is None:
        tray_cm2 = click.prompt(
            "Floor of the tray left open between the pots, in cm2?", type=click.FloatRange(20, 20000), err=True
        )
    if tray_wall_mm is None and tray_ml is None:
        tray_wall_mm = click.prompt(
            "Height of its rim at the lowest point, in mm?", type=click.FloatRange(2, 300), err=True
        )
    return tray_cm2, tray_wall_mm
