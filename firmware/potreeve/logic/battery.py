"""How full the battery is, how many days it lasts, and whether it can pump.

Lithium and alkaline cells show their charge in their resting voltage; nickel
cells don't (a flat plateau near 1.2 V), so theirs is counted from full.
"""

from potreeve.logic.units import between, clamp, ease

# Open-circuit mV per cell against charge in pm. Lithium: the open-circuit curve
# of PyBaMM's Chen2020 cell, rounded to mV. Alkaline: 1.6 V fresh, 1.25 V about
# half, 1.0 V nearly empty at light load (battery makers' FAQ, coarse); the points
# between are from memory. Nickel: only full and empty are used.
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
_NIMH = ((1000, 0), (1150, 100), (1300, 950), (1400, 1000))

CURVES = {"lithium": _LITHIUM, "alkaline": _ALKALINE, "nimh": _NIMH}

# A nickel cell below this at rest is nearly empty whatever was counted; a rise
# of this much since the last wake is a new or freshly charged battery.
NIMH_FLAT_MV = 1150
SWAP_RISE_MV = 150

MOST_DAYS = 999

# Headroom kept under a pump on top of the learned sag (contacts, cold; common practice,
# no source).
SAG_SPARE_MV = 100


def by_voltage_pm(rest_mv, kind, cells):
    """State of charge in pm from the resting voltage of a pack."""
    curve = CURVES[kind]
    cell_mv = rest_mv // cells
    if cell_mv <= curve[0][0]:
        return 0
    for index in range(1, len(curve)):
        if cell_mv <= curve[index][0]:
            x0, y0 = curve[index - 1]
            x1, y1 = curve[index]
            return between(cell_mv, x0, y0, x1, y1)
    return 1000


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
    if rest_mv // cells < NIMH_FLAT_MV:
        told = by_voltage_pm(rest_mv, kind, cells)
        return told if told < counted else counted
    return counted


def swapped(before_mv, now_mv, cells):
    """True when the pack's resting voltage rose as only another pack's can."""
    return before_mv > 0 and now_mv - before_mv >= SWAP_RISE_MV * cells


def days_left(soc_pm, usage_uah_day, settings):
    """Whole days until the reserve is reached at the learned daily use.

    MOST_DAYS when the use is not known yet or lies further than that.
    """
    spare_pm = soc_pm - settings["battery_reserve_pm"]
    if spare_pm <= 0:
        return 0
    if usage_uah_day <= 0:
        return MOST_DAYS
    spare_uah = settings["battery_mah"] * spare_pm
    return clamp(spare_uah // usage_uah_day, 0, MOST_DAYS)


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
