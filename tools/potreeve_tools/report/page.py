"""Puts the page together: words, drawing, tables, plots, and how it was made."""

import json
import platform
from datetime import date, datetime
from html import escape
from importlib.metadata import version
from pathlib import Path

from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.rehearsal import verdict
from potreeve_tools.report import drawing, panels, series
from potreeve_tools.world.rigfile import DEFAULT_RIG

HERE = Path(__file__).resolve().parent
PLACES = {"greensboro": "Greensboro, North Carolina, USA", "sand-point": "Sand Point, Alaska, USA"}
WEEK_MIN = 7 * 1440

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
{css}</style>
</head>
<body>
<main>
{body}
</main>
<script type="application/json" id="course">{course}</script>
<script>{plotly}</script>
<script>
{js}</script>
</body>
</html>
"""


def make_page(session, outcome, command):
    """The whole page as text. command: the line that makes this rehearsal again."""
    rows = definitions.decoded(session)
    found = panels.make_panels(series.course(session, rows), session, outcome)
    minutes = round(session.samples[-1]["t_s"] / 60)
    course = {
        "start": outcome["start"],
        "minutes": minutes,
        "panels": [{key: panel[key] for key in ("id", "height", "data", "layout")} for panel in found],
    }
    body = "\n".join(
        [
            _head(session, outcome),
            _pots(outcome),
            _alerts(outcome),
            _plots(found, len(outcome["pots"]), minutes),
            _made(session, outcome, command),
            _foot(session),
        ]
    )
    return PAGE.format(
        title=escape(f"{outcome['rig_name']}: {verdict.judge(outcome)[1]}"),
        body=body,
        css=(HERE / "page.css").read_text(encoding="utf-8"),
        js=(HERE / "page.js").read_text(encoding="utf-8"),
        course=json_for_script(course),
        plotly=_plotly_js(),
    )


def json_for_script(value):
    """JSON that no name in it can end the script element with."""
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _plotly_js():
    from plotly.offline import get_plotlyjs

    return get_plotlyjs().replace("</script", "<\\/script")


def long_date(day):
    """A date as people write it: 1 June 2026."""
    return f"{day.day} {day:%B} {day.year}"


def _head(session, outcome):
    grade, headline, points = verdict.judge(outcome)
    days = outcome["days"]
    where = (
        f"{outcome['rig_name']} · {days:g} day{'' if days == 1 else 's'} from "
        f"{long_date(date.fromisoformat(outcome['start']))} · seed {outcome['seed']}"
    )
    items = "".join(f"<li>{escape(point)}</li>" for point in points)
    return (
        f'<header class="{grade}"><p class="where">{escape(where)}</p><h1>{escape(headline)}</h1>'
        f'<ul class="points">{items}</ul></header>\n{drawing.sill(session, outcome)}\n'
        '<p class="under faint">The sill at the end. Dark soil: moisture, as a share of container capacity. '
        "Notch: refill point. In the tray: the most that ever stood there.</p>"
    )


def _pots(outcome):
    heads = ("pot", "given", "drunk", "evaporated", "drained", "in band", "dry", "soaked", "doses", "pulses", "state")
    lines = "".join(_pot_row(pot) for pot in outcome["pots"])
    return (
        f'<h2>The pots</h2><div class="scroll"><table><tr>{"".join(f"<th>{head}</th>" for head in heads)}</tr>'
        f"{lines}</table></div>"
        f'<p class="note">In band: between {definitions.BELOW_REFILL_PM} ‰ below the refill point and '
        f"{definitions.SOAKED_PM} ‰ of container capacity, in the time after the first three days. "
        "Dry: below the stress point, half-way from the refill point to wilting.</p>"
    )


def _pot_row(pot):
    share = "–" if pot["in_band_pct"] is None else f"{pot['in_band_pct']:.1f} %"
    cells = [f"{pot[key]:,.0f} ml" for key in ("given_ml", "transpired_ml", "evaporated_ml", "leachate_ml")]
    cells += [share, f"{pot['dry_h']:,.0f} h", f"{pot['soaked_h']:,.0f} h", pot["doses"], pot["pulses"]]
    state = pot["state"] if pot["alive"] else pot["state"] + ", dead"
    off = "" if state == "tended" else ' class="off"'
    return (
        f'<tr><td class="name">{escape(pot["name"])}</td>'
        + "".join(f"<td>{cell}</td>" for cell in cells)
        + f"<td{off}>{escape(state)}</td></tr>"
    )


def _alerts(outcome):
    if not outcome["alerts"]:
        return "<h2>Alerts</h2><p>Nothing anyone had to be told.</p>"
    lines = "".join(
        f"<tr><td>{escape(alert['when'])}</td><td>{escape(alert['pot'] or 'rig')}</td><td>{escape(alert['what'])}"
        + (f' <span class="faint">To do: {escape(alert["do"])}.</span>' if alert["do"] else "")
        + "</td></tr>"
        for alert in outcome["alerts"]
    )
    return (
        '<h2>Alerts</h2><div class="scroll"><table class="alerts"><tr><th>when</th><th>who</th><th>what happened, and '
        "what "
        f"to do</th></tr>{lines}</table></div>"
    )


KEY = (
    ("moisture of the root zone", f'<path d="M0 6H34" stroke="{panels.LEAF}" stroke-width="2.6"/>'),
    ("as the probe read it", f'<path d="M0 6H34" stroke="{panels.STONE}" stroke-width="1.8" stroke-dasharray="2 3"/>'),
    ("its band", f'<rect width="34" height="12" fill="{panels.LEAF}" opacity="0.16"/>'),
    (
        "dose (right scale)",
        f'<rect x="11" y="1" width="10" height="11" fill="{panels.WATER}" fill-opacity="0.22" '
        f'stroke="{panels.WATER}"/>',
    ),
    ("alert", f'<path d="M11 2h12l-6 9z" fill="{panels.CLAY}"/>'),
)


def _plots(found, pots, minutes):
    key = "".join(f'<li><svg viewBox="0 0 34 12" aria-hidden="true">{mark}</svg>{text}</li>' for text, mark in KEY)
    spans = [("whole run", 0, minutes)]
    if minutes > WEEK_MIN * 1.4:
        spans += [("first week", 0, WEEK_MIN), ("last week", minutes - WEEK_MIN, minutes)]
    buttons = "".join(f'<button type="button" data-from="{a}" data-to="{b}">{text}</button>' for text, a, b in spans)
    return (
        f'<h2>Moisture and doses</h2><p class="note">In per mille of container capacity: 1000\u00a0‰ is soaked and '
        f"drained, "
        f'0\u00a0‰ air-dry. Water is due at the refill point.</p><ul class="key">{key}</ul><p '
        f'class="spans">{buttons}<span class="faint">or drag across a plot to '
        f"look closer, double-click to come back</span></p>{''.join(_panel(panel) for panel in found[:pots])}"
        f"<h2>Tray, reservoir, battery, weather</h2>{''.join(_panel(panel) for panel in found[pots:])}"
    )


def _panel(panel):
    return (
        f'<section class="panel"><h3>{escape(panel["title"])}</h3><span class="note">{escape(panel["note"])}</span>'
        f'<div class="plot"><div id="{panel["id"]}" style="height:{panel["height"]}px"></div><div '
        f'class="hair"></div></div>'
        "</section>"
    )


def _made(session, outcome, command):
    made, rig = outcome["interpreter"], session.world.rig
    weather = PLACES.get(rig.site["data"], rig.site["data"])
    items = (
        ("again", f"<code>{escape(command)}</code>"),
        (
            "firmware",
            f"unchanged, run in {escape(made['name'])} {escape(made['version'])} with the heap and the file system of "
            f"{escape(outcome['board'])}; {outcome['wakes']:,} wakes"
            if made["name"] != "cpython"
            else f"unchanged, run in CPython {escape(made['version'])} with the file system of "
            f"{escape(outcome['board'])}; {outcome['wakes']:,} wakes",
        ),
        ("records", f"<code>{outcome['digest']}</code> (SHA-256)"),
        ("settings", f"<code>{outcome['settings_digest']}</code> (SHA-256)"),
        (
            "weather",
            f"{escape(weather)}: a typical meteorological year (TMY3, NREL), "
            "taken through the window by the stated model",
        ),
        ("versions", f"potreeve {version('potreeve')}, Python {platform.python_version()}, plotly {version('plotly')}"),
        ("made", f"{long_date(datetime.now())}, {datetime.now():%H:%M}"),
    )
    return (
        "<h2>How this was made</h2><dl>" + "".join(f"<dt>{term}</dt><dd>{text}</dd>" for term, text in items) + "</dl>"
    )


def _foot(session):
    where = session.world.rig.where
    rig = (
        "The room, its pots, tub and tray are invented data"
        if where == str(DEFAULT_RIG)
        else f"The rig is that of {Path(where).name}"
    )
    return (
        f"<footer><p>{escape(rig)}; only the weather behind the glass was measured. This is a rehearsal against a "
        f"simulated "
        "rig: it shows what the firmware decides, not what your plants will do. Keep electronics above the spill line, "
        "cables in a drip loop, and everything on battery or USB.</p></footer>"
    )
