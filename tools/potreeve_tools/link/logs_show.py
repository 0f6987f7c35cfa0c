"""Log rows as a table a person reads, and what is missing in them."""

from potreeve.logic import reasons
from potreeve.logic.state import TENDED

from potreeve_tools.link import logs_export, logs_read
from potreeve_tools.words import sentences as words


def show(console, rows, gaps, names, last):
    """Print the last `last` wakes (all when 0) and every gap."""
    from rich.table import Table

    chosen = rows[-last:] if last else rows
    if not chosen:
        console.print("No wakes yet.")
    else:
        table = Table(box=None, pad_edge=False, header_style="bold")
        table.add_column("time (UTC)")
        table.add_column("proven", justify="right")
        for name in names:
            table.add_column(f"{name}", overflow="fold")
        table.add_column("battery", justify="right")
        table.add_column("tray", justify="right")
        table.add_column("notes", overflow="fold")
        for row in chosen:
            cells = [logs_read.iso_utc(row.head["utc_s"]) or "not known", logs_read.span(row.head["up_s"])]
            cells += [_pot(pot) for pot in row.pots] + [""] * (len(names) - len(row.pots))
            cells += [
                f"{row.head['battery_mv']} mV" if row.head["battery_mv"] else "?",
                f"{row.head['tray_ml']} ml",
                _notes(row.head),
            ]
            table.add_row(*cells)
        console.print(table)
        console.print(f"{len(chosen)} of {len(rows)} wakes.")
    show_gaps(console, gaps)


def show_gaps(console, gaps):
    """Print what is missing, or that nothing is."""
    if not gaps:
        console.print("No gaps: every checksum and every sequence number is right.")
        return
    console.print(f"{len(gaps)} gap{'s' if len(gaps) > 1 else ''}:")
    for gap in gaps:
        console.print(f"  {gap.line()}")


def _pot(pot):
    text = f"{pot['pm']} ‰"
    if pot["pulse_ms"]:
        text += f", pulse {pot['pulse_ms'] / 1000:.1f} s"
    if pot["ladder"] != TENDED:
        text += f", {words.RUNGS.get(pot['ladder'], '?')}"
    if pot["reason"] != reasons.NONE:
        text += f" ({logs_export.reason_word(pot['reason']).replace('_', ' ')})"
    return text


def _notes(head):
    notes = []
    if head["hold"]:
        notes.append("rig held: " + logs_export.reason_word(head["hold"]).replace("_", " "))
    if head["memory"]:
        notes.append("memory lost")
    if head["button"]:
        notes.append(f"{logs_export.BUTTONS.get(head['button'], '?')} press")
    notes += [name for bit, name in logs_export.ERRORS.items() if head["errors"] & bit]
    if head["cause"] in (0, 1, 4, 5):
        notes.append("started: " + logs_export.CAUSES[head["cause"]].replace("_", " "))
    return ", ".join(notes)
