"""What the plots show: panels of plots/panel.py, made of the records of a span."""

from datetime import UTC, datetime

from potreeve.logic import record, recorded

from potreeve_tools.plots import panel
from potreeve_tools.station import sight

DAY_S = 86400
# Pulses closer together than this are one dose.
DOSE_GAP_MIN = 180
EMPTY = {"start": "1970-01-01", "first": 0, "minutes": 1, "panels": []}


def course(store, one, from_s, to_s):
    """(what plots.js draws, the HTML of its panels with legends and figures) of a rig's Sight; times are UTC."""
    rows = sight.history(store, one, from_s, to_s)
    if not rows:
        return EMPTY, '<p class="note">No record lies in this span.</p>'
    midnight_s = rows[0][0] // DAY_S * DAY_S
    start = datetime.fromtimestamp(midnight_s, UTC).date()
    minutes = [round((at_s - midnight_s) / 60) for at_s, _, _ in rows]
    found = panels(one, rows, minutes)
    last = max(minutes[-1], minutes[0] + 1)
    html = "".join(panel.section(each, start, last) for each in found)
    data = {"start": start.isoformat(), "first": minutes[0], "minutes": last}
    return {**data, "panels": [panel.drawable(each) for each in found]}, html


def panels(one, rows, minutes):
    """Panels: each pot, battery, air and light. rows: of sight.history; minutes: of each."""
    count = max(len(pots) for _, _, pots in rows)
    found = [_pot(index, name, one, rows, minutes) for index, name in enumerate(one.pot_names(count))]
    charge = [head["soc_pm"] / 10 for _, head, _ in rows]
    found.append(_plain("battery", "battery", "charge", " %", "ochre", minutes, charge, (0, 104)))
    temp = [None if head["temp_cdeg"] == record.NO_TEMP else head["temp_cdeg"] / 100 for _, head, _ in rows]
    lx = [None if head["lx"] < 0 else head["lx"] for _, head, _ in rows]
    if any(value is not None for value in temp):
        found.append(_plain("climate", "air", "temperature", " °C", "clay", minutes, temp, digits=1))
    if any(value is not None for value in lx):
        found.append(_plain("light", "light", "light", " lx", "ochre", minutes, lx))
    return found


def _pot(index, name, one, rows, minutes):
    level = [pots[index]["pm"] if index < len(pots) else None for _, _, pots in rows]
    given = [
        (m, pots[index]["most_tenths"] / 10)
        for m, (_, _, pots) in zip(minutes, rows, strict=True)
        if index < len(pots) and pots[index]["pulse_ms"]
    ]
    doses = _doses(given)
    most = round(max((ml for _, ml, _ in doses), default=0)) or 1
    refill = one.refill_pm[index] if index < len(one.refill_pm) else None
    stress = one.stress_pm[index] if index < len(one.stress_pm) else None
    known = [value for value in [*level, refill, stress] if value is not None]
    least = min(known, default=0)
    levels = [panel.level(1000, "capacity", "water", "dot")]
    levels += [panel.level(refill, "refill", "clay", "dash")] if refill is not None else []
    levels += [panel.level(stress, "stress", "ochre", "dashdot")] if stress is not None else []
    return {
        "id": f"pot{index}",
        "title": name,
        "note": f"{sum(ml for _, ml, _ in doses):,.0f} ml at most in {len(doses)} dose{'' if len(doses) == 1 else 's'}",
        "height": 230,
        "unit": " ‰",
        # A probe out of its pot reads below air-dry; that is to be seen.
        "low": max(0, least - 100) if least >= 0 else least - 40,
        "high": max([1090, *(value + 40 for value in known)]),
        "levels": levels,
        "lines": [panel.line({"m": minutes, "v": level}, "moisture, as the probe read it", "leaf", " ‰")],
        "right": panel.right_ml(most),
        "bars": {
            "name": "doses at most, right scale",
            "m": [m for m, _, _ in doses],
            "v": [round(ml) for _, ml, _ in doses],
            "text": [f"dose of at most {ml:.0f} ml in {runs} run{'' if runs == 1 else 's'}" for _, ml, runs in doses],
        },
    }


def _doses(given):
    """[(minute, ml, runs)] of pulses (minute, ml) in their order."""
    doses, last = [], None
    for m, ml in given:
        if last is None or m - last >= DOSE_GAP_MIN:
            doses.append([m, 0.0, 0])
        doses[-1][1] += ml
        doses[-1][2] += 1
        last = m
    return [tuple(dose) for dose in doses]


def _plain(name, title, label, unit, ink, minutes, values, span=None, digits=0):
    known = [value for value in values if value is not None]
    low, high = min(known), max(known)
    edge = max(1, (high - low) * 0.1)
    return {
        "id": name,
        "title": title,
        "note": "",
        "height": 160,
        "unit": unit,
        "low": span[0] if span else max(0, low - edge) if low >= 0 else low - edge,
        "high": span[1] if span else high + edge,
        "lines": [panel.line({"m": minutes, "v": values}, label, ink, unit, digits=digits)],
    }


def pulses(store, one, most):
    """(wall second, pot, ms, at most µl) of the last pulses, newest first."""
    found = []
    rows = store.rows("SELECT at_s, body FROM records WHERE rig = ? ORDER BY at_s DESC LIMIT ?", (one.rig, most * 60))
    for at_s, body in rows:
        _, pots = recorded.decode(bytes(body))
        names = one.pot_names(len(pots))
        found += [
            (at_s, names[index], pot["pulse_ms"], pot["most_tenths"] * 100)
            for index, pot in enumerate(pots)
            if pot["pulse_ms"]
        ]
        if len(found) >= most:
            break
    return found[:most]


def span(store, one, query):
    """(from, to) wall seconds a query asks for: from and to, or the last `days` (0: all). Nonsense gives all."""
    known = sight.spans(store, one)
    if known is None:
        return 0, 0
    first, last = known

    def number(name):
        text = query.get(name, "")
        return int(text) if text.isdecimal() and text.isascii() and len(text) < 12 else None

    start, end, days = number("from"), number("to"), number("days")
    if start is not None and end is not None and start < end:
        return start, end
    return (last - days * DAY_S, last) if days else (first, last)
