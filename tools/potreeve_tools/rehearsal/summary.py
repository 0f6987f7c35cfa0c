"""A finished rehearsal on the terminal: verdict, pots, rig, alerts."""

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.rehearsal import verdict
from potreeve_tools.terminal import screen
from potreeve_tools.words import alerts as alert_list
from potreeve_tools.world import ownparts

NARROW = 80
WIDE = 96
STRIP_MOST = 30
HEADS = (
    ("pot", ""),
    ("given", "ml"),
    ("drunk", "ml"),
    ("drained", "ml"),
    ("in band", "%"),
    ("dry", "h"),
    ("soaked", "h"),
    ("doses", ""),
    ("pulses", ""),
    ("state", ""),
)
STEPS = "▁▂▃▄▅▆▇█"
INKS = {verdict.GOOD: screen.LEAF, verdict.MIND: screen.CLAY, verdict.BAD: "bold red"}


def show(console, session, outcome):
    """Print everything. console: a rich Console for stdout."""
    grade, headline, points = verdict.judge(outcome)
    console.print()
    console.print(Text(headline, style=INKS[grade]))
    for point in points:
        console.print(Padding(Text(point), (0, 0, 0, 2)))
    console.print()
    console.print(Text(_where(outcome), style=screen.FAINT))
    for line in ownparts.sentences(outcome.get("own", {})):
        console.print(Text(line, style=screen.FAINT))
    console.print()
    pots(console, session, outcome)
    console.print()
    rig(console, outcome["rig"])
    console.print()
    alerts(console, outcome["alert_groups"])
    console.print()
    console.print(Text(_how(outcome), style=screen.FAINT))


def _where(outcome):
    days = outcome["days"]
    return (
        f"{outcome['rig_name']}, {days:g} day{'' if days == 1 else 's'} from {outcome['start']}, "
        f"board {outcome['board']}, seed {outcome['seed']}"
    )


def _how(outcome):
    made = outcome["interpreter"]
    return f"{made['name']} {made['version']}, {outcome['wakes']:,} wakes, digest {outcome['digest'][:16]}"


def ml(value):
    """Millilitres for reading."""
    return f"{value:,.0f} ml"


def pots(console, session, outcome):
    """Print the pots: a table, or one block each where the terminal is narrow."""
    rows = [_pot_cells(pot) for pot in outcome["pots"]]
    if console.width < NARROW:
        for row in rows:
            console.print(Text(row[0], style=screen.LEAF))
            for (head, unit), cell in zip(HEADS[1:], row[1:], strict=True):
                console.print(Text(f"  {head:<9}").append(cell).append(f" {unit}" if unit else ""))
    else:
        table = Table(
            box=None, pad_edge=False, padding=(0, 1 if console.width < WIDE else 2, 0, 0), header_style=screen.FAINT
        )
        for head, unit in HEADS:
            table.add_column(
                f"{head}\n{unit}", justify="left" if head in ("pot", "state") else "right", no_wrap=head != "pot"
            )
        for row in rows:
            table.add_row(Text(row[0], style=screen.LEAF), *row[1:-1], _state(row[-1]))
        console.print(table)
    if screen.block_chars():
        _strips(console, session, outcome)


def _state(text):
    return Text(text, style={"tended": screen.LEAF, "rationed": screen.CLAY}.get(text, "bold red"))


def _pot_cells(pot):
    share = "–" if pot["in_band_pct"] is None else f"{pot['in_band_pct']:.1f}"
    water = tuple(f"{pot[key]:,.0f}" for key in ("given_ml", "transpired_ml", "leachate_ml"))
    state = pot["state"] if pot["alive"] else f"{pot['state']}, dead"
    return (
        pot["name"],
        *water,
        share,
        f"{pot['dry_h']:,.0f}",
        f"{pot['soaked_h']:,.0f}",
        str(pot["doses"]),
        str(pot["pulses"]),
        state,
    )


def _strips(console, session, outcome):
    """One line per pot: the lowest moisture of each stretch of days, from stress point to container capacity."""
    console.print()
    wide = max(len(pot["name"]) for pot in outcome["pots"])
    for index, pot in enumerate(outcome["pots"]):
        strip = strip_of(session, index)
        line = Text(f"{pot['name']:<{wide}}  ")
        line.append(strip, style=screen.WATER)
        console.print(line)
    console.print(
        Text(
            f"{'':<{wide}}  driest moment of each day, stress point to container capacity"
            if outcome["days"] <= STRIP_MOST
            else f"{'':<{wide}}  driest moments in order of time, stress point to container capacity",
            style=screen.FAINT,
        )
    )


def strip_of(session, index):
    """Moisture of a pot as a row of blocks, at most STRIP_MOST of them."""
    parts = max(1, min(STRIP_MOST, round(session.days)))
    low = definitions.dosing.stress_point_pm(session.checked["channels"][index])
    least = [None] * parts
    for sample in session.samples:
        place = min(parts - 1, int(sample["t_s"] / session.end_s * parts))
        pm = sample["pots"][index]["moisture_pm"]
        least[place] = pm if least[place] is None else min(least[place], pm)
    blocks = []
    for pm in least:
        step = 0 if pm is None else int((pm - low) / (1000 - low) * len(STEPS))
        blocks.append(" " if pm is None else STEPS[max(0, min(len(STEPS) - 1, step))])
    return "".join(blocks)


def rig(console, found):
    """Print what concerns the rig as a whole."""
    days_left = found["battery_days_left"]
    rows = (
        (
            "tray",
            f"{ml(found['tray_peak_ml'])} at most, room for {ml(found['tray_headroom_ml'])}, "
            + ("never ran over" if not found["floods"] else f"ran over {found['floods']} times"),
        ),
        ("electronics", "dry" if not found["electronics_wet"] else f"wet {found['electronics_wet']} times"),
        ("reservoir", f"{ml(found['reservoir_left_ml'])} left" + _tub_days(found["tub_days_left"])),
        (
            "battery",
            f"{found['charge_used_mah']:,.0f} mAh used, {found['battery_left_pct']:.0f} % left, "
            + ("end not in sight" if days_left >= 999 else f"the board expects {days_left} days more"),
        ),
    )
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_header=False)
    table.add_column(style=screen.FAINT, no_wrap=True)
    table.add_column()
    for name, text in rows:
        table.add_row(name, text)
    console.print(table)


def _tub_days(days):
    return "" if days is None else f"; the board expects {days} day{'' if days == 1 else 's'} more"


def _days(group):
    """Its day, or its days and how often: "3-40 x12"."""
    if group["count"] == 1:
        return str(group["first_day"])
    same = group["first_day"] == group["last_day"]
    days = str(group["first_day"]) if same else f"{group['first_day']}–{group['last_day']}"
    return f"{days} ×{group['count']}"


def alerts(console, found):
    """Print groups of alerts, see words.alerts.grouped, or that there were none; and what is calm below them."""
    loud, calm = alert_list.parted(found)
    if loud:
        _said(console, loud)
    else:
        console.print("No alerts.")
    if calm:
        console.print(f"\n{alert_list.CALM}:" if loud else f"{alert_list.CALM}:")
        _said(console, calm)


def _said(console, found):
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style=screen.FAINT)
    table.add_column("day", no_wrap=True)
    table.add_column("who", no_wrap=True)
    table.add_column("what happened, and what to do")
    for alert in found:
        text = Text(alert["what"], style=screen.CLAY if alert["level"] == "call" else "")
        if alert["do"]:
            text.append(f" To do: {alert['do']}.", style=screen.FAINT)
        table.add_row(_days(alert), alert["pot"] or "rig", text)
    console.print(table)
