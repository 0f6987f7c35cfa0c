"""Sentences of the page: how a rig is, in words."""

from potreeve.logic import reasons, record, signals
from potreeve.logic.state import TENDED

from potreeve_tools.link import logs_read
from potreeve_tools.words import sentences


def ago(seconds):
    """A past moment as people say it."""
    if seconds < 90:
        return "just now" if seconds < 45 else "a minute ago"
    if seconds < 5400:
        return f"{round(seconds / 60)} minutes ago"
    if seconds < 129600:
        return f"{round(seconds / 3600)} hours ago"
    return f"{round(seconds / 86400)} days ago"


def within(seconds):
    """A coming moment as people say it."""
    if seconds < 90:
        return "within a minute"
    if seconds < 5400:
        return f"within {round(seconds / 60)} minutes"
    return f"within {round(seconds / 3600)} hours" if seconds < 129600 else f"within {round(seconds / 86400)} days"


def rig_line(sight, alarms, now_s):
    """(grade, headline) of a rig: "good", "mind" or "bad"."""
    calls = [alarm for alarm in alarms if alarm["level"] >= signals.CALL and not alarm["acked_s"]]
    if any(alarm["kind"] == "silent" for alarm in alarms):
        return "bad", f"Not heard of: its promise to report is broken. Last heard {ago(now_s - sight.heard_s)}."
    if not sight.heard_s:
        return "mind", "Paired, and not heard of yet."
    if sight.head is None:
        return "mind", "It has said that it is there; no record of it has come yet."
    if calls:
        return "bad", "It needs you." if len(calls) == 1 else f"{len(calls)} things need you."
    if alarms:
        return "mind", "See to it when you pass."
    return "good", "All is well." if len(sight.pots) == 1 else "All pots are tended."


def pot_line(pot):
    """(grade, words) of a pot's state."""
    rung, reason = pot["ladder"], pot["reason"]
    name = sentences.RUNGS.get(rung, f"on rung {rung}")
    if reason == reasons.NONE:
        return ("good" if rung == TENDED else "bad"), name
    what, _ = sentences.why(reason)
    level = signals.pot_level(rung, reason)
    return ("good", "mind", "bad")[level], f"{name}: {what}"


def facts(sight, tub_days):
    """(name, words) pairs of the rig as a whole."""
    head = sight.head
    if head is None:
        return []
    found = [
        (
            "battery",
            f"{head['days_left']} days left, {head['soc_pm'] / 10:.0f} % charged, {head['battery_mv'] / 1000:.2f} V",
        )
    ]
    told = sentences.tub(head["tub_days"], head["tub_mark"])
    if told:
        found.append(("tub", told))
    elif tub_days is not None:
        found.append(("tub", f"water for {tub_days:.0f} days or more"))
    found.append(("tray", f"{head['tray_ml']} ml at most"))
    air = []
    if head["temp_cdeg"] != record.NO_TEMP:
        air.append(f"{head['temp_cdeg'] / 100:.1f} °C")
    if head["soil_cdeg"] != record.NO_TEMP:
        air.append(f"soil {head['soil_cdeg'] / 100:.1f} °C")
    if head["rh_pm"] != record.NO_RH:
        air.append(f"{head['rh_pm'] / 10:.0f} % humid")
    if head["lx"] != record.NO_LX:
        air.append(f"{head['lx']:,} lx")
    if air:
        found.append(("air and light", ", ".join(air)))
    found.append(("record", f"{head['seq']:,}, {logs_read.span(head['up_s'])} proven"))
    if sight.about:
        version = sight.about.get("firmware")
        found.append(("board", sight.about.get("board", "not told") + (f", Potreeve {version}" if version else "")))
    return found
