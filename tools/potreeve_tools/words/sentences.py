"""Sentences for the numbers of potreeve.logic.reasons, each with what to do.

The board knows only the numbers; whatever a person reads comes from here.
"""

from potreeve.logic import errors, reasons, record, state

RUNGS = {state.TENDED: "tended", state.RATIONED: "rationed", state.HELD: "held"}

WHY = {
    reasons.BROKEN: (
        "the probe's reading stands at the upper rail: its wire is broken or unplugged",
        "check plug and cable of the probe",
    ),
    reasons.SHORTED: (
        "the probe's reading stands at the lower rail: it is shorted or gives no pulses",
        "check plug and cable of the probe for damp and short circuits",
    ),
    reasons.NOISY: (
        "the samples of one reading lie far apart: a loose contact or a disturbed supply",
        "fasten the probe's contacts; lead its cable away from the pump's",
    ),
    reasons.OUTSIDE: (
        "the reading is beyond anything this probe's calibration allows",
        "see that the probe is seated well, then calibrate it again",
    ),
    reasons.STILL: (
        "the reading has not moved by one count for many wakes: the probe or its wire is stuck",
        "unplug the probe and plug it in again; replace it if that does not help",
    ),
    reasons.OUT_OF_SOIL: (
        "the probe reads as dry as air: it is out of the soil, or stands in a gap",
        "push the probe back into the substrate and press the soil to it",
    ),
    reasons.FELL: (
        "the reading fell faster than any plant drinks: the probe may lean or stand in a gap",
        "see that the probe stands firm in the substrate",
    ),
    reasons.NOT_FALLING: (
        "the reading stayed wet through days of thirst: the probe sees water that the plant does not",
        "look whether the pot is really wet; dry and reseat the probe",
    ),
    reasons.DRIFTS: (
        "it asks for far less water than the days explain: the probe reads ever wetter, or the plant drinks no more",
        "feel the soil; clean and reseat the probe, or calibrate it again; then press the button",
    ),
    reasons.NO_RISE: (
        "pulse after pulse did not raise the moisture",
        "check the reservoir, the tube and where its end lies; then press the button",
    ),
    reasons.RUNS_ON: (
        "the moisture rises with nothing given, or far beyond the dose: a siphon, a pump that does not stop, "
        "or a tube in the wrong pot",
        "look at tube and pump now; empty the tray; then press the button",
    ),
    reasons.CROSSED: (
        "its water raised another pot instead: the tubes are crossed",
        "put each tube into its own pot, then press the button",
    ),
    reasons.TOO_WET: (
        "it stands above container capacity for half a day or more",
        "let it drain; empty the tray if the pot stands in water; it returns by itself",
    ),
    reasons.NOT_CALIBRATED: ("its probe or its pump has never been calibrated", "calibrate both; it returns by itself"),
    reasons.POT_DAY: (
        "this pot's water for a day is used up, or counts as used up after a start without memory; it waits",
        "nothing; raise day_ml if it happens often",
    ),
    reasons.RIG_DAY: (
        "the whole rig's water for a day is used up, or counts as used up after a start without memory; it waits",
        "nothing; raise rig_day_ml if it happens often and the tray can take it",
    ),
    reasons.TRAY: (
        "the tray may have no room left for what could run through, so no water is given",
        "empty the tray, then hold the button for two seconds, twice",
    ),
    reasons.BATTERY: ("the battery is too low to run a pump and to record it", "change or charge the battery"),
    reasons.KEPT_FULL: (
        "it stays wet, or stands ever fuller, though its plant drinks and nothing was given: water comes from the tray "
        "or its tube",
        "feel the soil, for its probe may be stuck; empty the tray; see that the tube's end hangs free and higher than "
        "the tub's water; then press the button",
    ),
    reasons.RUNS_THROUGH: (
        "less than half of its water stays in it: it runs through into the tray, or the probe reads ever drier",
        "look into the tray and empty it; see that the tube's end lies over the soil; then calibrate the probe again",
    ),
    reasons.WAITS: (
        "it has been due for water, and got none for two days: the tray may have no room, or a cap is used up",
        "feel the soil and water it by hand; empty the tray, then hold the button for two seconds, twice; look at the "
        "caps in its settings",
    ),
    reasons.DRY: (
        "it has stood below its stress point for six hours or longer, and the plant suffers",
        "water it by hand now; then look at tub, tube and pump, at the caps in its settings, and into the tray: if "
        "that is empty, hold the button for two seconds, twice, for it may wait for room there",
    ),
    reasons.WATERED: ("someone else watered it; that is taken into account", "nothing"),
    reasons.OWNER: (
        "held by a long press of the button",
        "hold the button again to go on; it ends by itself within a day",
    ),
    reasons.REBOOTS: (
        "it started over too often and waits for calm",
        "check the battery and its contacts, then press the button",
    ),
    reasons.STRAYS: (
        "one pot rises whenever another is watered: a pump that runs along, or a tube in the wrong pot",
        "look at pumps and tubes; empty the tray; then press the button; it tries again after a day",
    ),
    reasons.RISING: (
        "several pots rise at once with nothing given: water stands in the tray, or a siphon runs",
        "look at the tray and the tubes now; empty the tray; then hold the button for two seconds, twice",
    ),
    reasons.WET_TRAY: (
        "the tray's sensor feels water: something runs or ran where it should not",
        "look at tray, tubes and tub now; empty and dry the tray and the sensor; it goes on by itself once it is dry",
    ),
    reasons.WET_DENIED: (
        "somebody pressed that the tray is empty, but its sensor feels water",
        "empty the tray, dry the sensor, then hold the button for two seconds, twice",
    ),
    reasons.TUB_EMPTY: (
        "the tub is empty by its lowest float, so no pump is run; once a day one pot is tried, as the float may stick",
        "fill the tub; it goes on by itself",
    ),
    reasons.TUB_LOW: ("the tub's water lasts for a week or less", "fill the tub"),
    reasons.TUB_LEAK: (
        "more water went from the tub than pumps and air can have taken: it leaks, a siphon runs, somebody took some, "
        "or it was not filled to the brim",
        "look under the tub, at the tubes and into the tray; then press the button",
    ),
    reasons.TUB_STAYS: (
        "a float is still up although the pumps must have taken the water from under it: it sticks, pumps or tubes "
        "bring less than they did, or somebody added water",
        "see that the float moves and that each tube brings water; press the button if it was filled up",
    ),
    reasons.TUB_FLOAT: (
        "a float in the tub can't be believed: it stays down although water came, or floats contradict each other",
        "see that the floats move freely; check their wires",
    ),
    reasons.NO_SETTINGS: ("there are no settings that pass the check, old or new", "push settings that pass"),
    reasons.DAMAGED: ("an installed file differs from its manifest", "flash the board again"),
}

