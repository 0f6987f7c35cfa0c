"""One schema for the settings file: its keys, units, ranges and defaults.

`check` is the only judge of settings, on the board and on the desktop. It
fills in defaults and returns every fault at once, each as a tuple that begins
with what is wrong (a code below), where, which key, its value. The words for
them, and what the keys mean, are on the desktop alone.
"""

from potreeve.logic import battery, dosing
from potreeve.logic.state import CHANNELS
from potreeve.logic.units import DAY_S, const, div_up

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
# From here on: a plant would starve, sooner or later. An owner may insist.
STARVES = 20
PULSE_UNSEEN = 20
UNPROVEN_FEW = 21
TOO_LITTLE = 22
SOAK_SHORT = 23
WILTING_LOW = 24
DEPLETED = 25
DRIES_SLOW = 26

# Nothing is condemned before a pot was given this much, in pm of what it holds: a probe may
# see as little as a fifth of it, and that is still dosing.PROOF_FLOOR_PM.
PROOF_WATER_PM = 60

# By day a plant drinks so many times its ration's rate: a bright day's twice an ordinary one's, most of it in
# sixteen hours (common practice, no source).
_DAYTIME = const(3)

# A cap must hold so many ordinary days' drink: plants of drawn rigs drank 0.6 to 3.4 times their rations. With the
# rig's cap at twice their sum 2 of 23 such died, at three times none of 24.
BRIGHTEST = 3
_DAY_MOST_ML = const(3000)
_RIG_DAY_MOST_ML = const(5000)

# And such a part of what its plant can draw, whatever ration somebody wrote: a potted plant can use all of it in one or
# two days (Rutgers FS812); a fifth is ours: with caps for a tenth, two of three plants of the reading room died.
_EMPTIES_DAYS = const(5)

# A twentieth of every dose is counted as run through (dosing), and plants of drawn rigs drank 1.65 times their ration.
# Pots on feet never tell that it did not: a tray below them must dry this part of their rations. Of 58 drawn rigs on
# feet 7 lost plants; the trays of six dried less than that.
_ON_ACCOUNT = const(12)

# A ration below this lets its plant go, in ul per cm2 of the pot's top: a third of what one with a Kc of 0.2 drinks,
# the least that a plant file may tell, doubled for a plant alone, at 1.5 mm (common practice, no source).
_LEAST_RATION_UL_CM2 = const(20)

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
    ("rig_day_ml", INT, "ml", 5, _RIG_DAY_MOST_ML, 400),
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
    ("day_ml", INT, "ml", 5, _DAY_MOST_ML, 200),
    ("unproven_max", INT, "", 1, 5, 3),
    ("ration_ml", INT, "ml", 1, 500, 25),
)

# Pulses within unproven_max must lift a pot by twice dosing.PROOF_FLOOR_PM, one of them by half of it.
_SEEN_PM = 2 * dosing.PROOF_FLOOR_PM
_HINT_PM = dosing.PROOF_FLOOR_PM // 2

# A pulse that fills its tube brings this at the least, the smallest pulse there is.
_FIRST_ML = const(2)

# Water needs up to an hour from the drip to a probe (from memory; half an hour to two for a
# whole pot: container capacity is read then); the last pulse waits for two soaks.
_SPREADS_S = const(3600)

# No growing mix lets plants draw it this near to air-dry: about 130 pm for loam composts,
# 280 for peat, 400 for coir (owner.knowledge). FAO-56's p for what grows on sills, at the least demand.
_WILTING_PM = const(100)
_DEPLETION_PM = const(600)

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
        starving = []
        _starving(settings, starving)
        if settings["insist"]:
            settings["insist"] = len(starving) > 0
        else:
            faults += starving
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


