"""Who gets water now, how much, and whether the last pulse helped.

One pot doses at a time: that keeps the tray's account simple, and a rise in
another can only mean crossed tubes, a pump that runs along, or other hands.
"""

from potreeve.logic import battery, dosing, ladder, limits, moisture, reasons, watch
from potreeve.logic.state import HELD, TENDED
from potreeve.logic.units import DAY_S, clamp

# By then the water has spread, and what stayed in the pot shows.
CLOSE_S = 7200

# Soaks before the pulse is judged that may be the last.
LAST_SOAKS = 2

# What the battery is held to have sunk by, at the least, where a pulse ended in a
# reset: a tenth of the span in which pumps are run (common practice, no source).
GAVE_WAY_MV = 150
SAG_MOST_MV = 12000

# A battery that is refused for its sag alone is tried again so long after the last pulse (common practice, no source).
TRIAL_S = 2 * DAY_S

# Pulses in a row that lifted another pot, before that is no chance any more; the
# least rise that counts, more than noise and a cooling sill can do within a soak;
# and how wet a pot can't show one (all common practice, no source).
CROSSED_AT = 2
CROSSED_PM = 25
FULL_PM = 950


def decide(state, settings, believed):
    """Pulses to give now: list of ms per channel, 0 none; at most one runs.

    believed: per channel, whether this wake's reading may steer water. Opens
    the intent of the pulse in `state`; the caller stores it before pumping.
    """
    pulses = [0] * len(state.pots)
    if state.rig.hold:
        return pulses
    tried = []
    for _ in pulses:
        index = _whose_turn(state, settings, believed, tried)
        if index < 0:
            break
        pulses[index] = _give(state, index, settings)
        if pulses[index]:
            break
        # One that may not have more now keeps no other from its water.
        tried.append(index)
    return pulses


def _give(state, index, settings):
    """Open the intent of a pulse for the channel whose turn it is: ms, or 0."""
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    if pot.ladder == TENDED and pot.unproven >= channel["unproven_max"]:
        ladder.move(pot, HELD, reasons.NO_RISE, rig.up_s)
        return 0
    _forget_sag(state, settings)
    if not battery.can_pump(rig.rest_mv, rig.sag_mv, rig.soc_pm, settings):
        _bounded(pot, reasons.BATTERY)
        return 0
    room_ul, bound = limits.room_ul(rig, state.pots, index, settings)
    if pot.ladder == TENDED:
        want_ul = dosing.deficit_ul(pot.pm, pot.gain_pm, channel)
        want_ul = clamp(want_ul, 0, channel["dose_ml"] * 1000 - pot.dose_ul)
    else:
        want_ul, most_ul, _ = ladder.ration(rig, pot, channel, settings)
        room_ul = clamp(room_ul, 0, most_ul)
    want_ul = clamp(want_ul, 0, channel["pulse_ml"] * 1000)
    return _open_intent(state, index, want_ul, channel, (room_ul, bound))


