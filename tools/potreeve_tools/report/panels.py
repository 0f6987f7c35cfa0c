"""The report's panels: each pot, tray, reservoir, battery, air and light. What a panel is: plots/panel.py."""

from datetime import datetime

from potreeve.logic import dosing

from potreeve_tools.plots.panel import level, line, right_ml
from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.words import alerts as alert_list


def make_panels(course, session, outcome):
    """All panels in the order of the page."""
    pots = [pot_panel(course, session, outcome, index) for index in range(len(outcome["pots"]))]
    return pots + [
        tray_panel(course, outcome),
        reservoir_panel(course, outcome),
        battery_panel(course, outcome),
        climate_panel(course),
        light_panel(course),
    ]


def pot_panel(course, session, outcome, index):
    """Moisture of one pot, true and as read, with its levels, doses and alerts."""
    pot, channel, lines = outcome["pots"][index], session.checked["channels"][index], course["pots"][index]
    refill, stress = dosing.refill_point_pm(channel), dosing.stress_point_pm(channel)
    seen = [v for v in lines["read"]["v"] + lines["true"]["v"] if v is not None]
    doses = lines["doses"]
    most = max(doses["v"], default=0) or 1
    panel = {
        "id": f"pot{index}",
        "title": pot["name"],
        "note": _pot_note(pot),
        "height": 260,
        "unit": " ‰",
        "low": max(0, min([stress, *seen]) - 140),
        "high": max([1090, *(v + 40 for v in seen if v < 1400)]),
        "band": list(definitions.band(channel)),
        "band_name": "its band",
        "levels": [level(1000, "capacity", "water", "dot"), level(refill, "refill", "clay", "dash")],
        "lines": [
            line(lines["read"], "as the probe read it", "stone", " ‰", width=1.4, dash="dot"),
            line(lines["true"], "in the pot", "leaf", " ‰", width=2.4),
        ],
        "right": right_ml(most),
        "bars": {
            "name": "doses, right scale",
            "m": doses["m"],
            "v": doses["v"],
            "text": [
                f"dose of {ml} ml in {runs} run{'' if runs == 1 else 's'}"
                for ml, runs in zip(doses["v"], doses["pulses"], strict=True)
            ],
        },
    }
    marks = [alert for alert in alert_list.parted(outcome["alerts"])[0] if alert["pot"] == pot["name"]]
    if marks:
        panel["marks"] = {
            "name": "alerts",
            "m": [minute_of(alert["when"], outcome["start"]) for alert in marks],
            "text": [alert["what"] for alert in marks],
        }
    return panel


def minute_of(when, start):
    """Minutes from the start of a run to a moment: "2026-06-01 10:00", "2026-06-01" -> 600."""
    return round((datetime.fromisoformat(when) - datetime.fromisoformat(start)).total_seconds() / 60)


def _pot_note(pot):
    share = "" if pot["in_band_pct"] is None else f"; {pot['in_band_pct']:.0f} % of the time in its band"
    doses = f"{pot['doses']} dose{'' if pot['doses'] == 1 else 's'}"
    return f"{pot['given_ml']:,.0f} ml in {doses}{share}; ended {pot['state']}{'' if pot['alive'] else ', dead'}"


def tray_panel(course, outcome):
    """Water in the tray: true, and the most the board reckons with, under the rim."""
    rim = outcome["rig"]["tray_headroom_ml"]
    return {
        "id": "tray",
        "title": "tray",
        "note": f"{outcome['rig']['tray_peak_ml']:,.0f} ml at most; the board counts cautiously: it takes water "
        "to be in the tray "
        "until it must have dried up",
        "height": 190,
        "unit": " ml",
        "low": 0,
        "high": max([rim, *course["tray"]["v"], *course["tray_board"]["v"]]) * 1.14,
        "levels": [level(rim, "rim", "clay", "solid")],
        "lines": [
            line(course["tray"], "in the tray", "water", " ml", wash="water"),
            line(
                course["tray_board"], "the most it could be, as the board counts", "ink", " ml", width=1.4, dash="dot"
            ),
        ],
    }


def _tub_days(days):
    return "" if days is None else f"; by its floats the board expects {days} day{'' if days == 1 else 's'} more"


def reservoir_panel(course, outcome):
    """Water the pumps can still reach."""
    return {
        "id": "reservoir",
        "title": "reservoir",
        "note": "what the pumps can still reach" + _tub_days(outcome["rig"]["tub_days_left"]),
        "height": 150,
        "unit": " l",
        "low": 0,
        "high": max([0.1, *course["reservoir"]["v"]]) * 1.14,
        "lines": [line(course["reservoir"], "left to pump", "water", " l", digits=2, wash="water")],
    }


def battery_panel(course, outcome):
    """State of charge: true, and as the board judges it."""
    days = outcome["rig"]["battery_days_left"]
    left = "no end in sight" if days >= 999 else f"the board expects {days} days more"
    return {
        "id": "battery",
        "title": "battery",
        "note": f"{outcome['rig']['charge_used_mah']:,.0f} mAh used; {left}",
        "height": 160,
        "unit": " %",
        "low": 0,
        "high": 104,
        "lines": [
            line(course["charge"], "true charge", "ochre", " %"),
            line(course["charge_board"], "as the board judges it", "ink", " %", width=1.4, dash="dot"),
        ],
    }


def climate_panel(course):
    """Air on the sill: temperature left, relative humidity right."""
    temps = course["temp"]["v"]
    return {
        "id": "climate",
        "title": "air on the sill",
        "note": "temperature on the left scale, humidity on the right",
        "height": 180,
        "unit": " °C",
        "low": min(temps) - 3,
        "high": max(temps) + 3,
        "right": {
            "low": 0,
            "high": 104,
            "ink": "water",
            "ticks": [{"at": 0, "text": "0"}, {"at": 50, "text": "50"}, {"at": 100, "text": "100 %"}],
        },
        "lines": [
            line(course["temp"], "temperature", "clay", " °C", digits=1, width=1.7),
            line(course["rh"], "relative humidity", "water", " %", width=1.3, dash="dot", right=True),
        ],
    }


def light_panel(course):
    """Light on the sill."""
    return {
        "id": "light",
        "title": "light",
        "note": "on the sill, behind the glass",
        "height": 150,
        "unit": " klx",
        "low": 0,
        "high": max([0.1, *course["light"]["v"]]) * 1.1,
        "lines": [line(course["light"], "light", "ochre", " klx", digits=1, width=1.3, wash="ochre")],
    }
