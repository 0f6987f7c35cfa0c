"""Did the water arrive? After the soak, after the dose, and by a trial a day while a pot is held.

A pulse in a large pot lifts its probe by less than noise; what the plant drank during the soak hides part of the rise,
and water that spreads takes back another. So nothing is condemned before a probe must have seen it.
"""

from potreeve.logic import dosing, ladder, limits, moisture, reasons, watch
from potreeve.logic.state import HELD, TENDED
from potreeve.logic.units import clamp, const, div_up

# Less than this of its water stays, see _drunk (common practice, no source).
_KEEPS_PM = const(250)

# A soak counts as over with this share of it proven: a board that starts over proves a
# little less of a sleep than it slept.
_SOAKED_PM = const(900)

# A rise that comes late, by water that spreads through a large pot, counts within
# dosing.SPREADS_S, and at the first look after it, if it is half of what was told, and twice the least that counts.
_LATE_SHARE = const(2)

# A held pot may try so often, with twice the water that condemned it: in drawn rigs a dry pot in
# loam did not show a trial of half of that, and got no more of it (common practice, no source).
_TRIAL_S = const(86400)
TRIAL_PM = 120

# After so many pulses in vain every other day: they may stand in the tray below (common practice, no source).
_IN_VAIN = const(15)

# Holds that a trial may end, when the pot is short of water. One for far too much water waits
# longer: whatever ran on is over where the pot dried since, but a trial may start it again.
_TRIED = (reasons.NO_RISE, reasons.CROSSED, reasons.RUNS_ON)
_RUN_ON_WAITS_S = const(2 * 86400)

# Pulses in a row that lifted another pot, before that is no chance any more; the
# least rise that counts, more than noise and a cooling sill can do within a soak;
# and how wet a pot can't show one (all common practice, no source).
_CROSSED_AT = const(2)
_CROSSED_PM = const(25)
_FULL_PM = const(950)