MEMORY = (
    "the board's memory of what it gave is lost: it counts the day's water as given and the tray as full",
    "empty the tray, then hold the button for two seconds, twice",
)

ERRORS = {
    errors.LEDGER: ("the ledger could not be written, so no pump was run", "look at the board's file system"),
    errors.LOG: ("a record could not be written to the log", "pull the log and free space on the board"),
    errors.CLIMATE: ("the climate sensor does not answer; an ordinary day is assumed", "check the sensor's wires"),
    errors.LIGHT: ("the light sensor does not answer", "check the sensor's wires"),
    errors.BATTERY: ("the battery's voltage can't be read, so no pump is run", "check the battery's divider"),
    errors.SETTINGS: ("the settings file could not be used; the last good one is in force", "push the settings again"),
    errors.PROBE: ("a probe could not be read", "check the probes' wires"),
    errors.PUMP: ("a pump's driver failed in mid-pulse; the pulse counts in full", "check pump and driver"),
    errors.CLOCK: ("the clock does not answer", "check the clock's wires and its cell"),
    errors.PANEL: ("button, lights, buzzer or display do not answer", "check the panel's wires"),
    errors.RADIO: ("a report could not be sent", "nothing unless it happens often"),
    errors.CODE: ("an installed file differs from its manifest", "flash the board again"),
    errors.TRAY_SENSOR: (
        "the tray's sensor reads as no water and no dry wire does: its wire is broken or shorted",
        "check the sensor's wires and contacts; until then the tray is watched by reckoning alone",
    ),
    errors.TUB_SENSOR: ("the tub's sensor shows what can't be", "check its floats and wires"),
    errors.SOIL_SENSOR: (
        "the soil's thermometer does not answer, or not soundly; probes are corrected by the air's temperature",
        "check its three wires and the 4.7 k at its data wire",
    ),
    errors.NOT_KEPT: ("what came of this wake could not be stored in the ledger", "look at the board's file system"),
}


def why(reason):
    """Return (what, what to do) of a reason, also of one this version does not know."""
    return WHY.get(reason, (f"for a reason this version does not know (number {reason})", "update the tool"))


def tub(days, mark):
    """What a rig knows of its tub: tub_days and tub_mark of a record. "" where it has no sensor there."""
    if mark == record.TUB_NONE:
        return ""
    level = "its sensor shows what can't be" if mark == record.TUB_ODD else _floats(mark - 1)
    if days == record.NO_TUB_DAYS:
        return f"days not known, {level}"
    return f"water for {days} day{'' if days == 1 else 's'}, {level}"


def _floats(up):
    return "no mark reached" if not up else f"{up} mark{'' if up == 1 else 's'} reached"


def refused(told, cup=False):
    """(what, what to do) of a pulse that did not run; cup: it was meant for a cup, which a press of the button
    allows."""
    reason = told["reason"]
    if reason == reasons.NOT_CALIBRATED:
        return (
            "this pump was never measured, so the board runs it only into a cup",
            "run potreeve calibrate pump, and press the board's button once before each run",
        )
    if reason < 0:
        return ERRORS.get(-reason, ("the board could not store what it was about to do", "look at its file system"))
    if reason in (reasons.POT_DAY, reasons.RIG_DAY):
        return (
            "its water for a day is used up, or counts as used up after a start without memory",
            "press the board's button once and try again" if cup else "potreeve status says until when",
        )
    if reason == reasons.TRAY and cup:
        return "the tray may have no room left", "press the board's button once and try again"
    return why(reason)
