"""One schema for the settings file: its keys, units, ranges and defaults.

`check` is the only judge of settings, on the board and on the desktop. It
fills in defaults and returns every fault at once, each as one line that names
the key, the value and the remedy. What the keys mean is in settings_help.py,
which the board never loads.
"""

from potreeve.logic import battery, dosing
from potreeve.logic.state import CHANNELS

SCHEMA = 1

INT = "int"
BOOL = "bool"
TEXT = "text"
SECRET = "secret"  # text that is never shown
CHOICE = "choice"
CURVE = "curve"

REQUIRED = None

# Nothing is condemned before a pot was given this much, in pm of what it holds: a probe may
# see as little as a fifth of it, and that is still dosing.PROOF_FLOOR_PM.
PROOF_WATER_PM = 60

BATTERY_KINDS = ("lithium", "alkaline", "nimh")

# (key, kind, unit, low, high, default); for text and secrets low..high is the length, for a
# choice `low` holds the words, for a curve low..high counts its points.
RIG_KEYS = (
    ("name", TEXT, "", 1, 24, "windowsill"),
    ("wake_s", INT, "s", 600, 7200, 1800),
    ("night_wake_s", INT, "s", 600, 7200, 3600),
    ("soak_s", INT, "s", 300, 7200, 1800),
    ("dark_lx", INT, "lx", 0, 2000, 20),
    ("tray_headroom_ml", INT, "ml", 20, 20000, REQUIRED),
    ("tray_area_cm2", INT, "cm2", 20, 20000, REQUIRED),
    ("tray_dry_um_day", INT, "um/day", 0, 1000, 500),
    ("rig_day_ml", INT, "ml", 5, 5000, 400),
    ("battery_kind", CHOICE, "", BATTERY_KINDS, None, "lithium"),
    ("battery_cells", INT, "", 1, 8, 1),
    ("battery_mah", INT, "mAh", 100, 50000, 2500),
    ("battery_stop_mv", INT, "mV", 1800, 12000, 3200),
    ("battery_reserve_pm", INT, "pm", 10, 500, 80),
    ("beep", BOOL, "", None, None, True),
    ("ack", INT, "", 0, 255, 0),
)

CHANNEL_KEYS = (
    ("name", TEXT, "", 1, 16, REQUIRED),
    ("plant", TEXT, "", 1, 24, "plant"),
    ("pot_ml", INT, "ml", 100, 30000, REQUIRED),
    ("holds_ml", INT, "ml", 30, 20000, REQUIRED),
    ("curve", CURVE, "", 2, 6, ()),
    ("spread_raw", INT, "counts", 0, 6000, 100),
    ("warmth_pm_10c", INT, "pm/10C", -300, 300, 0),
    ("cal_temp_cdeg", INT, "cdeg", -1000, 6000, 2000),
    ("wilting_pm", INT, "pm", 0, 600, 250),
    ("depletion_pm", INT, "pm", 50, 800, 400),
    ("fill_pm", INT, "pm", 500, 1000, 900),
    ("pump_ul_s", INT, "ul/s", 0, 60000, 0),
    ("pump_spread_pm", INT, "pm", 0, 1000, 200),
    ("pump_cal_mv", INT, "mV", 0, 12000, 0),
    ("prime_ms", INT, "ms", 0, 10000, 500),
    ("pulse_ml", INT, "ml", 2, 200, 25),
    ("pulse_max_ms", INT, "ms", 200, 30000, 8000),
    ("dose_ml", INT, "ml", 5, 2000, 150),
    ("day_ml", INT, "ml", 5, 3000, 200),
    ("unproven_max", INT, "", 1, 5, 3),
    ("ration_ml", INT, "ml", 1, 500, 25),
)

# Steps from an older schema to the next: index n takes schema n to n + 1.
# Schema 0 was never released.
MIGRATIONS = ()


def check(data, migrations=MIGRATIONS):
    """Settings as read from a file, made whole: (settings, faults).

    data: what JSON or TOML gave. `settings` is a new dict with every key set
    and is None when `faults` (a list of lines) is not empty.
    """
    if not isinstance(data, dict):
        return None, ["settings: give a table of keys, not %s" % _kind(data)]
    data = dict(data)
    faults = _bring_up(data, migrations)
    if faults:
        return None, faults
    channels = data.pop("channels", None)
    settings = _table(data, RIG_KEYS, "", faults)
    settings["schema"] = SCHEMA
    settings["channels"] = _channels(channels, faults)
    if not faults:
        _contradictions(settings, faults)
    return (None if faults else settings), faults


def _bring_up(data, migrations):
    newest = SCHEMA if migrations is MIGRATIONS else len(migrations)
    schema = data.pop("schema", newest)
    if not _is_int(schema) or schema < 0:
        return ["schema = %s: give %d" % (_show(schema), newest)]
    if schema > newest:
        return ["schema = %s: this firmware knows up to %d; flash a newer one" % (_show(schema), newest)]
    first = newest - len(migrations)
    if schema < first:
        return ["schema = %d: too old to bring up; start from a new file" % schema]
    for step in migrations[schema - first :]:
        step(data)
    return []


def _channels(channels, faults):
    if not isinstance(channels, (list, tuple)) or not 1 <= len(channels) <= CHANNELS:
        faults.append("channels = %s: give 1..%d channel tables" % (_kind(channels), CHANNELS))
        return []
    clean = []
    for index, channel in enumerate(channels):
        where = "channels[%d]." % index
        if not isinstance(channel, dict):
            faults.append("%s = %s: give a table" % (where[:-1], _kind(channel)))
            continue
        clean.append(_table(channel, CHANNEL_KEYS, where, faults))
    return clean


