"""What the plots show: columns of numbers per panel, each also told in words."""

from potreeve.logic import record

from potreeve_tools.station import sight

DAY_S = 86400


def panels(store, one, from_s, to_s):
    """List of panels {title, words, range, series, data}; data: seconds, then a column per series, None where nothing
    is known."""
    rows = sight.history(store, one, from_s, to_s)
    times = [row[0] for row in rows]
    count = max([len(row[2]) for row in rows], default=0)
    names = one.pot_names(count)
    found = [_pot(index, name, one, rows, times) for index, name in enumerate(names)]
    if rows:
        found.append(
            _plain("Battery", "charge", "%", "--leaf", times, [row[1]["soc_pm"] / 10 for row in rows], [0, 100])
        )
        temp = [None if row[1]["temp_cdeg"] == record.NO_TEMP else row[1]["temp_cdeg"] / 100 for row in rows]
        if any(value is not None for value in temp):
            found.append(_plain("Air", "temperature", "°C", "--clay", times, temp, None))
        lx = [None if row[1]["lx"] < 0 else row[1]["lx"] for row in rows]
        if any(value is not None for value in lx):
            found.append(_plain("Light", "light", "lx", "--amber", times, lx, None))
    return found


def _pot(index, name, one, rows, times):
    level = [row[2][index]["pm"] if index < len(row[2]) else None for row in rows]
    doses = [
        row[2][index]["most_tenths"] / 10 if index < len(row[2]) and row[2][index]["pulse_ms"] else None for row in rows
    ]
    refill = one.refill_pm[index] if index < len(one.refill_pm) else None
    series = [
        {"label": "moisture", "unit": "‰", "colour": "--leaf"},
        {"label": "dose, at most", "unit": "ml", "colour": "--water", "scale": "dose", "bars": True},
    ]
    data = [times, level, doses]
    if refill is not None:
        series.append({"label": "refill point", "unit": "‰", "colour": "--clay", "dash": [6, 4]})
        data.append([refill] * len(rows))
    known = [value for value in level if value is not None]
    words = f"Moisture of {name}: nothing known in this span."
    if known:
        given = sum(1 for value in doses if value)
        words = (
            f"Moisture of {name}, from {known[0]} to {known[-1]} per mille, lowest {min(known)}, highest {max(known)}, "
            f"{given} pulse{'' if given == 1 else 's'} of water."
        )
    span = [min([0, *known]), max([1100, *known])]
    return {"title": name, "words": words, "range": span, "series": series, "data": data}


def _plain(title, label, unit, colour, times, values, span):
    known = [value for value in values if value is not None]
    words = (
        f"{title}: {label} from {known[0]:g} to {known[-1]:g} {unit}, lowest {min(known):g}, highest {max(known):g}."
    )
    series = [{"label": label, "unit": unit, "colour": colour}]
    return {"title": title, "words": words, "range": span, "series": series, "data": [times, values]}


def pulses(store, one, most):
    """(wall second, pot, ms, at most µl) of the last pulses, newest first."""
    found = []
    rows = store.rows("SELECT at_s, body FROM records WHERE rig = ? ORDER BY at_s DESC LIMIT ?", (one.rig, most * 60))
    for at_s, body in rows:
        _, pots = record.decode(bytes(body))
        names = one.pot_names(len(pots))
        found += [
            (at_s, names[index], pot["pulse_ms"], pot["most_tenths"] * 100)
            for index, pot in enumerate(pots)
            if pot["pulse_ms"]
        ]
        if len(found) >= most:
            break
    return found[:most]


def span(store, rig, query):
    """(from, to) wall seconds a query asks for: from and to, or the last `days` (0: all). Nonsense gives all."""
    known = sight.spans(store, rig)
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
