"""How full the battery is, how many days it lasts, and whether it can pump.

Lithium and alkaline cells show their charge in their resting voltage; nickel
cells don't (a flat plateau near 1.2 V), so theirs is counted from full.
"""

from potreeve.logic.units import between, clamp, const, div_up, ease

# Open-circuit mV per cell against charge in pm. Lithium: the open-circuit curve
# of PyBaMM's Chen2020 cell, rounded to mV. Alkaline: 1.6 V fresh, 1.25 V about
# half, 1.0 V nearly empty at light load (battery makers' FAQ, coarse); the points
# between are from memory. Nickel, from memory of makers' curves: only its lower end is used.
_LITHIUM = (
    (2500, 0),
    (3109, 50),
    (3296, 100),
    (3485, 200),
    (3581, 300),
    (3667, 400),
    (3751, 500),
    (3841, 600),
    (3948, 700),
    (4042, 800),
    (4097, 900),
    (4200, 1000),
)
_ALKALINE = (
    (900, 0),
    (1000, 50),
    (1100, 200),
    (1180, 350),
    (1250, 500),
    (1330, 650),
    (1420, 800),
    (1500, 930),
    (1600, 1000),
)
_NIMH = ((1000, 0), (1100, 50), (1160, 100), (1200, 200), (1300, 950), (1400, 1000))

CURVES = {"lithium": _LITHIUM, "alkaline": _ALKALINE, "nimh": _NIMH}

# A nickel cell below this at rest is nearly empty whatever was counted; a rise
# of this much since the last wake is a new or freshly charged battery.
_NIMH_FLAT_MV = const(1200)
_SWAP_RISE_MV = const(150)

MOST_DAYS = 999

# What a pack loses by itself, in pm of its capacity a year. Lithium: 1-2 % a month and 3 % for the protection
# circuit; nickel of the low-loss kind 15 % a year (a battery maker's FAQ), twice as much 10 degrees warmer (a textbook
# of batteries): 20 at the 25 degC of a sill. Alkaline: 2 % at 21 degC, 5 % at 29 (a battery FAQ): 3 there.
LEAK_PM_YEAR = {"lithium": 540, "alkaline": 30, "nimh": 200}

# How much more a cell resists when flat, in pm of fresh. Alkaline: 0.15-0.3 ohm fresh, 1 ohm flat; the others from
# memory.
GROWTH_PM = {"lithium": 1500, "alkaline": 3400, "nimh": 1000}

# Days by which the two averages of use lag behind; how far ahead their trend is carried on (common practice, no
# source).
LATE_DAYS = 8
PAST_DAYS = 32
_FORESEEN_DAYS = const(60)

# So much charge must be gone before what the voltage says of it weighs as much as what was counted (common practice, no
# source).
_DOUBT_PM = const(500)

# Headroom kept under a pump on top of the learned sag (contacts, cold; common practice,
# no source).
SAG_SPARE_MV = 100


def _along(curve, value, at):
    """The other column of a curve where its column `at` holds `value`; beyond its ends, its end."""
    before = curve[0]
    for point in curve:
        if value <= point[at]:
            if point is before:
                break
            return between(value, before[at], before[1 - at], point[at], point[1 - at])
        before = point
    return before[1 - at]