def _table(data, keys, where, faults):
    clean = {}
    for key, kind, unit, low, high, default in keys:
        if key in data:
            value = data[key]
            remedy = _wrong(value, kind, unit, low, high)
            if remedy:
                shown = "(secret)" if kind == SECRET else _show(value)
                faults.append("%s%s = %s: %s" % (where, key, shown, remedy))
            elif kind == CURVE:
                value = [(point[0], point[1]) for point in value]
            clean[key] = value
        elif default is REQUIRED:
            faults.append("%s%s is missing: %s" % (where, key, _wrong(None, kind, unit, low, high)))
        else:
            clean[key] = default
    known = [row[0] for row in keys]
    for key in data:
        if key not in known:
            faults.append(
                "%s%s = %s: no such key; known keys: %s" % (where, _word(key), _show(data[key]), ", ".join(known))
            )
    return clean


def _wrong(value, kind, unit, low, high):
    """The remedy for a value that won't do, or an empty string."""
    if kind == INT:
        if _is_int(value) and low <= value <= high:
            return ""
        return "give a whole number %d..%d%s" % (low, high, " " + unit if unit else "")
    if kind == BOOL:
        return "" if value is True or value is False else "give true or false"
    if kind in (TEXT, SECRET):
        if isinstance(value, str) and low <= len(value) <= high:
            return ""
        return "give %d..%d characters of text" % (low, high)
    if kind == CHOICE:
        return "" if value in low else "give one of: " + ", ".join(low)
    return _wrong_curve(value, low, high)


def _wrong_curve(value, low, high):
    remedy = "give %d..%d points [raw 0..65535, pm -1000..1000]" % (low, high)
    if not isinstance(value, (list, tuple)):
        return remedy
    if len(value) == 0:
        return ""
    if not low <= len(value) <= high:
        return remedy
    for point in value:
        if not isinstance(point, (list, tuple)) or len(point) != 2:
            return remedy
        if not (_is_int(point[0]) and _is_int(point[1])):
            return remedy
        if not (0 <= point[0] <= 65535 and -1000 <= point[1] <= 1000):
            return remedy
    falling = value[0][0] > value[1][0]
    for one, other in zip(value, value[1:]):
        if other[1] <= one[1] or other[0] == one[0] or (other[0] < one[0]) != falling:
            return "order the points by rising pm, raw all rising or all falling"
    return ""


def _contradictions(settings, faults):
    full_mv = battery.full_mv(settings["battery_kind"], settings["battery_cells"])
    if settings["battery_stop_mv"] > full_mv - battery.SAG_SPARE_MV:
        faults.append(
            "battery_stop_mv = %d: no pump would ever run, as this battery is full "
            "at %d mV; lower it" % (settings["battery_stop_mv"], full_mv)
        )
    for index, pot in enumerate(settings["channels"]):
        where = "channels[%d]." % index
        refill = dosing.refill_point_pm(pot)
        if pot["fill_pm"] < refill + 50:
            faults.append(
                "%sfill_pm = %d: must be at least 50 above the refill point %d; raise "
                "it or allow more depletion" % (where, pot["fill_pm"], refill)
            )
        if pot["holds_ml"] >= pot["pot_ml"]:
            faults.append(
                "%sholds_ml = %d: a pot of %d ml can't hold that; give less" % (where, pot["holds_ml"], pot["pot_ml"])
            )
        for small, large in (("pulse_ml", "dose_ml"), ("dose_ml", "day_ml"), ("ration_ml", "day_ml")):
            if pot[small] > pot[large]:
                faults.append(
                    "%s%s = %d: must not exceed %s = %d; lower it" % (where, small, pot[small], large, pot[large])
                )
        _pump_contradictions(where, pot, settings, faults)
        _probe_contradictions(where, pot, faults)


def _pump_contradictions(where, pot, settings, faults):
    if pot["pump_ul_s"] == 0:
        return
    ms = pot["prime_ms"] + pot["pulse_ml"] * 1000000 // pot["pump_ul_s"]
    if ms > pot["pulse_max_ms"]:
        faults.append(
            "%spulse_ml = %d: takes %d ms at pump_ul_s = %d, over "
            "pulse_max_ms = %d; lower pulse_ml" % (where, pot["pulse_ml"], ms, pot["pump_ul_s"], pot["pulse_max_ms"])
        )
    most_ml = dosing.most_ul(pot["pulse_max_ms"], pot) // 1000
    if most_ml > settings["tray_headroom_ml"]:
        faults.append(
            "%spulse_max_ms = %d: one pulse could bring %d ml, more than "
            "tray_headroom_ml = %d; lower it" % (where, pot["pulse_max_ms"], most_ml, settings["tray_headroom_ml"])
        )


def _probe_contradictions(where, pot, faults):
    curve = pot["curve"]
    if not curve:
        return
    span = abs(curve[0][0] - curve[len(curve) - 1][0])
    if span < 10 * pot["spread_raw"] or span < 1000:
        faults.append(
            "%scurve = %s: its ends are %d counts apart, too near for a "
            "spread of %d; calibrate the probe again" % (where, _show(curve), span, pot["spread_raw"])
        )


def _is_int(value):
    return isinstance(value, int) and value is not True and value is not False


def _kind(value):
    for kind, word in (
        (bool, "true or false"),
        (int, "a number"),
        (str, "text"),
        (dict, "a table"),
        ((list, tuple), "a list"),
    ):
        if isinstance(value, kind):
            return word if not isinstance(value, (list, tuple)) else ("a list of %d" % len(value))
    return "nothing" if value is None else "something else"


def _show(value):
    try:
        text = repr(value)
    except (RuntimeError, ValueError):
        # Nested too deep, or a number too long to print.
        return _kind(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _word(key):
    """A key as a fault shows it: quoted where it would break the line."""
    shown = _show(key)
    return key if shown == "'%s'" % key else shown
