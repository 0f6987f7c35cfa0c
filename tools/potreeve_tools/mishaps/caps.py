"""Whether the caps of its settings keep a pot from water, by what was really pumped."""

from potreeve.logic import dosing

from potreeve_tools.mishaps.evidence import DAY_S
from potreeve_tools.mishaps.rolling import most_within
from potreeve_tools.mishaps.settings_of import in_force


def stood_in_the_way(ev, channel, span):
    """Whether on every day of a span the pot's day, the rig's day or the tray's headroom left less than one pulse."""
    at_s = max(0.0, span[0])
    while at_s < span[1]:
        if not _on_one_day(ev, channel, at_s, min(at_s + DAY_S, span[1])):
            return False
        at_s += DAY_S
    return True


def _on_one_day(ev, channel, from_s, to_s):
    settings = in_force(ev, to_s)
    own = settings["channels"][channel]
    pulse_ml = _counted_ml(own, own["pulse_ml"] + dosing.day_prime_ms(own) * own["pump_ul_s"] / 1e6)
    # Water counts for a day from its pulse on: that of the day before still fills a cap.
    given = [(p, _pumped_ml(settings, p)) for p in ev.pulses if from_s - DAY_S <= p.t_s < to_s]
    rig_ml, _ = most_within([(p.t_s, ml) for p, ml in given], DAY_S)
    own_ml, _ = most_within([(p.t_s, ml) for p, ml in given if p.channel == channel], DAY_S)
    # By what the tray really holds: an account that is full of water which never came is no cap of the settings.
    tray_ml = next((sample["tray_ml"] for sample in ev.samples if sample["t_s"] >= to_s), ev.last["tray_ml"])
    room_ml = settings["tray_headroom_ml"] - tray_ml
    return rig_ml + pulse_ml > settings["rig_day_ml"] or own_ml + pulse_ml > own["day_ml"] or room_ml < pulse_ml


def _pumped_ml(settings, pulse):
    """What a pulse counts against the caps."""
    own = settings["channels"][pulse.channel]
    return _counted_ml(own, pulse.actual_ms * own["pump_ul_s"] / 1e6)


def _counted_ml(own, ml):
    """Water as it must be counted: with what a pump may bring beyond its calibration."""
    return ml * (1000 + own["pump_spread_pm"]) / 1000
