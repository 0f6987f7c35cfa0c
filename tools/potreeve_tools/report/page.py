"""Puts the page together: words, drawing, tables, plots, and how it was made."""

import json
import platform
from datetime import date, datetime
from html import escape
from importlib.metadata import version
from pathlib import Path

from potreeve_tools import plots
from potreeve_tools.plots import panel
from potreeve_tools.rehearsal import outcome as definitions
from potreeve_tools.rehearsal import verdict
from potreeve_tools.report import drawing, panels, series
from potreeve_tools.words import alerts as alert_list
from potreeve_tools.world import ownparts, rooms

HERE = Path(__file__).resolve().parent
PLACES = {"greensboro": "Greensboro, North Carolina, USA", "sand-point": "Sand Point, Alaska, USA"}

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{title}</title>
<style>
{css}</style>
</head>
<body>
<main>
{body}
</main>
<script type="application/json" id="course">{course}</script>
<script>
{js}potreevePlots.draw(JSON.parse(document.getElementById("course").textContent));
</script>
</body>
</html>
"""


def make_page(session, outcome, command):
    """The whole page as text. command: the line that makes this rehearsal again."""
    rows = definitions.decoded(session)
    found = panels.make_panels(series.course(session, rows), session, outcome)
    minutes = round(session.samples[-1]["t_s"] / 60)
    course = {"start": outcome["start"], "minutes": minutes, "panels": [panel.drawable(one) for one in found]}
    body = "\n".join(
        [
            _head(session, outcome),
            _pots(outcome),
            _alerts(outcome),
            _plots(found, len(outcome["pots"]), date.fromisoformat(outcome["start"]), minutes),
            _made(session, outcome, command),
            _foot(session),
        ]
    )
    return PAGE.format(
        title=escape(f"{outcome['rig_name']}: {verdict.judge(outcome)[1]}"),
        body=body,
        css=plots.style() + (HERE / "page.css").read_text(encoding="utf-8"),
        js=plots.script(),
        course=json_for_script(course),
    )


def json_for_script(value):
    """JSON that no name in it can end the script element with."""
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


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
    cells = "".join(f'<th scope="col">{head}</th>' for head in heads)
    return (
        '<h2 id="pots">The pots</h2><div class="scroll" tabindex="0" role="region" '
        'aria-labelledby="pots"><table><thead><tr>'
        f"{cells}</tr></thead><tbody>"
        f"{lines}</tbody></table></div>"
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
        f'<tr><th scope="row" class="name">{escape(pot["name"])}</th>'
        + "".join(f"<td>{cell}</td>" for cell in cells)
        + f"<td{off}>{escape(state)}</td></tr>"
    )


def _alerts(outcome):
    loud, calm = alert_list.parted(outcome["alert_groups"])
    first = _said("Alerts", "alerts", loud) if loud else "<h2>Alerts</h2><p>No alerts.</p>"
    return first + (_said(alert_list.CALM, "calm", calm) if calm else "")


def _said(title, name, groups):
    lines = "".join(
        f"<tr><td>{_when(alert)}</td><td>{escape(alert['pot'] or 'rig')}</td><td>{escape(alert['what'])}"
        + (f' <span class="faint">To do: {escape(alert["do"])}.</span>' if alert["do"] else "")
        + "</td></tr>"
        for alert in groups
    )
    return (
        f'<h2 id="{name}">{escape(title)}</h2><div class="scroll" tabindex="0" role="region" '
        f'aria-labelledby="{name}"><table class="alerts"><tr><th>when</th><th>who</th><th>what happened, and what '
        f"to do</th></tr>{lines}</table></div>"
    )


def _when(group):
    """When it was said, or from when to when and how often."""
    first, last = escape(group["first_when"]), escape(group["last_when"])
    return first if group["count"] == 1 else f"{first}<br>to {last}, ×{group['count']}"


def _plots(found, pots, start, minutes):
    def sections(some):
        return "".join(panel.section(one, start, minutes) for one in some)

    return (
        '<h2>Moisture and doses</h2><p class="note">In per mille of container capacity: 1000\u00a0‰ is soaked '
        "and drained, "
        "0\u00a0‰ air-dry. Water is due at the refill point at the latest, above it while a plant drinks much.</p>"
        f'{panel.buttons(minutes)}<p class="note screen">Drag across a plot to look closer, double-click to come '
        "back. With the keyboard: arrow "
        "keys read the values, plus and minus look closer or wider, Home shows the whole run.</p>"
        f"<noscript><p>The plots need JavaScript. The figures under each plot do not.</p></noscript>"
        f"{sections(found[:pots])}<h2>Tray, reservoir, battery, weather</h2>{sections(found[pots:])}"
    )


def _made(session, outcome, command):
    made, rig = outcome["interpreter"], session.world.rig
    weather = (
        f"{PLACES.get(rig.site['data'], rig.site['data'])}: a typical meteorological year (TMY3, NREL), "
        "taken through the window by the stated model"
    )
    own = ownparts.sentences(outcome.get("own", {}))
    if rig.weather is not None:
        weather, own = own[0].removeprefix("Weather: "), own[1:]
    items = (
        ("again", f"<code>{escape(command)}</code>"),
        (
            "firmware",
            f"unchanged, run in {escape(made['name'])} {escape(made['version'])} with the heap and the file system of "
            f"{escape(outcome['board'])}; {outcome['wakes']:,} wakes"
            if made["name"] != "cpython"
            else f"unchanged, run in CPython {escape(made['version'])} with the file system of "
            f"{escape(outcome['board'])}; "
            f"{outcome['wakes']:,} wakes",
        ),
        ("records", f"<code>{outcome['digest']}</code> (SHA-256)"),
        ("settings", f"<code>{outcome['settings_digest']}</code> (SHA-256)"),
        ("weather", escape(weather)),
        *(("plant", escape(line)) for line in own),
        ("versions", f"potreeve {version('potreeve')}, Python {platform.python_version()}"),
        ("made", f"{long_date(datetime.now())}, {datetime.now():%H:%M}"),
    )
    return (
        "<h2>How this was made</h2><dl>" + "".join(f"<dt>{term}</dt><dd>{text}</dd>" for term, text in items) + "</dl>"
    )


def _foot(session):
    where = session.world.rig.where
    rig = (
        "The room, its pots, tub and tray are invented data"
        if where in map(str, rooms.PATHS)
        else f"The rig is that of {Path(where).name}"
    )
    sky = "only the weather behind the glass was measured"
    if session.world.rig.weather is not None:
        sky = "its weather is that of a file"
    return (
        f"<footer><p>{escape(rig)}; {sky}. This is a rehearsal against a "
        "simulated "
        "rig: it shows what the firmware decides, not what your plants will do. Keep electronics above the spill line, "
        "cables in a drip loop, and everything on battery or USB.</p></footer>"
    )
