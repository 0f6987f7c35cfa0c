"""The rations of W5: bounded above, and never none at all where nothing stands in the way."""

from potreeve.logic import battery, errors, reasons
from potreeve.logic.state import RATIONED

from potreeve_tools.mishaps.evidence import DAY_S
from potreeve_tools.mishaps.rolling import most_within

WATER_SPARE = 1.001  # rounding of millilitres
WITHOUT_S = 1.5 * DAY_S  # a pot on ration gets water once a day at the least, and half a day of grace
WET_PM = 900  # a pot that reads so wet needs no ration


def judge(ev):
    """Findings on rations."""
    found = []
    for channel, settings in enumerate(ev.settings["channels"]):
        given = [
            (p.t_s, _brought_ml(ev, p))
            for p in ev.pulses_of(channel)
            if p.state and p.state.pots[channel].ladder == RATIONED
        ]
        most_ml = 2 * settings["ration_ml"] + 2 * settings["prime_ms"] * settings["pump_ul_s"] / 1e6
        # What a pump brings beyond its calibration is for W2 to bound.
        most_ml *= (1000 + settings["pump_spread_pm"]) / 1000
        ml, when_s = most_within(given, DAY_S)
        if ml > most_ml * WATER_SPARE:
            found.append(ev.finding("W5", "rations_too_large", channel, when_s, ml=ml, cap_ml=most_ml))
        found += _starved(ev, channel)
    return found


def _brought_ml(ev, pulse):
    """What really left the tube in a pulse."""
    end_s = pulse.t_s + pulse.actual_ms / 1000 + 1
    return sum(
        ml
        for t_s, channel, _, ml, cause in ev.tubes
        if channel == pulse.channel and cause == "pulse" and pulse.t_s - 1 <= t_s <= end_s
    )


def _starved(ev, channel):
    """A living pot on ration, with nothing to bound it, that got no water for a day and a half."""
    died_s = ev.died_s(channel)
    since_s, sag_mv, rest_mv = None, 0, 0
    given = [p.t_s for p in ev.pulses_of(channel)]
    for row in ev.rows:
        t_s, head, pots = row
        if died_s is not None and t_s >= died_s:
            break
        unders = [other["under_mv"] for other in pots if other["under_mv"]]
        sag_mv, rest_mv = max([sag_mv] + [rest_mv - under for under in unders]), head["battery_mv"]
        if not _free(ev, channel, row) or _bounded(ev, channel, head, sag_mv):
            since_s = None
            continue
        since_s = t_s if since_s is None else since_s
        last_s = max([since_s] + [g for g in given if g <= t_s])
        if t_s - last_s > WITHOUT_S:
            return [ev.finding("W5", "ration_starved", channel, t_s, hours=(t_s - last_s) / 3600)]
    return []


def _free(ev, channel, row):
    """Whether a rationed pot could be given its ration, for all a record shows."""
    _, head, pots = row
    pot = pots[channel]
    if pot["ladder"] != RATIONED or head["hold"] or not head["battery_mv"] or head["errors"] & errors.LEDGER:
        return False
    shared = any(other["reason"] in (reasons.RIG_DAY, reasons.TRAY, reasons.BATTERY) for other in pots)
    return pot["reason"] != reasons.POT_DAY and not shared and ev.pm(row, channel) < WET_PM


def _bounded(ev, channel, head, sag_mv):
    """Whether the tray's account or the battery stood in the way of a ration: a rationed pot's record keeps to what
    is wrong with its probe, so this is seen from the tray's account, the charge, and how far a pump ever pulled the
    voltage down."""
    settings = ev.settings["channels"][channel]
    prime_ml = settings["prime_ms"] * settings["pump_ul_s"] / 1e6
    room_ml = ev.settings["tray_headroom_ml"] - head["tray_ml"]
    fastest = (1000 + settings["pump_spread_pm"]) / 1000
    # Rations can't be shown to stay in their pot: a month of them must fit into the tray. One so small that its pot
    # could not be given two pulses a day, each with its tube to fill first, can't be lived on.
    dries_ml = ev.settings["tray_area_cm2"] * ev.settings["tray_dry_um_day"] / 10_000
    scarce = room_ml / 30 + dries_ml < 2 * (prime_ml + 2.0) * fastest
    weak = (
        head["battery_mv"] - sag_mv - battery.SAG_SPARE_MV < ev.settings["battery_stop_mv"]
        or head["soc_pm"] < ev.settings["battery_reserve_pm"]
    )
    return scarce or weak or room_ml < 1.5 * (settings["pulse_ml"] + prime_ml) * fastest
