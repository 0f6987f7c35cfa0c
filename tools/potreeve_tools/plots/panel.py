"""Panels: what one plot shows, its legend, and its figures as a table for those who can't or won't read a plot.

A panel is a dict that turns into JSON: id, title, note, height (px), low and
high (of the left axis), unit (written at its highest figure), lines, and where
wanted right ({"low", "high", "ink", "ticks": [{"at", "text"}]}), band ([low,
high]), levels, bars (on the right axis) and marks. Times are minutes since the
start. An ink is a name of plots.css: leaf, clay, water, ochre, stone, ink,
faint. Nothing is told apart by colour alone: each line has its own dash.
"""

from datetime import date, timedelta
from html import escape

DAY_MIN = 1440
DASHES = {"solid": "", "dot": "2 4", "dash": "7 5", "dashdot": "8 4 2 4"}
MOST_ROWS = 62
HELP = (
    "Arrow keys read the values, plus and minus look closer or wider, Page Up and Page Down move on, "
    "Home shows the whole run."
)


def line(points, name, ink, unit, **more):
    """A line. points: {"m": minutes, "v": values or None}.

    more: dash, width (px), digits, wash (an ink), right (bool: on the right axis).
    """
    found = {"m": points["m"], "v": points["v"], "name": name, "ink": ink, "unit": unit}
    found |= {"width": more.get("width", 2), "dash": DASHES[more.get("dash", "solid")], "digits": more.get("digits", 0)}
    return found | {key: more[key] for key in ("wash", "right") if more.get(key)}


def level(at, text, ink, dash="dash"):
    """A level across the plot; its name stands in the right margin."""
    return {"at": at, "text": text, "ink": ink, "dash": DASHES[dash]}


def right_ml(most):
    """A right axis for doses in ml, which take the lower part of the plot."""
    ticks = [{"at": 0, "text": "0"}, {"at": most, "text": f"{most} ml"}]
    return {"low": 0, "high": most * 3.6, "ink": "water", "ticks": ticks}


def drawable(panel):
    """What the script needs of a panel."""
    return {key: value for key, value in panel.items() if key not in ("title", "note", "band_name")}


def section(panel, start, minutes):
    """HTML of a panel: title, note, legend, the place of its plot, and its figures. start: the first day, a date."""
    words = escape(f"Plot: {panel['title']}. {said(panel)} {HELP}", quote=True)
    return (
        f'<section class="panel"><h3>{escape(panel["title"])}</h3><span class="note">{escape(panel["note"])}</span>'
        f"{legend(panel)}"
        f'<div class="plot" id="{panel["id"]}" role="group" tabindex="0" aria-label="{words}"></div>'
        f'<p class="readout">\u00a0</p>{figures(panel, start, minutes)}</section>'
    )


def legend(panel):
    """HTML list: one entry for each thing that is drawn."""
    items = [(one["name"], _swatch(one)) for one in panel["lines"]]
    items += [(one["text"], _swatch(one, 1.2)) for one in panel.get("levels", ())]
    if panel.get("band"):
        items.append((panel["band_name"], '<rect width="30" height="12" class="wash-leaf"/>'))
    if panel.get("bars"):
        bar = '<rect x="10" y="1" width="10" height="11" class="stroke wash-water ink-water"/>'
        items.append((panel["bars"]["name"], bar))
    if panel.get("marks"):
        items.append((panel["marks"]["name"], '<path d="M9 2h12l-6 9z" class="fill ink-clay"/>'))
    marks = "".join(
        f'<li><svg viewBox="0 0 30 12" aria-hidden="true">{mark}</svg>{escape(text)}</li>' for text, mark in items
    )
    return f'<ul class="key">{marks}</ul>'


def _swatch(one, width=None):
    wash = f'<rect y="6" width="30" height="6" class="wash-{one["wash"]}"/>' if one.get("wash") else ""
    return (
        f'{wash}<path d="M0 6H30" class="stroke ink-{one["ink"]}" stroke-width="{width or one["width"]}" '
        f'stroke-dasharray="{one["dash"] or "none"}"/>'
    )


def said(panel):
    """The panel in a few words: the range of each line, the levels, how much water in how many doses."""
    parts = []
    for one in panel["lines"]:
        known = [value for value in one["v"] if value is not None]
        parts.append(f"{one['name']}: {_range(known, one)}." if known else f"{one['name']}: not known.")
    parts += [f"{one['text']} at {one['at']:,.0f}{panel['unit']}." for one in panel.get("levels", ())]
    if panel.get("bars"):
        given = panel["bars"]["v"]
        parts.append(f"{len(given)} dose{'' if len(given) == 1 else 's'}, {sum(given):,.0f} ml.")
    return " ".join(parts)


def _range(known, one):
    low, high = f"{min(known):,.{one['digits']}f}", f"{max(known):,.{one['digits']}f}"
    return f"{low}{one['unit']}" if low == high else f"{low} to {high}{one['unit']}"


def figures(panel, start, minutes):
    """HTML: the plot as a table, a row a day, or a row for several days where the run is long."""
    days = max(1, -(-minutes // DAY_MIN))
    stride = -(-days // MOST_ROWS)
    heads = ["from", *(f"{one['name']},{one['unit']}" for one in panel["lines"])]
    heads += ["given, ml"] if panel.get("bars") else []
    rows = []
    for first in range(0, days, stride):
        begin, end = first * DAY_MIN, (first + stride) * DAY_MIN
        day = start + timedelta(days=first)
        cells = [f"{day.day} {day:%b}"]
        for one in panel["lines"]:
            known = [v for m, v in zip(one["m"], one["v"], strict=True) if begin <= m < end and v is not None]
            cells.append(_range(known, {**one, "unit": ""}) if known else "not known")
        if panel.get("bars"):
            bars = panel["bars"]
            cells.append(f"{sum(v for m, v in zip(bars['m'], bars['v'], strict=True) if begin <= m < end):,.0f}")
        rows.append(
            '<tr><th scope="row">'
            + "</th><td>".join(cells[:2])
            + "</td>"
            + "".join(f"<td>{c}</td>" for c in cells[2:])
            + "</tr>"
        )
    many = "by day" if stride == 1 else f"for each {stride} days"
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    return (
        f'<details class="figures"><summary>figures of {escape(panel["title"])} {many}</summary>'
        f'<div class="scroll" tabindex="0" role="region" aria-label="figures of {escape(panel["title"], quote=True)}">'
        f"<table><thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div></details>"
    )


def buttons(minutes, week_min=7 * DAY_MIN):
    """HTML: the buttons that move all plots, and the line that is read aloud."""
    spans = [("whole run", 'data-deed="whole"')]
    if minutes > week_min * 1.4:
        spans += [
            ("first week", f'data-from="0" data-to="{week_min}"'),
            ("last week", f'data-from="{minutes - week_min}" data-to="{minutes}"'),
        ]
    return (
        '<div class="spans" role="group" aria-label="what the plots show">'
        + "".join(f'<button type="button" {data}>{text}</button>' for text, data in spans)
        + f"{movers()}</div>{SPOKEN}"
    )


def movers():
    """HTML: the buttons that look closer, or move on."""
    return "".join(
        f'<button type="button" data-deed="{text}">{text}</button>'
        for text in ("closer", "farther", "earlier", "later")
    )


SPOKEN = '<p class="spoken" role="status"></p>'
"""The line that is read aloud."""


def day_of(text):
    """The date of an ISO text."""
    return date.fromisoformat(text)