def _starving(settings, faults):
    """What can't keep a plant alive: pulses no probe would see, caps below what pots
    need, a refill point below what roots can draw.

    Caps count the most a pump may bring. A cap must hold what thirsty plants drink, by their rations and by what they
    can draw, a pulse for each, and for one pot all the water that must be given before it may be condemned. The tray
    must hold an ordinary day's drink, for a day may pass before it is known that water stayed in the pots, and a third
    more, for in drawn rigs pots over smaller trays fell behind what they drank (common practice, no source). And a dose
    that shows beside what its plant drinks until it has spread.
    """
    drink = brightest = pulses = longest = shown = 0
    for index, pot in enumerate(settings["channels"]):
        where = "channels[%d]." % index
        holds = pot["holds_ml"]
        counted = counted_pm(pot)
        rise = pot["pulse_ml"] * 1000 // holds
        if rise < _HINT_PM:
            faults.append((PULSE_UNSEEN, where, "pulse_ml", pot["pulse_ml"], rise, div_up(_HINT_PM * holds, 1000)))
        elif rise * pot["unproven_max"] < _SEEN_PM:
            faults.append(
                (
                    UNPROVEN_FEW,
                    where,
                    "unproven_max",
                    pot["unproven_max"],
                    rise,
                    div_up(_SEEN_PM * holds, 1000 * pot["unproven_max"]),
                )
            )
        proof = div_up(PROOF_WATER_PM * holds, 1000)
        if pot["dose_ml"] < proof:
            faults.append((TOO_LITTLE, where, "dose_ml", pot["dose_ml"], proof))
        proof = div_up(proof * counted, 1000)
        thirst = _thirst_ml(pot, counted)
        if pot["day_ml"] < thirst:
            faults.append((TOO_LITTLE, where, "day_ml", pot["day_ml"], thirst))
        least = dosing.area_cm2(pot["pot_ml"]) * _LEAST_RATION_UL_CM2 // 1000
        if pot["ration_ml"] < least:
            faults.append((TOO_LITTLE, where, "ration_ml", pot["ration_ml"], least))
        drink += div_up(pot["ration_ml"] * counted, 1000)
        brightest += thirst
        pulses += div_up(pot["pulse_ml"] * counted, 1000)
        longest = proof if proof > longest else longest
        # A probe that sees half of a rise is to see the least that counts beside what the plant drinks meanwhile,
        # and a third of that more, for a plant outgrows its ration (common practice, no source).
        hides = _DAYTIME * pot["ration_ml"] * dosing.spread_s(pot) // DAY_S
        show = div_up((2 * dosing.PROOF_FLOOR_PM * holds // 1000 + hides * 13 // 5) * counted, 1000)
        shown = show if show > shown else shown
        if pot["wilting_pm"] < _WILTING_PM:
            faults.append((WILTING_LOW, where, "wilting_pm", pot["wilting_pm"], _WILTING_PM))
        if pot["depletion_pm"] > _DEPLETION_PM:
            faults.append((DEPLETED, where, "depletion_pm", pot["depletion_pm"], _DEPLETION_PM))
    soaks = 1 + min([pot["unproven_max"] for pot in settings["channels"]])
    if settings["soak_s"] * soaks < _SPREADS_S:
        faults.append((SOAK_SHORT, "", "soak_s", settings["soak_s"], div_up(_SPREADS_S, soaks)))
    rig = max(min(brightest, _RIG_DAY_MOST_ML), pulses)
    for key, least in (("rig_day_ml", rig), ("tray_headroom_ml", max(pulses, longest, shown, drink * 4 // 3))):
        if settings[key] < least:
            faults.append((TOO_LITTLE, "", key, settings[key], least))
    _dries_slowly(settings, faults)


def _dries_slowly(settings, faults):
    """A tray below feet that dries less than is put on its account. One that never dries is emptied by somebody."""
    um_day = settings["tray_dry_um_day"]
    if settings["pots_in_tray"] or not um_day:
        return
    charged_ul = 1000 * sum([pot["ration_ml"] for pot in settings["channels"]]) // _ON_ACCOUNT
    # um over cm2 are tenths of a microlitre.
    least = div_up(charged_ul * 10, um_day)
    if settings["tray_area_cm2"] < least:
        faults.append((DRIES_SLOW, "", "tray_area_cm2", settings["tray_area_cm2"], least))


def _thirst_ml(pot, counted):
    """What a thirsty plant may need in a day, as caps count it, in ml: more than the water a probe must have seen, for
    no plant can draw less than two fifths of what its pot holds."""
    drawable_ml = pot["holds_ml"] * (1000 - pot["wilting_pm"]) // 1000
    need_ml = max(BRIGHTEST * pot["ration_ml"], drawable_ml // _EMPTIES_DAYS)
    return min(need_ml * counted // 1000, _DAY_MOST_ML)


def counted_pm(pot):
    """What caps count for a pulse, in pm of what it is to bring: its tube taken as full, its pump as fast as may be."""
    if not pot["pump_ul_s"]:
        return 1000 + pot["pump_spread_pm"]
    ms = dosing.day_prime_ms(pot) + pot["pulse_ml"] * 1000000 // pot["pump_ul_s"]
    return dosing.most_ul(ms, pot) // pot["pulse_ml"]


def _is_int(value):
    return isinstance(value, int) and value is not True and value is not False
