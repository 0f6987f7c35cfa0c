"""Tended, rationed, held: who goes where, and who comes back.

tended    the probe is believed and steers the water
rationed  it isn't: a small daily amount by learned use and the day's demand
held      no water but a trial a day, until that shows, a person has looked, or
          the cause has gone
"""

from potreeve.logic import demand, dosing, limits, reasons, watch
from potreeve.logic.state import HELD, RATIONED, TENDED
from potreeve.logic.units import DAY_S, HOUR_S, clamp, const

# Doubt rises by two with each refused reading and falls by one with each good
# one; from here on the pot is rationed. One bad reading alone only waits: a spike is
# no broken probe (common practice, no source).
DOUBT_AT = 4
_DOUBT_MOST = const(12)

# Believable readings in a row that end a ration, three hours of them by day, so that a
# loose wire does not come and go (common practice, no source).
TRUST_AT = 6

# Rises with nothing given that can't be a watering can any more: people pour once
# (common practice, no source).
RUNS_ON_AT = 3

# Unplanned starts that hold the rig; one is forgiven after each BOOT_FADE_S, and
# no more than _BOOTS_MOST are held against it: a day of calm is enough. A person who
# sets it up may well start it five times running (common practice, no source).
BOOTS_HOLD = 6
_BOOTS_MOST = const(8)
_BOOTS_FREE = const(2)
BOOT_FADE_S = 4 * HOUR_S

# These holds of the rig end after a day: an owner who forgot is not to find dead
# plants, nor one who is away.
PASSING = (reasons.OWNER, reasons.STRAYS, reasons.RISING)
PASSING_MOST_S = 22 * HOUR_S

# Rations are given twice a day, each half of this share of the daily use: the
# plant lives, and a wrong guess stays far from a flood.
RATION_EVERY_S = 12 * HOUR_S
_RATION_SHARE_PM = const(700)
_RATION_MOST = const(2)

# A ration that should lift its pot by less is hardly seen above the noise.
SEEN_PM = 2 * dosing.PROOF_FLOOR_PM

# So long a rationed rig is to get by without a person: the longest absence people
# plan for (common practice, no source).
_RATION_DAYS = const(30)


# Holds that rest on what the probe showed, and on nothing that runs by itself.
_SEEN_BY_PROBE = (reasons.NO_RISE, reasons.CROSSED, reasons.TOO_WET)

# Holds that rest on a reading that was too wet.
_SEEN_WET = (reasons.RUNS_ON, reasons.CROSSED, reasons.TOO_WET)


def move(pot, rung, reason, up_s):
    """Put a pot on a rung, for a reason.

    A pulse that still waits for its proof when the pot leaves the tended rung
    counts as unproven, and its dose stays on the tray's account: nothing seen
    from now on can speak for them.
    """
    if pot.ladder != rung or pot.reason != reason:
        pot.since_s = up_s
    if rung != pot.ladder:
        pot.answers = 0
    if rung == RATIONED and pot.ladder != RATIONED:
        pot.start_pm = pot.pm
    if rung != TENDED:
        pot.light_pm = pot.light_s = pot.dark_pm = pot.dark_s = 0
        pot.dosing = 0
        pot.closing = 0
        if pot.judge:
            pot.judge = 0
            pot.unproven += 1
    pot.ladder = rung
    pot.reason = reason


def judge_reading(pot, wrong, up_s):
    """Move a pot by what was said of its reading. `wrong`: reasons.* or watch.SOUND"""
    if wrong == watch.SOUND:
        pot.trust = clamp(pot.trust + 1, 0, 250)
        return
    if wrong:
        pot.trust = 0
        pot.doubt = clamp(pot.doubt + 2, 0, _DOUBT_MOST)
    else:
        pot.trust = clamp(pot.trust + 1, 0, 250)
        pot.doubt = clamp(pot.doubt - 1, 0, _DOUBT_MOST)
    if pot.ladder == TENDED:
        if pot.doubt >= DOUBT_AT:
            move(pot, RATIONED, wrong, up_s)
        elif pot.rising >= RUNS_ON_AT:
            move(pot, HELD, reasons.RUNS_ON, up_s)
        elif pot.wet_s >= watch.TOO_WET_S:
            move(pot, HELD, reasons.TOO_WET, up_s)
        elif pot.rising:
            pot.reason = reasons.WATERED
        elif not wrong and not pot.dosing:
            pot.reason = reasons.NONE
    elif pot.ladder == RATIONED:
        if pot.trust >= TRUST_AT:
            # With pulses unproven, agreeing is not enough: it must see water.
            move(pot, HELD if pot.unproven else TENDED, reasons.NO_RISE if pot.unproven else reasons.NONE, up_s)
            pot.doubt = 0
        elif wrong:
            pot.reason = wrong
    elif pot.reason in _SEEN_WET and wrong == reasons.FELL and pot.doubt >= DOUBT_AT:
        # No water leaves a pot that fast: what was wet was the reading, and its next is the first of a new past. Still
        # held, it shows by a trial whether it sees water.
        pot.known = 0
        if pot.reason == reasons.TOO_WET:
            move(pot, HELD, reasons.NO_RISE, up_s)
    elif pot.reason in _SEEN_BY_PROBE and wrong and pot.doubt >= DOUBT_AT:
        # The one that told of it can't be believed: it says nothing of the water.
        move(pot, RATIONED, wrong, up_s)
    elif pot.reason == reasons.TOO_WET and not wrong and pot.wet_s == 0:
        move(pot, TENDED, reasons.NONE, up_s)


