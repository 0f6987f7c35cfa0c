"""Log rows as a table a person reads, one line per wake on a terminal of 80 columns, and what is missing in them."""

from datetime import UTC, datetime

from potreeve.logic import reasons, record
from potreeve.logic.state import HELD, RATIONED

from potreeve_tools.link import logs_export, logs_read

WIDE = 80
POT_WIDE = 9
TIME_WIDE = 12
LEGEND = "‰ of container capacity; +8s a pulse of 8 s; H held, R rationed; ? not known."
RECKONED = "~ reckoned by proven time from the first moment known: it was then or earlier."


def show(console, rows, gaps, names, last):
    """Print the last `last` wakes (all when 0) and every gap."""
    times = logs_read.reckoned(rows)
    chosen = list(zip(rows, times, strict=True))[-last:] if last else list(zip(rows, times, strict=True))
    if not chosen:
        console.print("No wakes yet.")
    else:
        for line in lines(chosen, names):
            console.print(line, soft_wrap=True)
        console.print(f"{len(chosen)} of {len(rows)} wakes. {LEGEND}", soft_wrap=True)
        if any(reckoned_s for _, reckoned_s in chosen):
            console.print(RECKONED, soft_wrap=True)
    show_gaps(console, gaps)


def lines(chosen, names):
    """Head and one line per wake, each at most WIDE characters. chosen: (Row, reckoned Unix seconds or 0) pairs."""
    head = f"{'UTC':<{TIME_WIDE}}" + "".join(f" {name[:POT_WIDE]:<{POT_WIDE}}" for name in names)
    found = [f"{head}  batt V tray ml notes".rstrip()]
    for row, reckoned_s in chosen:
        cells = [_pot(pot) for pot in row.pots] + [""] * (len(names) - len(row.pots))
        battery = f"{row.head['battery_mv'] / 1000:.2f}" if row.head["battery_mv"] else "?"
        line = f"{_time(row, reckoned_s):<{TIME_WIDE}}" + "".join(f" {cell:<{POT_WIDE}}" for cell in cells)
        line += f"  {battery:>6} {row.head['tray_ml']:>7} {', '.join(_notes(row, names))}"
        found.append(line.rstrip() if len(line) <= WIDE else line[: WIDE - 1] + "…")
    return found


def show_gaps(console, gaps):
    """Print what is missing, or that nothing is."""
    if not gaps:
        console.print("No gaps: every checksum and every sequence number is right.")
        return
    console.print(f"{len(gaps)} gap{'s' if len(gaps) > 1 else ''}:")
    for gap in gaps:
        console.print(f"  {gap.line()}")


def _time(row, reckoned_s):
    """Month, day and time; ~ before what is reckoned; else how long the board has counted."""
    utc_s = row.head["utc_s"] or reckoned_s
    if not utc_s:
        return f"+{logs_read.span(row.head['up_s'])}".replace(" min", "m").replace(" d", "d").replace(" h", "h")
    return ("~" if reckoned_s else "") + datetime.fromtimestamp(utc_s, UTC).strftime("%m-%d %H:%M")


def _pot(pot):
    text = "?" if logs_export.not_known(pot) else str(pot["pm"])
    text += {HELD: " H", RATIONED: " R"}.get(pot["ladder"], "")
    return text + (f" +{pot['pulse_ms'] / 1000:.0f}s" if pot["pulse_ms"] else "")


def _notes(row, names):
    """What is worth a word, the rig's first."""
    head, notes = row.head, []
    if head["hold"]:
        notes.append("rig held: " + _words(head["hold"]))
    if head["tub_mark"]:
        days = head["tub_days"]
        notes.append(f"tub {'?' if days == record.NO_TUB_DAYS else days} d")
    if head["tub_note"]:
        notes.append(_words(head["tub_note"]))
    if head["memory"]:
        notes.append("memory lost")
    if head["button"]:
        notes.append(f"{logs_export.BUTTONS.get(head['button'], '?')} press")
    notes += [name for bit, name in logs_export.ERRORS.items() if head["errors"] & bit]
    if head["cause"] in (0, 1, 4, 5):
        notes.append("started: " + logs_export.CAUSES[head["cause"]].replace("_", " "))
    by_reason = {}
    for name, pot in zip([*names, *"?" * len(row.pots)], row.pots):
        if pot["reason"] != reasons.NONE:
            by_reason.setdefault(pot["reason"], []).append(name)
    return notes + [f"{_words(reason)} ({', '.join(pots)})" for reason, pots in by_reason.items()]


def _words(reason):
    return logs_export.reason_word(reason).replace("_", " ")