def begins_pm(pot, channel):
    """From where a rise counts now, in pm: what the average has yet to catch up with is no rise of water to come."""
    lag_pm = moisture.to_pm(pot.raw, channel["curve"]) - moisture.to_pm(pot.filtered // 16, channel["curve"])
    return pot.pm + clamp(lag_pm, 0, moisture.HIGHEST_PM)


def wait_anew(pot, channel, up_s):
    """Count rises and water for the next proof from here on.

    While earlier water is unproven, it goes on being counted, with its own beginning as long as it may still show: a
    pot that does not fall for hours, though its plant drinks, gets water. After that only its amount counts on, for
    half of what a plant should have drunk in a day would prove anything.
    """
    again = pot.unproven and pot.ladder == TENDED
    if again and up_s - pot.pulse_s < dosing.SPREADS_S:
        return
    pot.proof_um = 0
    pot.before_pm = begins_pm(pot, channel)
    if again:
        return
    pot.pulse_ul = 0
    pot.pulse_most_ul = 0


def blind(pot, channel, more=0):
    """True when `more` pulses beside those unproven are as many, and enough water, for any probe to have seen it."""
    enough = dosing.rise_pm(pot.pulse_ul, 1000, channel) >= dosing.ENOUGH_PM
    return enough and pot.unproven + more >= channel["unproven_max"]


def trial_due(rig, pot, channel, by_day):
    """True when a held pot is short of water and may try whether it gets any: once a day, in as many
    pulses as it takes to be seen. By day it waits for the night, when no plant drinks away what should be seen; but
    not where it is dry by then, nor for more than half a day longer than the trials lie apart."""
    if pot.reason not in _TRIED or pot.judge:
        return False
    if pot.reason == reasons.RUNS_ON and rig.up_s - pot.since_s < _RUN_ON_WAITS_S:
        return False
    if pot.reason == reasons.NO_RISE:
        due = _shows_pm(rig, pot, channel, by_day)
    else:
        due = dosing.due_pm(pot, rig.typical_um, channel)
    new = trial_is_new(rig, pot)
    goes_on = not new and pot.rationed and pot.ration_s >= pot.since_s
    if pot.pm > due and not (goes_on and rig.up_s - pot.ration_s < dosing.SPREADS_S):
        # One that has begun is no use by halves, and the night may end meanwhile.
        return False
    if new:
        since_s = max(pot.since_s, pot.ration_s) if pot.rationed else pot.since_s
        waited = rig.up_s - since_s >= _TRIAL_S + _TRIAL_S // 2
        return not by_day or waited or pot.dry_s > 0 and rig.up_s - pot.pulse_s >= _TRIAL_S
    if not goes_on:
        # What it got last belongs to what it is held for, not to a trial.
        return False
    return dosing.rise_pm(pot.pulse_ul, 1000, channel) < TRIAL_PM


def trial_is_new(rig, pot):
    """True when no water of a held pot's last pulse can show any more, and a day has gone by since its last trial."""
    if pot.rationed and rig.up_s - pot.ration_s < (_TRIAL_S if pot.unproven < _IN_VAIN else 2 * _TRIAL_S):
        return False
    return rig.up_s - pot.pulse_s >= dosing.SPREADS_S


def pulses_to_show(rig, pot, channel, pulse_ul, enough_pm):
    """How many pulses of `pulse_ul` a dose or trial that begins now takes to lift its pot by `enough_pm`, with
    dosing.ENOUGH_PM until any probe must have seen it; 0 for one that goes on, which takes what room there is."""
    begins = pot.dose_ul == 0 if pot.ladder == TENDED else trial_is_new(rig, pot)
    return div_up(dosing.water_ul(enough_pm, channel), max(1, pulse_ul)) if begins else 0


def trial_ul(rig, pots, channel, settings):
    """(water for a trial, the most it may count on the tray's account), in ul."""
    return dosing.water_ul(TRIAL_PM, channel), limits.sick_room_ul(rig, ladder.any_well(pots), settings)


def judge(state, index, settings):
    """After the soak: did the pulse raise the moisture?

    Called for a pot whose reading is believed and whose pulse waits for proof, once
    every pot has been observed.
    """
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    soak_s = settings["soak_s"]
    if blind(pot, channel, 1):
        # The one that may be the last is judged when no more water can come to the probe.
        soak_s = max(soak_s, dosing.spread_s(channel))
    if (rig.up_s - pot.pulse_s) * 1000 < soak_s * _SOAKED_PM:
        return
    pot.judge = 0
    rise = pot.pm - pot.before_pm
    if watch.ran_on(pot, rise, channel):
        rig.tray_ul += dosing.water_ul(rise, channel)
        ladder.move(pot, HELD, reasons.RUNS_ON, rig.up_s)
        return
    other = _lifted(state, index, settings)
    if _proven(pot, channel):
        _believe(rig, pot)
        if other >= 0 and not _may_run_through(pot, rise, channel, settings):
            # No pulse until somebody has looked, or for a day, for it will run with
            # every one. What it brought may as well be in the tray.
            state.pots[other].crossed = 0
            rig.tray_ul += _CROSSED_AT * pot.pulse_most_ul
            rig.hold = reasons.STRAYS
            rig.hold_s = rig.up_s
        return
    pot.unproven = clamp(pot.unproven + 1, 0, 250)
    if other >= 0 and (pot.pm <= dosing.refill_point_pm(channel) or not settings["pots_in_tray"]):
        # A pot that is nearly full lets its water through, and one beside it draws that up.
        ladder.move(pot, HELD, reasons.CROSSED, rig.up_s)
        ladder.move(state.pots[other], HELD, reasons.CROSSED, rig.up_s)
        return
    if pot.ladder == TENDED and blind(pot, channel) and pot.pm <= dosing.refill_point_pm(channel):
        # Above it the pot may only be too full to show more: see due_pm.
        ladder.move(pot, HELD, reasons.NO_RISE, rig.up_s)


def _may_run_through(pot, rise, channel, settings):
    """True where pots share a tray and this one did not clearly keep its pulse: then another may have drawn it up."""
    kept = watch.stays(pot) and rise * 4 >= dosing.rise_pm(pot.pulse_ul, pot.gain_pm, channel) * 3
    return settings["pots_in_tray"] and not kept


def due_pm(rig, pot, channel, by_day=True):
    """Moisture at which a pot is due now: after water that did not show, not before it can be tried."""
    if blind(pot, channel):
        return _shows_pm(rig, pot, channel, by_day)
    return dosing.due_pm(pot, rig.typical_um, channel)


def _shows_pm(rig, pot, channel, by_day):
    """Moisture below which it shows whether a pot gets water: the refill point, for one that is nearly full shows no
    rise; by night a typical day's drink more, for the next day would bring it there, and drink away what should be
    seen."""
    due = dosing.refill_point_pm(channel)
    if not by_day and pot.use_ul_mm:
        tomorrow_pm = due + watch.drunk_pm(pot, channel, rig.typical_um)
        due = max(due, min(tomorrow_pm, channel["fill_pm"] - TRIAL_PM))
    return due


def late(rig, pot, channel, look_s):
    """A rise that came after the pulses were judged in vain: water that took long to spread. look_s: how far looks lie
    apart by night."""
    waits = pot.ladder == TENDED or pot.reason == reasons.NO_RISE
    if pot.judge or not pot.unproven or not waits or rig.up_s - pot.pulse_s > dosing.SPREADS_S + look_s:
        return
    told = dosing.rise_pm(pot.pulse_ul, pot.gain_pm, channel)
    rise = pot.pm - pot.before_pm + _drunk(pot, channel, pot.proof_um, told)
    spread = rig.up_s - pot.pulse_s >= dosing.spread_s(channel)
    if rise >= 2 * dosing.PROOF_FLOOR_PM and rise * _LATE_SHARE >= told or spread and _proven(pot, channel):
        _believe(rig, pot)


def _proven(pot, channel):
    """Whether the pulses that wait for proof show in the reading.

    Half of what the plant should have drunk meanwhile is added back: what it uses is
    known within a factor of two, and a pot that gets nothing is not to be proven by it.
    """
    if _shows(pot, channel, pot.before_pm, pot.pulse_ul, pot.proof_um):
        return True
    # A dose that is seen to lift its pot proves itself: water that came in vain before it says nothing of it.
    alone = pot.ladder == TENDED and 0 < pot.dose_ul < pot.pulse_ul
    return alone and pot.pm - pot.start_pm >= dosing.proof_pm(pot.dose_ul, pot.gain_pm, channel)


def _shows(pot, channel, before_pm, water_ul, um):
    """Whether a pot rose as it must for so much water, from a reading on, while a demand of `um` passed."""
    told = dosing.rise_pm(water_ul, pot.gain_pm, channel)
    rise = pot.pm - before_pm + _drunk(pot, channel, um, told)
    return rise >= dosing.proof_pm(water_ul, pot.gain_pm, channel)


def _drunk(pot, channel, um, most_pm):
    """What counts of a plant's draw as a rise that it hid: half, see _proven, as far as the probe sees it; less below
    the stress point, and nothing where hardly any of its water is seen to stay: its use was learned from water that may
    not have come."""
    if pot.kept_pm < _KEEPS_PM:
        return 0
    seen_pm = watch.drunk_pm(pot, channel, um) * clamp(pot.gain_pm, 0, 1000) // 1000
    return clamp(seen_pm * dosing.draws_pm(pot.pm, channel) // 2000, 0, most_pm)


def _believe(rig, pot):
    """Water arrives: the pulses are proven, and a held pot is tended again."""
    pot.unproven = 0
    seen = pot.pm - pot.before_pm >= dosing.PROOF_FLOOR_PM
    if pot.ladder == HELD:
        ladder.move(pot, TENDED, reasons.NONE, rig.up_s)
        if seen:
            # What showed counts against no later trial.
            pot.rationed = 0
        # What the trial brought is settled with the tray like any dose.
        pot.closing = 1
        pot.start_pm = pot.before_pm
        pot.dose_um = pot.proof_um
        pot.dose_ul = pot.pulse_ul
        pot.dose_most_ul = pot.pulse_most_ul
    if not seen and pot.pulse_ul < pot.dose_ul and pot.pulse_most_ul < pot.dose_most_ul:
        # The rest of the dose was seen to arrive, and is settled without what may be in the tray. No dose is charged
        # with a trial of a held pot, which a press may have made a tended one.
        pot.dose_ul -= pot.pulse_ul
        pot.dose_most_ul -= pot.pulse_most_ul
    elif not seen:
        pot.dose_um = dosing.UNSEEN_UM


def _lifted(state, index, settings):
    """Another pot that rose with the last pulses of others, or -1.

    Counted in a row, so that a watering can is none. A full pot keeps its count, one
    whose own water may still be spreading is left out.
    """
    up_s = state.rig.up_s
    found = -1
    for other, pot in enumerate(state.pots):
        own = not watch.has_spread(pot, up_s, dosing.spread_s(settings["channels"][other]))
        if other == index or not pot.known or own:
            continue
        if pot.pm - pot.mark_pm >= _CROSSED_PM:
            pot.crossed = clamp(pot.crossed + 1, 0, _CROSSED_AT)
            if pot.crossed == _CROSSED_AT:
                found = other
        elif pot.pm < _FULL_PM:
            pot.crossed = 0
    return found
