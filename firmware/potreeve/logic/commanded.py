"""What a person may pump on command, in service mode; no board that tends loads this."""

from potreeve.logic import battery, cycle, dosing, limits, reasons
from potreeve.logic.state import HELD, copy
from potreeve.logic.units import clamp

# What a person at the rig may run into a cup, per channel and press of the
# button, when the day's caps leave nothing: enough to fill a tube and a cup after it.
CUP_MS = 15000

# What a person who watches may give a pot beyond its day, per press of the button, besides what its tube holds.
DROP_UL = 10000


def open_pulse(before, index, ms, settings, battery_mv, cup_ms, drop=0):
    """(state, ms, reason, cup) of a pulse a person commands; `before` is left alone.

    ms: asked for, cut to the pump's longest pulse; battery_mv: at rest; cup_ms:
    what may still run into a cup, 0 where the tube is in its pot. The same caps
    as in a wake: the most the pulse can bring is charged to the pot's day, the
    rig's day and the tray, and the intent is opened, all to be stored first.
    Refused: ms is 0 and reason says why. cup: 1 when only the cup allows it;
    then the pot's day is charged, but not the tray. drop: 1 for a first drop
    into the pot itself, which somebody watches: at most DROP_UL and the tube's
    filling, where the day is used up as far as cup_ms allows, and only into one
    half of the tray's headroom. It is charged to the day and the tray.
    """
    state = copy(before)
    cycle.remember(state, settings)
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    rig.rest_mv = battery_mv
    rig.soc_pm = battery.charge_pm(battery_mv, rig.used_uah, settings)
    ms = clamp(ms, 0, channel["pulse_max_ms"])
    reason = _refusal(rig, pot, 0 if drop else cup_ms)
    if reason:
        return state, 0, reason, 0
    if not battery.can_pump(rig.rest_mv, rig.sag_mv, rig.soc_pm, settings):
        return state, 0, reasons.BATTERY, 0
    most_ul = dosing.most_ul(ms, channel, rig.rest_mv)
    room_ul, bound = limits.room_ul(rig, state.pots, index, settings)
    cup = 0
    # Nobody knows what a pump brings that was never measured: into a cup, or not at all.
    unknown = channel["pump_ul_s"] == 0
    if unknown or most_ul > room_ul:
        if ms > cup_ms or drop and unknown:
            return state, 0, reasons.NOT_CALIBRATED if unknown else _BOUNDS[bound], 0
        cup = 1 - drop
        if drop:
            if most_ul - dosing.most_ul(channel["prime_ms"], channel, rig.rest_mv) > DROP_UL:
                return state, 0, _BOUNDS[bound], 0
            if rig.tray_ul + most_ul > settings["tray_headroom_ml"] * 500:
                return state, 0, reasons.TRAY, 0
    limits.spend(pot, most_ul)
    if not cup:
        rig.tray_ul += most_ul
    pot.intent_ms = ms
    pot.pulse_s = rig.up_s
    pot.pulsed = 1
    pot.dosing = 0
    return state, ms, reasons.NONE, cup


def _refusal(rig, pot, cup_ms):
    """Why nothing may be pumped whatever the amount, or NONE.

    What holds a pot or the rig is about the water in it; a cup takes none.
    """
    if rig.hold == reasons.DAMAGED:
        return rig.hold
    if cup_ms:
        return reasons.NONE
    if rig.hold:
        return rig.hold
    if pot.ladder == HELD and pot.reason != reasons.NOT_CALIBRATED:
        return pot.reason
    return reasons.NONE


_BOUNDS = {limits.POT_DAY: reasons.POT_DAY, limits.RIG_DAY: reasons.RIG_DAY, limits.TRAY: reasons.TRAY}