def _forget_sag(state, settings):
    """After TRIAL_S without a pulse, reckon with no more sag than lets one pulse run: only pulses teach it.

    Half of the learned sag stays believed, the stop voltage and the reserve stay as they are; a
    pulse that gives way again adds to the sag. So a bad battery costs a start in two days at most.
    """
    rig = state.rig
    for pot in state.pots:
        if pot.pulsed and rig.up_s - pot.pulse_s < TRIAL_S:
            return
    if battery.can_pump(rig.rest_mv, rig.sag_mv // 2, rig.soc_pm, settings):
        rig.sag_mv = clamp(rig.rest_mv - battery.SAG_SPARE_MV - settings["battery_stop_mv"], 0, rig.sag_mv)


def _whose_turn(state, settings, believed, tried):
    """The channel to water now that was not yet tried in this wake, or -1.

    A dose under way goes first; it may also end here. Then tended pots that
    are due, then rations, each from the pot whose turn it is.
    """
    pots = state.pots
    for index, pot in enumerate(pots):
        if pot.dosing:
            if not believed[index] or pot.judge:
                return -1
            if not _finished(pot, settings["channels"][index]):
                return index
            pot.dosing = 0
    count = len(pots)
    for at in range(count):
        index = (state.rig.turn + at) % count
        pot = pots[index]
        due = dosing.refill_point_pm(settings["channels"][index])
        if index in tried or pot.judge or pot.closing:
            continue
        if believed[index] and pot.pm <= due:
            state.rig.turn = (index + 1) % count
            pot.dosing = 1
            pot.dose_ul = 0
            pot.dose_most_ul = 0
            pot.dose_um = 0
            pot.start_pm = pot.pm
            _wait_anew(pot, settings["channels"][index])
            return index
    for at in range(count):
        index = (state.rig.turn + at) % count
        channel = settings["channels"][index]
        every_s = ladder.ration(state.rig, pots[index], channel, settings)[2]
        if index not in tried and ladder.ration_due(state.rig, pots[index], every_s):
            state.rig.turn = (index + 1) % count
            return index
    return -1


def _wait_anew(pot, channel):
    """Count rises and water for the next proof from here on.

    From the reading of now where it stands above the average: what the average
    has yet to catch up with is no rise of the pulse to come.
    """
    lag_pm = moisture.to_pm(pot.raw, channel["curve"]) - moisture.to_pm(pot.filtered // 16, channel["curve"])
    pot.before_pm = pot.pm + clamp(lag_pm, 0, moisture.HIGHEST_PM)
    pot.pulse_ul = 0
    pot.pulse_most_ul = 0


def _finished(pot, channel):
    if pot.dose_ul >= channel["dose_ml"] * 1000:
        return True
    return pot.pm >= channel["fill_pm"] - dosing.CLOSE_ENOUGH_PM


def _bounded(pot, reason):
    """The pot would be watered but may not be: note why, end the dose."""
    pot.dosing = 0
    if pot.ladder == TENDED:
        pot.reason = reason


def _open_intent(state, index, want_ul, channel, room):
    """Charge a pulse to every account, before it runs; returns its ms or 0.

    room: (the most it may count in ul, which cap says so: limits.*).
    The accounts are charged the most the pulse can bring: one cut short only
    makes the rig more careful. Where the caps leave less than half of a whole
    pulse, the pot waits: a sip that can't be seen would only count as unproven.
    """
    rig = state.rig
    pot = state.pots[index]
    room_ul, bound = room
    idle_s = rig.up_s - pot.pulse_s if pot.pulsed else dosing.TUBE_DRAINS_S
    ms = dosing.pulse_ms(want_ul, idle_s, channel, rig.rest_mv)
    room_ms = dosing.longest_ms(room_ul, channel, rig.rest_mv)
    whole_ul = dosing.likely_ul(ms, idle_s, channel, rig.rest_mv)
    reason = pot.reason
    if room_ms < ms:
        ms = room_ms
        reason = _BOUND_REASONS[bound]
    likely_ul = dosing.likely_ul(ms, idle_s, channel, rig.rest_mv)
    sip = pot.ladder == TENDED and 2 * likely_ul < whole_ul
    if likely_ul < limits.LEAST_PULSE_UL or sip:
        # Bounded, or so little is wanted that the dose is done.
        if reason == reasons.TRAY and any([other.closing for other in state.pots]):
            # A dose that is not settled yet takes the room: that passes in hours.
            reason = pot.reason
        _bounded(pot, reason)
        return 0
    most_ul = dosing.most_ul(ms, channel, rig.rest_mv)
    limits.spend(pot, most_ul)
    rig.tray_ul += most_ul
    pot.intent_ms = ms
    if pot.ladder != TENDED or not pot.unproven:
        _wait_anew(pot, channel)
    pot.pulse_ul += likely_ul
    pot.pulse_most_ul += most_ul
    pot.pulse_s = rig.up_s
    pot.pulsed = 1
    for other in state.pots:
        other.mark_pm = other.pm
    pot.dose_ul += likely_ul
    pot.day_ul += likely_ul
    pot.total_ul += likely_ul
    pot.thirst_um = 0
    pot.fell_pm = pot.pm
    if pot.ladder == TENDED:
        pot.judge = 1
        pot.closing = 1
        pot.dose_most_ul += most_ul
    else:
        pot.ration_s = rig.up_s
        pot.rationed = 1
        pot.dose_um = 0
        pot.model_pm = clamp(pot.model_pm + dosing.rise_pm(likely_ul, pot.gain_pm, channel), 0, watch.MODEL_HIGH_PM)
    return ms


_BOUND_REASONS = {limits.POT_DAY: reasons.POT_DAY, limits.RIG_DAY: reasons.RIG_DAY, limits.TRAY: reasons.TRAY}


def found_open(rig, pot, unplanned, settings):
    """An intent found open: the pulse counts in full, and its soak begins now.

    unplanned: whether the board started over; then its supply may have given way
    under the pump, and half of what the battery still has to spare there, or
    GAVE_WAY_MV, is no longer counted on. One such pulse changes little; a few in a
    row stop the pumping until the battery or a person says otherwise.
    """
    pot.intent_ms = 0
    pot.pulse_s = rig.up_s
    if unplanned:
        least_mv = battery.SAG_SPARE_MV + settings["battery_stop_mv"]
        half_mv = (rig.rest_mv - rig.sag_mv - least_mv) // 2
        more_mv = half_mv if half_mv > GAVE_WAY_MV else GAVE_WAY_MV
        rig.sag_mv = clamp(rig.sag_mv + more_mv, 0, SAG_MOST_MV)


def close_intent(rig, pot, ran, under_mv):
    """Note what came of a pulse: whether it ran, how far the battery sank.

    One that was never started stays charged but needs no proof.
    """
    pot.intent_ms = 0
    if ran:
        rig.sag_mv = battery.learn_sag(rig.sag_mv, rig.rest_mv, under_mv)
    else:
        pot.judge = 0
        pot.dosing = 0


def judge(state, index, settings):
    """After the soak: did the pulse raise the moisture?

    One that shows no rise is judged together with the next, and the last that may
    show none after a longer soak: in a large or dry pot it takes several small
    pulses, and a while, until the probe sees them. Called for a pot whose reading is believed and whose pulse
    waits for proof, once every pot has been observed.
    """
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    last = pot.unproven + 1 >= channel["unproven_max"]
    if rig.up_s - pot.pulse_s < settings["soak_s"] * (LAST_SOAKS if last else 1):
        return
    pot.judge = 0
    rise = pot.pm - pot.before_pm
    if watch.ran_on(pot, rise, pot.gain_pm, channel):
        rig.tray_ul += dosing.water_ul(rise, channel)
        ladder.move(pot, HELD, reasons.RUNS_ON, rig.up_s)
        return
    other = _lifted(state, index)
    if rise >= dosing.proof_pm(pot.pulse_ul, pot.gain_pm, channel):
        pot.unproven = 0
        if other >= 0:
            # No pulse until somebody has looked, or for a day, for it will run with
            # every one. What it brought may as well be in the tray.
            state.pots[other].crossed = 0
            rig.tray_ul += CROSSED_AT * pot.pulse_most_ul
            rig.hold = reasons.STRAYS
            rig.hold_s = rig.up_s
        return
    pot.unproven += 1
    if other >= 0:
        ladder.move(pot, HELD, reasons.CROSSED, rig.up_s)
        ladder.move(state.pots[other], HELD, reasons.CROSSED, rig.up_s)
        return
    if pot.unproven >= channel["unproven_max"]:
        ladder.move(pot, HELD, reasons.NO_RISE, rig.up_s)


def close_dose(rig, pot, channel):
    """Some hours after a dose: settle it with the tray, learn from it.

    Called for a pot whose reading is believed. Until then the tray is charged
    with the whole dose.
    """
    if pot.dosing or pot.judge or rig.up_s - pot.pulse_s < CLOSE_S:
        return
    pot.closing = 0
    rise = pot.pm - pot.start_pm
    if rise >= dosing.PROOF_FLOOR_PM:
        rise += watch.drunk_pm(pot, channel, pot.dose_um)
    left_ul = dosing.leachate_ul(rise, pot.gain_pm, (pot.dose_ul, pot.dose_most_ul), channel)
    back_ul = pot.dose_most_ul - left_ul
    rig.tray_ul = rig.tray_ul - back_ul if rig.tray_ul > back_ul else 0
    pot.gain_pm = dosing.learn_gain(pot.gain_pm, rise, pot.dose_ul, channel)


def _lifted(state, index):
    """Another pot that rose with the last pulses of others, or -1.

    Counted in a row, so that a watering can is none. A full pot keeps its count, one
    that had water of its own lately is left out.
    """
    up_s = state.rig.up_s
    found = -1
    for other, pot in enumerate(state.pots):
        own = pot.pulsed and up_s - pot.pulse_s < CLOSE_S
        if other == index or not pot.known or own:
            continue
        if pot.pm - pot.mark_pm >= CROSSED_PM:
            pot.crossed = clamp(pot.crossed + 1, 0, CROSSED_AT)
            if pot.crossed == CROSSED_AT:
                found = other
        elif pot.pm < FULL_PM:
            pot.crossed = 0
    return found
