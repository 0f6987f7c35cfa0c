"""What a dose leaves on the tray's account once its water has spread, and what is learned of it."""

from potreeve.logic import dosing, limits, nights, watch
from potreeve.logic.units import clamp, const, ease

# A gain that sank so near to the least that is ever learned (common practice, no source: of 48 sound pots of drawn rigs
# two went below it while their water did not stay).
_SHOWS_LITTLE_PM = const(560)


def close_dose(state, index, settings):
    """Some hours after a dose, when its water has spread: settle it with the tray, learn from it.

    Called for a pot whose reading is believed. Until then the tray is charged
    with the whole dose, and a pot that is due again goes on with it.
    """
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    since_s = rig.up_s - pot.pulse_s
    if pot.dosing or pot.judge or since_s < dosing.spread_s(channel):
        return
    if pot.pm >= pot.high_pm and since_s < dosing.SPREADS_S:
        # It still rises, as in dry substrate for hours: what is on its way did not run through.
        return
    pot.closing = 0
    hidden = pot.dose_um == dosing.UNSEEN_UM
    pot.nights = nights.DOSES if hidden or pot.unproven else clamp(pot.nights - 1, 0, nights.DOSES)
    rise = pot.pm - pot.start_pm
    drunk_pm = 0 if hidden else watch.drunk_pm(pot, channel, pot.dose_um)
    # Pots on feet tell nothing later of what a reading that erred left on the account.
    on_feet = not settings["pots_in_tray"]
    back_ul = pot.dose_most_ul - _left_ul(pot, rise, drunk_pm, channel, on_feet)
    rig.tray_ul = max(rig.tray_ul - back_ul, limits.open_ul(rig, state.pots) if on_feet else 0)
    if hidden and not pot.unproven or dosing.rise_pm(pot.dose_ul, 1000, channel) < dosing.ENOUGH_PM:
        # Hidden by what its plant drank, or too little to be sure to be seen: where it went is not known, and nothing
        # is learned of it.
        return
    if pot.unproven:
        drunk_pm = 0
    # What ran through counts as used by the pot; it shall not be taken off the tray's account as drunk. A plant may
    # drink twice what is known of it: none is to be called leaky, and kept from half of the tray, for its thirst.
    dose = (pot.dose_ul, pot.dose_most_ul)
    ran_ul = dosing.leachate_ul(rise + 2 * drunk_pm, pot.gain_pm, dose, channel)
    pot.kept_pm = ease(pot.kept_pm, clamp(1000 - ran_ul // max(1, pot.dose_ul // 1000), 0, 1000), 4)
    pot.gain_pm = dosing.learn_gain(pot.gain_pm, rise + drunk_pm, pot.dose_ul, channel)


def runs_through(pot):
    """True when less than half of a tended pot's water is seen to stay in it; or when ever less of it is seen, as in
    one that stands in water while its reading drifts towards dry."""
    return limits.lets_through(pot) or pot.gain_pm < _SHOWS_LITTLE_PM and not watch.stays(pot)


def _left_ul(pot, rise, drunk_pm, channel, even):
    """How much of a dose stays on the tray's account, in ul; even: see dosing.leachate_ul.

    What its plant drank of it was in the pot, as far as it was seen to arrive. The pulses at its end that nothing
    showed stay on the account in full.
    """
    dose_ul = pot.dose_ul
    most_ul = pot.dose_most_ul
    hidden_ul = 0
    if pot.unproven and pot.pulse_ul >= dose_ul:
        drunk_pm = 0
    elif pot.unproven:
        hidden_ul = pot.pulse_most_ul
        dose_ul -= pot.pulse_ul
        most_ul -= hidden_ul
    return hidden_ul + dosing.leachate_ul(rise + drunk_pm, pot.gain_pm, (dose_ul, most_ul), channel, even)
