"""Who gets water now, and how much.

One pot doses at a time: that keeps the tray's account simple, and a rise in
another can only mean crossed tubes, a pump that runs along, or other hands.
Whether a pulse helped is for proof.py.
"""

from potreeve.logic import battery, dosing, ladder, limits, nights, proof, reasons, schedule, tray, watch
from potreeve.logic.state import HELD, RATIONED, TENDED
from potreeve.logic.units import DAY_S, clamp, const

# What each cell is held to have sunk by, at the least, where a pulse ended in a reset: more than a pack rests higher by
# day than by night, or each morning would try it again (common practice, no source).
GAVE_WAY_MV = 150
_SAG_MOST_MV = const(12000)

# A battery that is refused for its sag alone is tried again so long after the last pulse (common practice, no source).
TRIAL_S = 2 * DAY_S

# A dose or a trial waits for what it takes to be seen until this share of what the tray takes for it is free
# (common practice, no source).
_NEARLY_PM = const(875)

# What _give says of a pot that what all share keeps from its water.
_SAVED = -1


def decide(state, settings, believed, left_out=None):
    """Pulses to give now: list of ms per channel, 0 none; at most one runs.

    believed: per channel, whether this wake's reading may steer water; left_out: channels that get none. Opens
    the intent of the pulse in `state`; the caller stores it before pumping.
    """
    pulses = [0] * len(state.pots)
    if state.rig.hold:
        return pulses
    tried = list(left_out or [])
    saved = False
    # A pot that is held in this wake may be tried in it as well: by the next the night may be over.
    for _ in range(2 * len(pulses)):
        index = _untended(state, settings, believed, tried) if saved else _whose_turn(state, settings, believed, tried)
        if index < 0:
            break
        rung = state.pots[index].ladder
        ms = _give(state, index, settings)
        if ms == _SAVED:
            # The thirstiest waits for what all share: nobody drinks it up meanwhile, but for what keeps a plant alive,
            # a ration or a trial.
            saved = True
            ms = 0
        if ms:
            pulses[index] = ms
            state.rig.turn = (index + 1) % len(pulses)
            break
        # One that may not have more of its own now keeps no other from its water.
        if state.pots[index].ladder == rung:
            tried.append(index)
    return pulses


