"""What asks for a person, and how loudly, by the firmware's own levels: what the README's table is made of."""

from potreeve.logic import errors, reasons, signals, tub_guard
from potreeve.logic.state import HELD, RATIONED, TENDED

_DAYS = signals.BATTERY_CALL_DAYS + 1
_TUB_DAYS = tub_guard.CALL_DAYS + 1

# (rung, reasons, what is said of such a pot)
POTS = (
    (TENDED, (reasons.NONE,), "pots that are tended"),
    (TENDED, (reasons.POT_DAY, reasons.RIG_DAY), "a day's water used up, for pot or rig"),
    (TENDED, (reasons.WATERED,), "a pot that somebody watered"),
    (TENDED, (reasons.TRAY,), "a pot that waits for room in the tray"),
    (
        RATIONED,
        (
            reasons.BROKEN,
            reasons.SHORTED,
            reasons.NOISY,
            reasons.OUTSIDE,
            reasons.STILL,
            reasons.OUT_OF_SOIL,
            reasons.FELL,
            reasons.NOT_FALLING,
        ),
        "a pot rationed, whose probe can't be believed",
    ),
    (
        HELD,
        (reasons.NO_RISE, reasons.RUNS_ON, reasons.CROSSED, reasons.TOO_WET, reasons.NOT_CALIBRATED),
        "a pot held: its water did not show, more came than was given, it stands too wet, or nobody calibrated it",
    ),
    (TENDED, (reasons.DRY,), "a pot dry for six hours"),
    (TENDED, (reasons.DRIFTS,), "one that asks for ever less"),
    (TENDED, (reasons.KEPT_FULL,), "one kept full by water that nobody gave"),
    (TENDED, (reasons.RUNS_THROUGH,), "one whose water runs through"),
    (TENDED, (reasons.WAITS,), "one that is due and got none for two days"),
    (TENDED, (reasons.BATTERY,), "a battery too low to pump"),
)

# (reasons that hold the whole rig, what is said of it)
RIG = (
    ((reasons.OWNER,), "a rig held by its owner"),
    ((reasons.REBOOTS,), "a rig that started over too often"),
    ((reasons.DAMAGED,), "an installed file that is not as it was"),
    ((reasons.STRAYS, reasons.RISING), "pots that rise with nothing given"),
    ((reasons.WET_TRAY, reasons.WET_DENIED), "water at the tray's sensor"),
    ((reasons.TUB_EMPTY,), "an empty tub"),
)

# (notes of a tub with a sensor, days of water left, what is said of it)
TUB = (
    ((reasons.TUB_LOW, reasons.TUB_STAYS, reasons.TUB_FLOAT), _TUB_DAYS, "a float or a level in the tub to look at"),
    ((reasons.TUB_LOW,), tub_guard.CALL_DAYS, f"water for {tub_guard.CALL_DAYS} days or less in the tub"),
    ((reasons.TUB_LEAK,), _TUB_DAYS, "a tub that leaks"),
)

# (bits of what failed, what is said of it). What comes of two more is told by a pot or the rig: a battery that can't be
# read by its pots, a file that is not as it was by the hold.
FAULTS = (
    ((errors.RADIO,), "a report that could not be sent"),
    (
        (errors.CLIMATE, errors.LIGHT, errors.PROBE, errors.PUMP, errors.CLOCK, errors.PANEL),
        "a device that does not answer",
    ),
    ((errors.TRAY_SENSOR, errors.TUB_SENSOR, errors.SOIL_SENSOR), "a sensor in tray, tub or soil at fault"),
    ((errors.SETTINGS,), "older settings that run, for the newest did not pass"),
    ((errors.LOG, errors.NOT_KEPT), "a record, or what came of a wake, that could not be kept"),
    ((errors.LEDGER,), "a ledger that can't be written"),
)


def asks():
    """[(level, what asks)], by the firmware's functions. Raises ValueError where a row mixes levels."""
    found = [(_one({signals.pot_level(rung, code) for code in codes}), what) for rung, codes, what in POTS]
    found += [(_one({signals.rig_level(code, 0, 0, _DAYS) for code in codes}), what) for codes, what in RIG]
    found += [(_one({tub_guard.level(code, days) for code in codes}), what) for codes, days, what in TUB]
    found += [(_one({signals.rig_level(0, 0, bit, _DAYS) for bit in bits}), what) for bits, what in FAULTS]
    found.append((signals.rig_level(0, 1, 0, _DAYS), "memory that was lost"))
    # These two are decided where settings are: cycle._alarm, app.
    found.append((signals.NOTE, "settings that somebody insisted on"))
    found.append((signals.CALL, "no settings that pass"))
    week = signals.BATTERY_CALL_DAYS
    found.append((signals.rig_level(0, 0, 0, week), f"a battery for {week} days or less"))
    return found


def _one(levels):
    (level,) = levels
    return level


NAMES = {signals.CALM: "calm", signals.NOTE: "note", signals.CALL: "**call**"}
DO = {signals.CALM: "nothing", signals.NOTE: "see to it when you pass", signals.CALL: "look today"}


def table():
    """The table as lines of Markdown."""
    lines = ["| it | because of | lights, at each look | buzzer | you |", "| --- | --- | --- | --- | --- |"]
    for level in (signals.CALM, signals.NOTE, signals.CALL):
        ok, warning, beep_ms, flash_ms = signals.show(level, True, False)
        lights = " and ".join(name for name, lit in (("green", ok), ("yellow", warning)) if lit)
        beep = f"{beep_ms / 1000:g} s, by day, unless `beep = false`" if beep_ms else "silent"
        what = "; ".join(said for one, said in asks() if one == level)
        lines.append(f"| {NAMES[level]} | {what} | {lights}, {flash_ms / 1000:g} s | {beep} | {DO[level]} |")
    return lines
