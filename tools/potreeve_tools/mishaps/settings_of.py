"""The settings that were, or may have been, in force in a run."""

import json

from potreeve.logic import settings as settings_logic


def all_settings(ev):
    """All settings that may be in force in a run."""
    sent = sent_settings(ev)
    return [ev.settings] + ([sent] if sent else [])


def sent_settings(ev):
    """Settings sent in mid-run, checked; None where there are none or they do not pass."""
    if not any(f.kind == "settings_sent" for f in ev.mishaps):
        return None
    return settings_logic.check(json.loads(ev.session.sent))[0]


def cap(ev, channel, key):
    """A channel's largest value of a key."""
    return max(s["channels"][channel][key] for s in all_settings(ev))


def in_force(ev, t_s):
    """Settings in force at a time: those sent, once the board took them."""
    sent = sent_settings(ev)
    taken = [f.start_s for f in ev.mishaps if f.kind == "settings_sent" and f.bit]
    return sent if sent and taken and t_s >= min(taken) else ev.settings
