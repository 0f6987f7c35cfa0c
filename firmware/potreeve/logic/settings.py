"""One schema for the settings file: its keys, units, ranges and defaults.

`check` is the only judge of settings, on the board and on the desktop. It
fills in defaults and returns every fault at once, each as a tuple that begins
with what is wrong (a code below), where, which key, its value. The words for
them, and what the keys mean, are on the desktop alone.
"""

from potreeve.logic import battery, dosing, starving
from potreeve.logic.state import CHANNELS
from potreeve.logic.units import const

SCHEMA = 1

INT = "int"
BOOL = "bool"
TEXT = "text"
SECRET = "secret"  # text that is never shown
CHOICE = "choice"
CURVE = "curve"

REQUIRED = None

# What is wrong; after it: place ("" or "channels[0]."), key, value, and what the words need.
NO_TABLE = 1
SCHEMA_WRONG = 2
SCHEMA_NEW = 3
SCHEMA_OLD = 4
CHANNELS_WRONG = 5
WRONG = 6
CURVE_ORDER = 7
MISSING = 8
UNKNOWN = 9
STOP_HIGH = 10
FILL_LOW = 11
HOLDS_MUCH = 12
EXCEEDS = 13
PULSE_LONG = 14
PULSE_FLOODS = 15
CURVE_SHORT = 16

# Tables of their own, where there are any; see extra_keys.py.
EXTRAS = ("tray_sensor", "tub")

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
    ("pots_in_tray", BOOL, "", None, None, False),
    ("rig_day_ml", INT, "ml", 5, starving.RIG_DAY_MOST_ML, 400),
    ("battery_kind", CHOICE, "", BATTERY_KINDS, None, "lithium"),
    ("battery_cells", INT, "", 1, 8, 1),
    ("battery_mah", INT, "mAh", 100, 50000, 2500),
    ("battery_stop_mv", INT, "mV", 1800, 12000, 3200),
    ("battery_reserve_pm", INT, "pm", 10, 500, 80),
    ("beep", BOOL, "", None, None, True),
    ("ack", INT, "", 0, 255, 0),
    ("insist", BOOL, "", None, None, False),
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
    ("prime_ms", INT, "ms", 0, 20000, 500),
    ("tube_full_h", INT, "h", 0, 720, 0),
    ("pulse_ml", INT, "ml", 2, 200, 25),
    ("pulse_max_ms", INT, "ms", 200, 30000, 8000),
    ("dose_ml", INT, "ml", 5, 2000, 150),
    ("day_ml", INT, "ml", 5, starving.DAY_MOST_ML, 200),
    ("unproven_max", INT, "", 1, 5, 3),
    ("ration_ml", INT, "ml", 1, 500, 25),
)

# A pulse that fills its tube brings this at the least, the smallest pulse there is.
_FIRST_ML = const(2)

# Steps from an older schema to the next: index n takes schema n to n + 1.
# Schema 0 was never released.
MIGRATIONS = ()


def check(data, migrations=MIGRATIONS):
    """Settings as read from a file, made whole: (settings, faults).

    data: what JSON or TOML gave. `settings` is a new dict with every key set
    and is None when `faults` is not empty. Its `insist` is True only where it
    lets something run under which a plant must starve.
    """
    if not isinstance(data, dict):
        return None, [(NO_TABLE, "", "settings", data)]
    data = dict(data)
    faults = _bring_up(data, migrations)
    if faults:
        return None, faults
    channels = data.pop("channels", None)
    radio = data.pop("radio", None)
    extras = [(name, data.pop(name)) for name in EXTRAS if name in data]
    settings = _table(data, RIG_KEYS, "", faults)
    if radio is not None:
        try:
            from potreeve.logic import radio_keys

            settings["radio"] = radio_keys.check(radio, _table, faults)
        except ImportError:
            # A board that was sent no radio.
            pass
    for name, table in extras:
        try:
            from potreeve.logic import extra_keys

            settings[name] = extra_keys.check(name, table, _table, faults)
        except ImportError:
            # A board without such parts.
            pass
    settings["schema"] = SCHEMA
    settings["channels"] = _channels(channels, faults)
    if not faults:
        _contradictions(settings, faults)
        found = starving.check(settings)
        if settings["insist"]:
            settings["insist"] = len(found) > 0
        else:
            faults += found
    return (None if faults else settings), faults


def _bring_up(data, migrations):
    newest = SCHEMA if migrations is MIGRATIONS else len(migrations)
    schema = data.pop("schema", newest)
    if not _is_int(schema) or schema < 0:
        return [(SCHEMA_WRONG, "", "schema", schema, newest)]
    if schema > newest:
        return [(SCHEMA_NEW, "", "schema", schema, newest)]
    first = newest - len(migrations)
    if schema < first:
        return [(SCHEMA_OLD, "", "schema", schema)]
    for step in migrations[schema - first :]:
        step(data)
    return []


