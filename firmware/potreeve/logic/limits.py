"""Every cap that bounds water, in one place.

The rolling day is kept in BUCKETS buckets of BUCKET_S each: the one being
filled and twelve full ones. Those twelve span 24 hours by a counter that runs up
to 1.6 % fast (no quartz does; an oscillator without one may), so what all hold
together is never less than what was given in the last 24 hours. Each bucket
counts tenths of a millilitre, rounded up.
"""

from potreeve.logic import dosing
from potreeve.logic.units import DAY_S, const, div_up

BUCKETS = 13
BUCKET_S = 7320
TENTH_UL = 100
_BUCKET_MOST = const(65535)

# Less than this of its water stays: see leaks (common practice, no source).
_LEAKS_PM = const(500)

# Below this a pulse is not worth its wear and its record.
LEAST_PULSE_UL = 1000


def roll(pots, started_s, up_s):
    """Drop the buckets that lie behind `up_s`; returns the new start.

    pots: channel states, whose `spent` lists are changed in place. Only proven
    time reaches here: unproven time keeps old water in the day.
    """
    steps = (up_s - started_s) // BUCKET_S
    if steps <= 0:
        return started_s
    for _ in range(steps if steps < BUCKETS else BUCKETS):
        for pot in pots:
            pot.spent.pop()
            pot.spent.insert(0, 0)
    return started_s + steps * BUCKET_S


def spend(pot, water_ul):
    """Count water against a pot's day."""
    spent = pot.spent[0] + div_up(water_ul, TENTH_UL)
    pot.spent[0] = spent if spent < _BUCKET_MOST else _BUCKET_MOST


def spent_ul(pot):
    """Most water the pot can have been given in the last 24 hours."""
    return sum(pot.spent) * TENTH_UL


def fill_day(pots, settings):
    """Count the whole day's water as given: what a lost memory is worth."""
    for index, pot in enumerate(pots):
        day = settings["channels"][index]["day_ml"] * 10
        pot.spent[0] = day if day < _BUCKET_MOST else _BUCKET_MOST


def headroom_ul(rig, settings):
    """What the tray can still take, in ul: its headroom less all the water
    that can't be shown to have stayed in a pot or dried up."""
    room = settings["tray_headroom_ml"] * 1000 - rig.tray_ul
    return room if room > 0 else 0


def leaks(pots, index, settings):
    """True when less than half of a tended pot's water is seen to stay in it, by its doses so far, and more of a
    neighbour's.

    It runs through, or never comes; all of it is counted as standing in the tray, and the others
    shall not be short of room for that. One that is below its refill point and stands in the tray draws up what ran
    through.
    """
    pot = pots[index]
    short = pot.pm <= dosing.refill_point_pm(settings["channels"][index])
    if not lets_through(pot) or short and settings["pots_in_tray"]:
        return False
    # state.TENDED is 0; state imports this module.
    return any([not other.ladder and not lets_through(other) for other in pots])


def lets_through(pot):
    """True when less than half of a tended pot's water is seen to stay in it, by its doses so far."""
    return not pot.ladder and pot.kept_pm < _LEAKS_PM


def sick_room_ul(rig, well, settings):
    """What of the tray is left for water that nothing shows to have stayed in a pot, in ul.

    well: whether any pot is tended. Then half of the headroom stays theirs, for pots
    that are held or rationed shall not use it up; but not where pots stand in the tray, as
    what those draw makes room again. What has dried meanwhile is free again.
    """
    return half_room_ul(rig, settings) if well and not settings["pots_in_tray"] else headroom_ul(rig, settings)


def half_room_ul(rig, settings):
    """What the tray can still take while half of its headroom is kept for others, in ul."""
    room = settings["tray_headroom_ml"] * 500 - rig.tray_ul
    return room if room > 0 else 0


def room_ul(rig, pots, index, settings):
    """Most water channel `index` may be given now: (ul, what bounds it).

    What bounds it is one of the words below, for the record.
    """
    pot = settings["channels"][index]
    room = pot["day_ml"] * 1000 - spent_ul(pots[index])
    bound = POT_DAY
    spent = 0
    for other in pots:
        spent += spent_ul(other)
    rig_room = settings["rig_day_ml"] * 1000 - spent
    if rig_room < room:
        room, bound = rig_room, RIG_DAY
    tray_room = half_room_ul(rig, settings) if leaks(pots, index, settings) else headroom_ul(rig, settings)
    if tray_room < room:
        room, bound = tray_room, TRAY
    return (room if room > 0 else 0), bound


POT_DAY = 1
RIG_DAY = 2
TRAY = 3


def open_ul(rig, pots):
    """The part of the tray's account that doses not yet settled stand for."""
    total = 0
    for pot in pots:
        if pot.closing:
            total += pot.dose_most_ul
    return total if total < rig.tray_ul else rig.tray_ul


def dry_tray(tray_ul, area_cm2, um_day, carry, seconds):
    """Tray water after `seconds` of cautious evaporation: (tray_ul, carry).

    um over cm2 is tenths of a microlitre; `carry` keeps the part of a step too
    small to count, in um cm2 s.
    """
    if tray_ul <= 0:
        return 0, 0
    dried = area_cm2 * um_day * seconds + carry
    tenths = dried // DAY_S
    tray_ul -= tenths // 10
    return (tray_ul if tray_ul > 0 else 0), dried - (tenths // 10) * 10 * DAY_S
