"""What Potreeve did about a mishap, and when, in short: from the records alone."""

from potreeve.logic import errors, reasons
from potreeve.logic.state import HELD, RATIONED, TENDED

from potreeve_tools.mishaps.evidence import day_text

SHORT = {
    reasons.BROKEN: "wire open",
    reasons.SHORTED: "shorted or silent",
    reasons.NOISY: "noisy",
    reasons.OUTSIDE: "beyond its calibration",
    reasons.STILL: "stuck",
    reasons.OUT_OF_SOIL: "dry as air",
    reasons.FELL: "fell too fast",
    reasons.NOT_FALLING: "wet through thirst",
    reasons.DRIFTS: "asks for ever less",
    reasons.NO_RISE: "doses without a rise",
    reasons.RUNS_ON: "water runs by itself",
    reasons.CROSSED: "another pot rose",
    reasons.TOO_WET: "too wet",
    reasons.NOT_CALIBRATED: "not calibrated",
    reasons.POT_DAY: "day's water given",
    reasons.RIG_DAY: "rig's day given",
    reasons.TRAY: "tray may be full",
    reasons.BATTERY: "battery too low",
    reasons.KEPT_FULL: "stays full by itself",
    reasons.RUNS_THROUGH: "its water runs through",
    reasons.WAITS: "no water for two days",
    reasons.DRY: "dry below its stress point",
    reasons.WATERED: "watered by someone",
    reasons.OWNER: "the owner's press",
    reasons.REBOOTS: "too many starts",
    reasons.NO_SETTINGS: "no settings",
    reasons.DAMAGED: "an installed file differs",
    reasons.RISING: "all pots rise by themselves",
    reasons.WET_TRAY: "water in the tray",
    reasons.WET_DENIED: "said to be empty, and it is wet",
    reasons.TUB_EMPTY: "the tub is empty",
    reasons.TUB_LOW: "the tub is low",
    reasons.TUB_LEAK: "the tub loses water",
    reasons.TUB_STAYS: "the tub loses too little",
    reasons.TUB_FLOAT: "floats in doubt",
    reasons.STRAYS: "a pot rises with another's water",
}
RUNGS = {TENDED: "tended", RATIONED: "rationed", HELD: "held"}
ERRORS = {
    errors.LEDGER: "ledger not written",
    errors.LOG: "log not written",
    errors.CLIMATE: "no climate reading",
    errors.LIGHT: "no light reading",
    errors.BATTERY: "no battery reading",
    errors.SETTINGS: "last good settings run",
    errors.PROBE: "a probe failed",
    errors.PUMP: "a pump's driver failed",
    errors.TRAY_SENSOR: "the tray's sensor is broken or shorted",
    errors.TUB_SENSOR: "the tub's sensor shows what can't be",
    errors.SOIL_SENSOR: "no sound soil temperature",
    errors.CODE: "an installed file differs",
}
FIRST_S = 600
MOST = 8
LATE_S = 3 * 3600


def tell(ev):
    """Lines such as "d3 07:30 mint rationed: dry as air", oldest first."""
    said, lines = set(), []
    rungs, hold, memory, told_errors = {}, 0, 0, 0
    for t_s, head, pots in ev.rows:
        if t_s < FIRST_S:
            continue
        when = day_text(t_s)
        if head["memory"] and not memory:
            lines.append(f"{when} memory lost: day counted as given, tray as full")
        memory = head["memory"]
        if head["hold"] != hold:
            lines.append(f"{when} rig held: {short(head['hold'])}" if head["hold"] else f"{when} rig on again")
            hold = head["hold"]
        fresh = head["errors"] & ~told_errors
        lines += [f"{when} {text}" for bit, text in ERRORS.items() if fresh & bit]
        told_errors |= head["errors"]
        for channel, pot in enumerate(pots):
            lines += _pot(ev, channel, pot, rungs, said, when)
    lines += _queue(ev)
    if not lines and not ev.rows:
        lines = ["no wake but the light's: it waits for settings"]
    if len(lines) > MOST:
        lines = lines[: MOST - 2] + [f"({len(lines) - MOST + 1} more)", lines[-1]]
    return lines or ["went on tending"]


def _pot(ev, channel, pot, rungs, said, when):
    name = ev.name(channel)
    key = (pot["ladder"], pot["reason"] if pot["ladder"] != TENDED else 0)
    before = rungs.get(channel, (TENDED, 0))
    rungs[channel] = key
    if key[0] != before[0]:
        why = f": {short(pot['reason'])}" if pot["reason"] and key[0] != TENDED else ""
        return [f"{when} {name} {RUNGS[key[0]]}{why}"]
    if key[0] == TENDED and pot["reason"] and (channel, pot["reason"]) not in said:
        said.add((channel, pot["reason"]))
        return [f"{when} {name}: {short(pot['reason'])}"]
    return []


def _queue(ev):
    """When what had waited for the broker was sent."""
    late = [(written_s, heard_s) for written_s, heard_s in ev.arrivals() if heard_s - written_s >= LATE_S]
    if not late:
        return []
    return [
        f"{day_text(late[0][1])} the broker gets what waited: {len(late)} records, the oldest {_hours(late[0])} h old; "
        f"all of it by {day_text(late[-1][1])}"
    ]


def _hours(times):
    return round((times[1] - times[0]) / 3600)


def short(reason):
    """A reason of potreeve.logic.reasons in two or three words."""
    return SHORT.get(reason, f"reason {reason}")