def check_calibration(pot, channel, up_s):
    """Hold a pot that was never calibrated; free it once it was."""
    ready = len(channel["curve"]) > 0 and channel["pump_ul_s"] > 0
    if not ready:
        move(pot, HELD, reasons.NOT_CALIBRATED, up_s)
    elif pot.reason == reasons.NOT_CALIBRATED:
        move(pot, TENDED, reasons.NONE, up_s)
    return ready


def acknowledge(state):
    """A person has looked: held pots and a rig held for reboots start anew, and
    so does what was held against the battery.

    The tray, the day's water and the caps stay as they are.
    """
    up_s = state.rig.up_s
    for pot in state.pots:
        # Whatever was done to a pot, its next reading is the first of a new past.
        pot.known = 0
        if pot.ladder != TENDED and pot.reason != reasons.NOT_CALIBRATED:
            move(pot, TENDED, reasons.NONE, up_s)
            pot.doubt = 0
            pot.wet_s = 0
        if pot.unproven or pot.judge:
            # Whoever looked did not see where that water went.
            pot.dose_um = dosing.UNSEEN_UM
        pot.unproven = 0
        pot.crossed = 0
        pot.learned = 0
        pot.ref_ul_mm = 0
        pot.rising = 0
    state.rig.sag_mv = 0
    if state.rig.hold in (reasons.REBOOTS, reasons.STRAYS, reasons.RISING):
        state.rig.hold = reasons.NONE
        state.rig.boots = 0


def service(state):
    """Long press: hold the rig for service, or end that.

    Ending it says the tray was emptied and everything seen to.
    """
    rig = state.rig
    if rig.hold != reasons.OWNER:
        rig.hold = reasons.OWNER
        rig.hold_s = rig.up_s
        for pot in state.pots:
            pot.dosing = 0
        return
    rig.hold = reasons.NONE
    rig.tray_ul = 0
    rig.tray_carry = 0
    rig.memory = 0
    rig.boots = 0
    for pot in state.pots:
        # What stood for an open dose was emptied with the rest.
        pot.closing = 0
    acknowledge(state)


def count_boot(rig, unplanned):
    """Hold a rig that starts over too often; forgive with proven time."""
    while rig.boots and rig.up_s - rig.boot_s >= BOOT_FADE_S:
        rig.boots -= 1
        rig.boot_s += BOOT_FADE_S
    if rig.boots == 0:
        rig.boot_s = rig.up_s
    if unplanned:
        rig.boots = clamp(rig.boots + 1, 0, _BOOTS_MOST)
    if rig.hold == reasons.NONE and rig.boots >= BOOTS_HOLD:
        rig.hold = reasons.REBOOTS
        rig.hold_s = rig.up_s
    elif rig.hold == reasons.REBOOTS and rig.boots <= _BOOTS_FREE:
        rig.hold = reasons.NONE
    elif rig.hold in PASSING and rig.up_s - rig.hold_s >= PASSING_MOST_S:
        rig.hold = reasons.NONE


def ration(rig, pots, pot, channel, settings):
    """(what a ration should bring, the most it may count on the tray's account,
    both in ul; seconds from one to the next).

    Half a day's; a whole day's at once where half would hardly be seen: whether a
    probe sees its rations decides whether it is ever believed again.
    """
    day_ul = _day_ul(rig, pot, channel)
    most_ul = ration_most_ul(rig, pots, settings)
    ms = dosing.longest_ms(most_ul, channel, rig.rest_mv)
    likely_ul = dosing.likely_ul(ms, dosing.TUBE_DRAINS_S, channel, rig.rest_mv)
    half_ul = day_ul // 2
    sip_ul = half_ul if half_ul < likely_ul else likely_ul
    if dosing.rise_pm(sip_ul, 1000, channel) < SEEN_PM:
        whole_ul = clamp(day_ul, limits.LEAST_PULSE_UL, channel["ration_ml"] * 1000)
        return whole_ul, 2 * most_ul, DAY_S
    return half_ul, most_ul, RATION_EVERY_S


def _day_ul(rig, pot, channel):
    """A day's ration by use and demand, in ul."""
    most_ul = channel["ration_ml"] * 1000 * _RATION_MOST
    day_ul = channel["ration_ml"] * 1000
    if pot.use_ul_mm and rig.typical_um:
        day_ul = watch.sure_ul_mm(pot, channel) * rig.typical_um // 1000
    day_ul = demand.share(day_ul, rig.last_um, rig.typical_um, 500, 1500)
    return clamp(day_ul * _RATION_SHARE_PM // 1000, 0, most_ul)


def ration_most_ul(rig, pots, settings):
    """The most half a day's ration may count on the tray's account, in ul.

    Nothing ever shows that a ration stayed in its pot. So what the tray may still
    take is spread over _RATION_DAYS, beside what dries: the rig could lose every
    drop of it and yet neither flood nor leave the other pots without.
    """
    dries_ul = settings["tray_area_cm2"] * settings["tray_dry_um_day"] // 10
    return (limits.sick_room_ul(rig, any_well(pots), settings) // _RATION_DAYS + dries_ul) // 2


def any_well(pots):
    """True when any pot is tended."""
    return any([pot.ladder == TENDED for pot in pots])


def ration_due(rig, pot, every_s):
    """True when a rationed pot may have its next ration.

    Counted in proven time from the last ration or pulse; every_s: see `ration`. The first comes after half of that,
    for a whole day's at once would come a day late. Not while the probe, for what it is worth, says the pot is soaked.
    """
    if pot.ladder != RATIONED:
        return False
    if pot.reason == reasons.NOT_FALLING and pot.pm >= watch.WET_PM:
        return False
    last_s = pot.since_s - every_s // 2
    if pot.rationed and pot.ration_s > last_s:
        last_s = pot.ration_s
    if pot.pulsed and pot.pulse_s > last_s:
        last_s = pot.pulse_s
    return rig.up_s - last_s >= every_s
