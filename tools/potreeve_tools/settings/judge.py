"""The firmware's judgement of settings, in words: one line per fault, naming key, value and remedy.

`check` is logic.settings.check with its codes put into sentences; nothing is judged here.
"""

from potreeve.logic import extra_keys, radio_keys, starving, tub_keys
from potreeve.logic import settings as logic
from potreeve.logic.state import CHANNELS

INSIST = "or set insist = true, and the board says so for as long as it runs"


def check(data):
    """(checked settings or None, lines of faults)."""
    clean, faults = logic.check(data)
    return clean, [line(fault) for fault in faults]


def insisted(settings):
    """Lines of what checked settings run only because the owner insists."""
    if not settings["insist"]:
        return []
    _, faults = logic.check({**settings, "insist": False})
    return [line(fault).removesuffix("; " + INSIST) for fault in faults]


def line(fault):
    """One fault of logic.settings.check as a sentence."""
    code, where, key, value, *more = fault
    row = rows(where).get(key)
    if code == logic.NO_TABLE:
        return (
            f"{where[:-1]} = {kind(value)}: give a table"
            if where
            else f"settings: give a table of keys, not {kind(value)}"
        )
    if code == logic.CHANNELS_WRONG:
        return f"channels = {kind(value)}: give 1..{CHANNELS} channel tables"
    if code == logic.MISSING:
        return f"{where}{key} is missing: {_allowed(row)}"
    if code == logic.UNKNOWN:
        return f"{where}{_word(key)} = {show(value)}: no such key; known keys: {', '.join(rows(where))}"
    shown = "(secret)" if row and row[1] == logic.SECRET else show(value)
    said = _allowed(row) if code == logic.WRONG else SAID[code].format(*more)
    if code >= starving.STARVES:
        said += "; " + INSIST
    return f"{where}{key} = {shown}: {said}"


ORDERED = "order the points by rising pm, raw all rising or all falling"

SAID = {
    logic.SCHEMA_WRONG: "give {0}",
    logic.SCHEMA_NEW: "this firmware knows up to {0}; flash a newer one",
    logic.SCHEMA_OLD: "too old to bring up; start from a new file",
    logic.CURVE_ORDER: ORDERED,
    logic.STOP_HIGH: "no pump would ever run, as this battery is full at {0} mV; lower it",
    logic.FILL_LOW: "must be at least 50 above the refill point {0}; raise it or allow more depletion",
    logic.HOLDS_MUCH: "a pot of {0} ml can't hold that; give less",
    logic.EXCEEDS: "must not exceed {0} = {1}; lower it",
    logic.PULSE_LONG: "takes {0} ms at pump_ul_s = {1}, over pulse_max_ms = {2}; lower pulse_ml",
    logic.PULSE_FLOODS: "one pulse could bring {0} ml, more than tray_headroom_ml = {1}; lower it",
    logic.CURVE_SHORT: "its ends are {0} counts apart, too near for a spread of {1}; calibrate the probe again",
    radio_keys.NOT_NUMERIC: "give an address in figures, four numbers up to 255 with dots between",
    radio_keys.NOT_PLAIN: "give small letters, digits, - and _ only, the first a letter or a digit; it "
    "names the rig in every topic",
    radio_keys.KEY_SHORT: "too short or not of the right digits; give {0} characters",
    extra_keys.TOO_NEAR: "too near to {0} = {1} for the two to be told apart; measure both again",
    tub_keys.NOT_RISING: "marks rise from below, without a gap, and stay below full_ml = {0}",
    tub_keys.STRIP_WRONG: "give a point for dry and one for each of {0} marks, numbered 0, 1, ..., and {1} counts or "
    "more apart; or measure it again",
    starving.PULSE_UNSEEN: "a pulse lifts this pot by {0} pm, which no probe sees; give {1} ml or more; if a pump or "
    "a small tray keeps it from that, another",
    starving.UNPROVEN_FEW: "so many pulses of {0} pm each are too few for a probe to see; allow more of them, or "
    "pulse_ml of at least {1} ml",
    starving.TOO_LITTLE: "too little for its pots to live on, or for a probe to be sure to see it; give {0} ml or more",
    starving.SOAK_SHORT: "pulses would be judged before their water has spread to the probe; give {0} s or more",
    starving.WILTING_LOW: "no mix lets a plant draw its water as far as that; give {0} or more",
    starving.DEPLETED: "plants on a sill are short of water long before; give {0} or less",
    starving.DRIES_SLOW: "dries too little below pots on feet: what counts as run through would fill it in time; let "
    "the pots stand on its floor and set pots_in_tray = true, or give {0} cm2 or more",
}


def rows(where=""):
    """{key: its row of the schema} of the table at a place ("", "radio.", "tub." or "channels[0].")."""
    if where == "radio.":
        return {row[0]: row for row in radio_keys.KEYS}
    if where[:-1] in extra_keys.TABLES:
        return {row[0]: row for row in extra_keys.TABLES[where[:-1]]}
    return {row[0]: row for row in (logic.CHANNEL_KEYS if where else logic.RIG_KEYS)}


def _allowed(row):
    _, sort, unit, low, high, _ = row
    if sort == logic.INT:
        return f"give a whole number {low}..{high}{' ' + unit if unit else ''}"
    if sort == logic.BOOL:
        return "give true or false"
    if sort in (logic.TEXT, logic.SECRET):
        return f"give {low}..{high} characters of text"
    if sort == logic.CHOICE:
        return "give one of: " + ", ".join(low)
    return f"give {low}..{high} points [raw 0..65535, pm -1000..1000]"


def kind(value):
    """What sort of thing a value is."""
    if isinstance(value, (list, tuple)):
        return f"a list of {len(value)}"
    for sort, word in ((bool, "true or false"), (int, "a number"), (str, "text"), (dict, "a table")):
        if isinstance(value, sort):
            return word
    return "nothing" if value is None else "something else"


def show(value):
    """A value in few characters, whatever it is."""
    try:
        text = repr(value)
    except (RuntimeError, ValueError):
        # Nested too deep, or a number too long to print.
        return kind(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _word(key):
    """A key as a fault shows it: quoted where it would break the line."""
    shown = show(key)
    return key if shown == f"'{key}'" else shown