def _channels(channels, faults):
    if not isinstance(channels, (list, tuple)) or not 1 <= len(channels) <= CHANNELS:
        faults.append((CHANNELS_WRONG, "", "channels", channels))
        return []
    clean = []
    for index, channel in enumerate(channels):
        where = "channels[%d]." % index
        if not isinstance(channel, dict):
            faults.append((NO_TABLE, where, "", channel))
            continue
        clean.append(_table(channel, CHANNEL_KEYS, where, faults))
    return clean


def _table(data, keys, where, faults):
    clean = {}
    for key, kind, _, low, high, default in keys:
        if key in data:
            value = data[key]
            wrong = _wrong(value, kind, low, high)
            if wrong:
                faults.append((wrong, where, key, value))
            elif kind == CURVE:
                value = [(point[0], point[1]) for point in value]
            clean[key] = value
        elif default is REQUIRED:
            faults.append((MISSING, where, key, None))
        else:
            clean[key] = default
    known = [row[0] for row in keys]
    for key in data:
        if key not in known:
            faults.append((UNKNOWN, where, key, data[key]))
    return clean


def _wrong(value, kind, low, high):
    """What is wrong with a value seen alone, 0 if nothing."""
    if kind == INT:
        right = _is_int(value) and low <= value <= high
    elif kind == BOOL:
        right = value is True or value is False
    elif kind in (TEXT, SECRET):
        right = isinstance(value, str) and low <= len(value) <= high
    elif kind == CHOICE:
        right = value in low
    else:
        return _wrong_curve(value, low, high)
    return 0 if right else WRONG


def _wrong_curve(value, low, high):
    if not isinstance(value, (list, tuple)):
        return WRONG
    if len(value) == 0:
        return 0
    if not low <= len(value) <= high:
        return WRONG
    for point in value:
        if not isinstance(point, (list, tuple)) or len(point) != 2:
            return WRONG
        if not (_is_int(point[0]) and _is_int(point[1])):
            return WRONG
        if not (0 <= point[0] <= 65535 and -1000 <= point[1] <= 1000):
            return WRONG
    falling = value[0][0] > value[1][0]
    for one, other in zip(value, value[1:]):
        if other[1] <= one[1] or other[0] == one[0] or (other[0] < one[0]) != falling:
            return CURVE_ORDER
    return 0


def _contradictions(settings, faults):
    full_mv = battery.full_mv(settings["battery_kind"], settings["battery_cells"])
    if settings["battery_stop_mv"] > full_mv - battery.SAG_SPARE_MV:
        faults.append((STOP_HIGH, "", "battery_stop_mv", settings["battery_stop_mv"], full_mv))
    for index, pot in enumerate(settings["channels"]):
        where = "channels[%d]." % index
        refill = dosing.refill_point_pm(pot)
        if pot["fill_pm"] < refill + 50:
            faults.append((FILL_LOW, where, "fill_pm", pot["fill_pm"], refill))
        if pot["holds_ml"] >= pot["pot_ml"]:
            faults.append((HOLDS_MUCH, where, "holds_ml", pot["holds_ml"], pot["pot_ml"]))
        for small, large in (("pulse_ml", "dose_ml"), ("dose_ml", "day_ml"), ("ration_ml", "day_ml")):
            if pot[small] > pot[large]:
                faults.append((EXCEEDS, where, small, pot[small], large, pot[large]))
        _pump_contradictions(where, pot, settings, faults)
        _probe_contradictions(where, pot, faults)


def _pump_contradictions(where, pot, settings, faults):
    if pot["pump_ul_s"] == 0:
        return
    least_ms = pot["prime_ms"] + _FIRST_ML * 1000000 // pot["pump_ul_s"]
    ms = max(least_ms, dosing.day_prime_ms(pot) + pot["pulse_ml"] * 1000000 // pot["pump_ul_s"])
    if ms > pot["pulse_max_ms"]:
        faults.append((PULSE_LONG, where, "pulse_ml", pot["pulse_ml"], ms, pot["pump_ul_s"], pot["pulse_max_ms"]))
    most_ml = dosing.most_ul(pot["pulse_max_ms"], pot) // 1000
    if most_ml > settings["tray_headroom_ml"]:
        faults.append((PULSE_FLOODS, where, "pulse_max_ms", pot["pulse_max_ms"], most_ml, settings["tray_headroom_ml"]))


def _probe_contradictions(where, pot, faults):
    curve = pot["curve"]
    if not curve:
        return
    span = abs(curve[0][0] - curve[len(curve) - 1][0])
    if span < 10 * pot["spread_raw"] or span < 1000:
        faults.append((CURVE_SHORT, where, "curve", curve, span, pot["spread_raw"]))


def _is_int(value):
    return isinstance(value, int) and value is not True and value is not False