def _give(state, index, settings):
    """Open the intent of a pulse for the channel whose turn it is: ms, 0 or _SAVED."""
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    if pot.ladder == TENDED and proof.blind(pot, channel):
        _to_be_tried(state, pot, channel, settings)
        return 0
    _forget_sag(state, settings)
    if not battery.can_pump(rig.rest_mv, rig.sag_mv, rig.soc_pm, settings):
        _bounded(pot, reasons.BATTERY)
        return 0
    room_ul, bound = limits.room_ul(rig, state.pots, index, settings)
    halved = limits.leaks(state.pots, index, settings)
    if pot.ladder == TENDED:
        want_ul = dosing.deficit_ul(pot.pm, pot.gain_pm, channel)
        want_ul = clamp(want_ul, 0, channel["dose_ml"] * 1000 - pot.dose_ul)
    else:
        if pot.ladder == HELD:
            want_ul, most_ul = proof.trial_ul(rig, state.pots, channel, settings)
        else:
            want_ul, most_ul, _ = ladder.ration(rig, state.pots, pot, channel, settings)
        if most_ul < room_ul:
            room_ul, bound = most_ul, limits.TRAY
        halved = ladder.any_well(state.pots) and not settings["pots_in_tray"]
    want_ul = clamp(want_ul, 0, channel["pulse_ml"] * 1000)
    full_ul = settings["tray_headroom_ml"] * (_NEARLY_PM // 2 if halved else _NEARLY_PM)
    by_night = pot.nights and not schedule.is_day(rig, settings)
    enough_pm = nights.SHOWS_PM if by_night else dosing.ENOUGH_PM
    return _open_intent(state, index, want_ul, settings, (room_ul, bound, full_ul, enough_pm))


def _to_be_tried(state, pot, channel, settings):
    """Hold a pot whose pulses showed nothing, so that a trial shows whether it gets water; one that is not due by day
    only once the tray has room for that, or it would wait a night, held, and then a day for the next."""
    rig = state.rig
    _, room_ul = proof.trial_ul(rig, state.pots, channel, settings)
    room = room_ul, limits.TRAY, settings["tray_headroom_ml"] * _NEARLY_PM, dosing.ENOUGH_PM
    if pot.pm > dosing.refill_point_pm(channel) and not _size(rig, pot, channel["pulse_ml"] * 1000, channel, room)[0]:
        _bounded(pot, reasons.TRAY)
    else:
        ladder.move(pot, HELD, reasons.NO_RISE, rig.up_s)


def _forget_sag(state, settings):
    """After TRIAL_S without a pulse, reckon with no more sag than lets one pulse run: only pulses teach it.

    Half of the learned sag stays believed, and half of that after each TRIAL_S more, or a bad contact that was
    mended would keep its pumps still for good. The stop voltage and the reserve stay as they are; a
    pulse that gives way again adds to the sag. So a bad battery costs a start in two days at most.
    """
    rig = state.rig
    last_s = 0
    for pot in state.pots:
        if pot.pulsed and pot.pulse_s > last_s:
            last_s = pot.pulse_s
    since_s = rig.up_s - last_s
    believed_mv = rig.sag_mv >> min(12, since_s // TRIAL_S)
    if since_s >= TRIAL_S and battery.can_pump(rig.rest_mv, believed_mv, rig.soc_pm, settings):
        rig.sag_mv = clamp(rig.rest_mv - battery.SAG_SPARE_MV - settings["battery_stop_mv"], 0, rig.sag_mv)


def _whose_turn(state, settings, believed, tried):
    """The channel to water now that was not yet tried in this wake, or -1.

    A dose under way goes first; it may also end here. Then the tended pot that is
    furthest below its own refill point, a held one whose daily trial is due, and
    rations; equals in turn.
    """
    pots = state.pots
    rig = state.rig
    for index, pot in enumerate(pots):
        if pot.dosing:
            if not believed[index] or pot.judge:
                return -1
            if not _finished(pot, settings["channels"][index]):
                return index if index not in tried else -1
            pot.dosing = 0
    count = len(pots)
    best = -1
    most_pm = -1
    for at in range(count):
        index = (rig.turn + at) % count
        pot = pots[index]
        channel = settings["channels"][index]
        if index in tried or pot.judge or pot.ladder != TENDED or not believed[index]:
            continue
        if _finished(pot, channel) if pot.closing else nights.waits(rig, pot, channel, settings):
            continue
        due = proof.due_pm(rig, pot, channel, schedule.is_day(rig, settings))
        short_pm = (due - pot.pm) * 1000 // (due - channel["wilting_pm"])
        if pot.pm <= due and short_pm > most_pm:
            best = index
            most_pm = short_pm
    if best >= 0:
        pot = pots[best]
        pot.dosing = 1
        if pot.closing:
            # What all share ended its dose too soon, and it is not settled yet: it goes on.
            return best
        tray.dried(state, best, settings)
        pot.dose_ul = 0
        pot.dose_most_ul = 0
        pot.dose_um = 0
        pot.start_pm = proof.begins_pm(pot, settings["channels"][best])
        proof.wait_anew(pot, settings["channels"][best], rig.up_s)
        return best
    return _untended(state, settings, believed, tried)


def _untended(state, settings, believed, tried):
    """The held or rationed channel to water now that was not yet tried, in turn, or -1."""
    count = len(state.pots)
    for at in range(count):
        index = (state.rig.turn + at) % count
        due = index not in tried and state.pots[index].ladder in (HELD, RATIONED)
        if due and _due_untended(state, index, settings, believed[index]):
            return index
    return -1


def _due_untended(state, index, settings, believed):
    """True when a held pot's trial or a rationed pot's ration is due."""
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    if pot.ladder == HELD:
        if not believed or not proof.trial_due(rig, pot, channel, schedule.is_day(rig, settings)):
            return False
        tray.dried(state, index, settings)
        return True
    return ladder.ration_due(rig, pot, ladder.ration(rig, state.pots, pot, channel, settings)[2])


def _finished(pot, channel):
    if pot.dose_ul >= channel["dose_ml"] * 1000:
        return True
    if proof.blind(pot, channel) and pot.pm > dosing.refill_point_pm(channel):
        return True
    if pot.unproven and pot.pulse_ul < pot.dose_ul and pot.pm >= channel["fill_pm"] - dosing.LEAST_LIFT_PM:
        # It was seen to rise, and near the mark a pulse more was not: the pot is full, and more would run through.
        return True
    return pot.pm >= channel["fill_pm"] - dosing.CLOSE_ENOUGH_PM


def _bounded(pot, reason):
    """The pot would be watered but may not be: note why, end the dose."""
    pot.dosing = 0
    if pot.ladder == TENDED:
        pot.reason = reason


def _saved_for(state, index, bound, settings):
    """True where what all share is saved for a pot: one dry for long in spite of the water it got is sick, and keeps
    no other from it for a day."""
    pot = state.pots[index]
    helped = pot.dry_s < watch.DRY_S or state.rig.up_s - pot.pulse_s >= DAY_S
    return pot.ladder == TENDED and helped and bound != limits.POT_DAY and not limits.leaks(state.pots, index, settings)


def _open_intent(state, index, want_ul, settings, room):
    """Size a pulse and charge it to every account, before it runs; returns its ms, 0 or _SAVED.

    room: (the most it may count in ul, which cap says so: limits.*, what the tray is waited for in ul, the rise in pm
    that a dose or trial which begins must be able to show).
    """
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    ms, likely_ul, cut = _size(rig, pot, want_ul, channel, room)
    if not ms:
        # Bounded, or so little is wanted that the dose is done.
        bound = room[1]
        reason = _BOUND_REASONS[bound] if cut else pot.reason
        if reason == reasons.TRAY and any([other.closing for other in state.pots]):
            # A dose that is not settled yet takes the room: that passes in hours.
            reason = pot.reason
        _bounded(pot, reason)
        return _SAVED if cut and _saved_for(state, index, bound, settings) else 0
    for other in state.pots:
        other.mark_pm = other.pm
    _charge(rig, pot, channel, ms, likely_ul)
    return ms


def _size(rig, pot, want_ul, channel, room):
    """(ms, its likely water in ul, whether a cap cut it short) of a pulse; 0 ms for none.

    Where the caps leave less than half of a whole pulse, the pot waits, and so does a dose or trial
    that begins while the tray can't take what it takes to be seen: a sip that can't be
    seen would only fill the tray's account and count as unproven.
    """
    room_ul, bound, full_ul, enough_pm = room
    idle_s = rig.up_s - pot.pulse_s if pot.pulsed else dosing.NEVER_S
    ms = dosing.pulse_ms(want_ul, idle_s, channel, rig.rest_mv)
    room_ms = dosing.longest_ms(room_ul, channel, rig.rest_mv)
    whole_ul = dosing.likely_ul(ms, idle_s, channel, rig.rest_mv)
    cut = room_ms < ms
    if pot.ladder != RATIONED and bound == limits.TRAY:
        pulses = proof.pulses_to_show(rig, pot, channel, whole_ul, enough_pm)
        if min(pulses * dosing.most_ul(ms, channel, rig.rest_mv), full_ul) > room_ul:
            return 0, 0, True
    if cut:
        ms = room_ms
    likely_ul = dosing.likely_ul(ms, idle_s, channel, rig.rest_mv)
    sip = cut if pot.ladder == HELD else pot.ladder == TENDED and 2 * likely_ul < whole_ul
    return (0 if sip or likely_ul < limits.LEAST_PULSE_UL else ms), likely_ul, cut


def _charge(rig, pot, channel, ms, likely_ul):
    """Open the intent of a pulse: every account is charged the most it can bring, for one cut short only makes the
    rig more careful."""
    most_ul = dosing.most_ul(ms, channel, rig.rest_mv)
    limits.spend(pot, most_ul)
    rig.tray_ul += most_ul
    pot.intent_ms = ms
    new_trial = pot.ladder == HELD and proof.trial_is_new(rig, pot)
    if pot.ladder == RATIONED or not pot.unproven or new_trial:
        proof.wait_anew(pot, channel, rig.up_s)
    pot.pulse_ul += likely_ul
    pot.pulse_most_ul += most_ul
    pot.pulse_s = rig.up_s
    pot.pulsed = 1
    pot.dose_ul += likely_ul
    pot.day_ul += likely_ul
    pot.total_ul += likely_ul
    pot.thirst_um = 0
    pot.fell_pm = pot.pm
    if pot.ladder != RATIONED:
        pot.judge = 1
    if pot.ladder == TENDED:
        pot.closing = 1
        pot.dose_most_ul += most_ul
        return
    if pot.ladder == RATIONED or new_trial:
        pot.ration_s = rig.up_s
        pot.rationed = 1
    if pot.ladder == RATIONED:
        pot.dose_um = 0
        pot.model_pm = clamp(pot.model_pm + dosing.rise_pm(likely_ul, pot.gain_pm, channel), 0, watch.MODEL_HIGH_PM)


_BOUND_REASONS = {limits.POT_DAY: reasons.POT_DAY, limits.RIG_DAY: reasons.RIG_DAY, limits.TRAY: reasons.TRAY}


def found_open(rig, pot, unplanned, settings):
    """An intent found open: the pulse counts in full, and its soak begins now.

    unplanned: whether the board started over; then its supply may have given way
    under the pump, and half of what the battery still has to spare there, or
    GAVE_WAY_MV a cell, is no longer counted on. One such pulse changes little; a few in a
    row stop the pumping until the battery or a person says otherwise.
    """
    pot.intent_ms = 0
    pot.pulse_s = rig.up_s
    if unplanned:
        spare_mv = rig.rest_mv - rig.sag_mv - battery.SAG_SPARE_MV - settings["battery_stop_mv"]
        more_mv = max(spare_mv // 2, GAVE_WAY_MV * settings["battery_cells"])
        rig.sag_mv = clamp(rig.sag_mv + more_mv, 0, _SAG_MOST_MV)


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