def by_voltage_pm(rest_mv, kind, cells):
    """State of charge in pm from the resting voltage of a pack."""
    return _along(CURVES[kind], rest_mv // cells, 0)


def full_mv(kind, cells):
    """Resting voltage of a full pack, in mV."""
    curve = CURVES[kind]
    return curve[len(curve) - 1][0] * cells


def charge_pm(rest_mv, used_uah, settings):
    """State of charge in pm: by voltage, or counted for nickel cells.

    rest_mv: pack at rest, 0 unknown (then counted); used_uah: since fresh.
    """
    kind = settings["battery_kind"]
    cells = settings["battery_cells"]
    counted = clamp(1000 - used_uah // settings["battery_mah"], 0, 1000)
    if rest_mv <= 0:
        return counted
    if kind != "nimh":
        return by_voltage_pm(rest_mv, kind, cells)
    if rest_mv // cells < _NIMH_FLAT_MV:
        told = by_voltage_pm(rest_mv, kind, cells)
        return told if told < counted else counted
    return counted


def swapped(before_mv, now_mv, cells):
    """True when the pack's resting voltage rose as only another pack's can."""
    return before_mv > 0 and now_mv - before_mv >= _SWAP_RISE_MV * cells


def leak_uah_day(settings):
    """What the pack loses by itself in a day, in uAh."""
    return settings["battery_mah"] * LEAK_PM_YEAR[settings["battery_kind"]] // 365


def since_full_uah(soc_pm, settings):
    """Where to count a pack's charge from that was just put in: nickel cells are taken as full."""
    if settings["battery_kind"] == "nimh":
        return 0
    return (1000 - soc_pm) * settings["battery_mah"]


def really_uah(counted_uah, soc_pm, used_uah, settings):
    """What really left the pack while so much was counted.

    The voltage says how much is gone, of which used_uah was counted: pumps draw more than
    they are said to, old cells hold less. Nickel cells show nothing, and are believed.
    """
    if settings["battery_kind"] == "nimh":
        return counted_uah
    doubt_uah = _DOUBT_PM * settings["battery_mah"]
    gone_uah = since_full_uah(soc_pm, settings) + doubt_uah
    share = clamp(gone_uah // div_up(used_uah + doubt_uah, 256), 256, 1024)
    return counted_uah * share // 256


def _sag_at(sag_mv, soc_pm, at_pm, kind):
    """The sag at a charge of at_pm of a pack that sags by sag_mv at soc_pm."""
    now, then = [1000 + GROWTH_PM[kind] * (1000 - pm) // 1000 * (1000 - pm) // 1000 for pm in (soc_pm, at_pm)]
    return sag_mv * then // now


def refused_pm(soc_pm, sag_mv, settings):
    """The charge, not above soc_pm, at which pumps will be refused."""
    kind = settings["battery_kind"]
    low_pm = settings["battery_reserve_pm"] - 1
    high_pm = soc_pm
    while high_pm - low_pm > 1:
        pm = (low_pm + high_pm) // 2
        rest_mv = _along(CURVES[kind], pm, 1) * settings["battery_cells"]
        if can_pump(rest_mv, _sag_at(sag_mv, soc_pm, pm, kind), pm, settings):
            high_pm = pm
        else:
            low_pm = pm
    return high_pm


def days_left(soc_pm, sag_mv, usage, settings):
    """Whole days until the pumps are refused.

    usage: (uAh a day of late, uAh a day of the longer past), 0 not known. Plants go on growing
    as they did, to half as much again; a lull is not counted on. MOST_DAYS when the use is not known yet or the
    end lies further off.
    """
    late_uah, past_uah = usage
    spare_uah = settings["battery_mah"] * (soc_pm - refused_pm(soc_pm, sag_mv, settings))
    if spare_uah <= 0:
        return 0
    if late_uah <= 0:
        return MOST_DAYS
    days = spare_uah // late_uah
    for _ in range(3):
        ahead = clamp(days, 0, _FORESEEN_DAYS) // 2
        more_uah = (late_uah - past_uah) * ahead // (PAST_DAYS - LATE_DAYS)
        days = spare_uah // (late_uah + clamp(more_uah, 0, late_uah // 2))
    return clamp(days, 0, MOST_DAYS)


def learn_sag(known_mv, rest_mv, under_load_mv):
    """The sag to reckon with after a pulse: at once when worse, slowly when
    better. 0 = nothing known."""
    if rest_mv <= 0 or under_load_mv <= 0:
        return known_mv
    sag_mv = clamp(rest_mv - under_load_mv, 0, 5000)
    if sag_mv >= known_mv:
        return sag_mv
    return ease(known_mv, sag_mv, 8)


def can_pump(rest_mv, sag_mv, soc_pm, settings):
    """True when a pulse can be run and recorded (W6).

    An unknown battery voltage is no permission.
    """
    if rest_mv <= 0 or soc_pm < settings["battery_reserve_pm"]:
        return False
    return rest_mv - sag_mv - SAG_SPARE_MV >= settings["battery_stop_mv"]
