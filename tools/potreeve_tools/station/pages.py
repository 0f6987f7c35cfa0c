"""The station's pages as text. Whatever a rig told goes through escape()."""

from html import escape

from potreeve.logic.state import RATIONED

from potreeve_tools.plots import panel
from potreeve_tools.station import alarms as kinds
from potreeve_tools.station import potdrawing, words

DOSES = 20

LAYOUT = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{title}</title>
<link rel="icon" href="/static/leaf.svg" type="image/svg+xml">
<link rel="stylesheet" href="/static/plots.css">
<link rel="stylesheet" href="/static/page.css">
<noscript><meta http-equiv="refresh" content="60"></noscript>
</head>
<body>
<a class="skip" href="#main">Skip to the pots</a>
<header class="top"><nav aria-label="Places"><a class="home" href="/">Potreeve station</a>{nav}</nav>{account}</header>
<main id="main" tabindex="-1" data-part="{part}">
{body}
</main>
<p id="said" role="status" aria-live="polite" class="said"></p>
<script src="/static/plots.js" defer></script>
<script src="/static/page.js" defer></script>
</body>
</html>
"""


def layout(title, body, part="", nav="", account=""):
    """A whole page. part: the address from which its <main> is fetched anew when something changes."""
    return LAYOUT.format(title=escape(title), body=body, part=escape(part), nav=nav, account=account)


def logout(csrf):
    """The button to leave, where there is an account."""
    return f'<form method="post" action="/logout">{_csrf(csrf)}<button class="plain">Log out</button></form>'


def _csrf(csrf):
    return f'<input type="hidden" name="csrf" value="{escape(csrf)}">'


def login(csrf, wrong=False):
    """The body of the login page."""
    said = '<p class="off" role="alert">That was not the password. Wait a moment and try again.</p>' if wrong else ""
    return (
        f'<h1>Who is there?</h1>{said}<form method="post" action="/login" class="login">{_csrf(csrf)}'
        '<label for="password">Password of this station</label>'
        '<input id="password" name="password" type="password" autocomplete="current-password" required autofocus>'
        "<button>Come in</button></form>"
        '<p class="note">It was set with <code>potreeve station account</code>.</p>'
    )


def house(view, csrf):
    """The body of the first page: all rigs."""
    open_ = view.alarms
    calls = [one for one in open_ if one["level"] >= kinds.CALL and not one["acked_s"]]
    grade = "bad" if calls else "mind" if open_ else "good"
    if not view.sights:
        head = "No rig has been heard of yet."
    elif calls:
        head = "Something needs you." if len(calls) == 1 else f"{len(calls)} things need you."
    else:
        head = "Nothing is urgent." if open_ else "All is well."
    body = [f'<div class="{grade}"><h1>{head}</h1></div>', alarm_list(open_, view, csrf)]
    body += [rig_card(sight, view) for sight in view.sights]
    if not view.sights:
        body.append(
            "<p>Pair one with <code>potreeve station pair</code>, or let three simulated pots report: "
            "<code>potreeve rehearse --station</code>.</p>"
        )
    body.append(_foot(view))
    return "\n".join(body)


def alarm_list(some, view, csrf):
    """Open alarms with what to do, each with a button that says: seen."""
    if not some:
        return ""
    items = []
    for one in some:
        who = escape(one["pot"] or view.names.get(one["rig"], one["rig"]) or "the station")
        if one["pot"] and len(view.names) > 1:
            who += f' <span class="faint">{escape(view.names.get(one["rig"], one["rig"]))}</span>'
        what = escape(one["what"][:1].upper() + one["what"][1:])
        todo = f"<p><b>To do:</b> {escape(one['todo'])}.</p>" if one["todo"] else ""
        if one["acked_s"]:
            seen = f'<p class="note">Seen {words.ago(view.now_s - one["acked_s"])}.</p>'
        else:
            seen = (
                f'<form method="post" action="/alarm">{_csrf(csrf)}<input type="hidden" name="alarm" '
                f'value="{escape(one["alarm"])}">'
                f'<button aria-label="Seen: {escape(one["pot"] or one["rig"] or "station")}, '
                f'{escape(kinds.KINDS[one["kind"]])}">Seen</button></form>'
            )
        level = "call" if one["level"] >= kinds.CALL else "note-level"
        items.append(
            f'<li class="{level}"><h3>{who}</h3><p class="since faint">{escape(kinds.KINDS[one["kind"]])}, '
            f"{words.ago(view.now_s - one['raised_s'])}</p><p>{what}.</p>{todo}{seen}</li>"
        )
    title = '<h2 id="alarms">What is up</h2>'
    return f'<section aria-labelledby="alarms">{title}<ul class="alarms">{"".join(items)}</ul></section>'


def rig_card(sight, view, link=True):
    """One rig: state in words, pots as drawings, what else is known."""
    mine = [one for one in view.alarms if one["rig"] == sight.rig]
    grade, line = words.rig_line(sight, mine, view.now_s)
    name = escape(sight.name)
    title = f'<a href="/rig/{sight.rig}">{name}</a>' if link else name
    # Simulated data says that it is simulated.
    badge = ' <span class="badge">rehearsal, simulated</span>' if sight.rehearsed else ""
    promise = ""
    if sight.due_s and sight.promised_s:
        left = sight.promised_s + sight.due_s - view.now_s
        promise = f" The next report is due {words.within(left)}." if left > 0 else " Its next report is due now."
    broke = "; then its connection broke off" if sight.broke_off else ""
    heard = f"Last heard {words.ago(view.now_s - sight.heard_s)}{broke}.{promise}" if sight.heard_s else ""
    facts = "".join(
        f"<dt>{term}</dt><dd>{escape(text)}</dd>" for term, text in words.facts(sight, view.tubs.get(sight.rig))
    )
    tag, pots = ("h2", "h3") if link else ("h1", "h2")
    return (
        f'<section class="rig {grade}" aria-label="{name}"><{tag}>{title}{badge}</{tag}><p '
        f'class="state">{escape(line)}</p>'
        f'<p class="note">{escape(heard)}</p><ul '
        f'class="pots">{"".join(_pot(sight, index, pots) for index in range(len(sight.pots)))}</ul>'
        f"<dl>{facts}</dl></section>"
    )


def _pot(sight, index, tag):
    pot = sight.pots[index]
    name = sight.pot_names(len(sight.pots))[index]
    plant = sight.plants[index] if index < len(sight.plants) else ""
    refill = sight.refill_pm[index] if index < len(sight.refill_pm) else None
    grade, line = words.pot_line(pot)
    shown = f"; refill point {refill}\u00a0‰" if refill is not None else ""
    level = f'{pot["pm"]}\u00a0‰<span class="faint">{shown}</span>'
    believed = pot["ladder"] != RATIONED
    if not believed:
        level = f'not known<span class="faint">; the probe reads {pot["pm"]}\u00a0‰</span>'
    drawing = potdrawing.pot(name, plant, pot["pm"] if believed else None, refill, grade != "bad")
    return (
        f'<li class="{grade}">{drawing}<{tag}>{escape(name)}</{tag}>'
        f'<p class="level">{level}</p><p class="why">{escape(line)}</p></li>'
    )


def rig(view, sight, csrf, doses):
    """The body of a rig's own page."""
    mine = [one for one in view.alarms if one["rig"] == sight.rig]
    rows = "".join(
        f"<tr><td>{kinds.clock(at_s)}</td><td>{escape(name)}</td><td>{ms / 1000:.1f} s</td><td>{ul / 1000:.0f} "
        f"ml</td></tr>"
        for at_s, name, ms, ul in doses[:DOSES]
    )
    table = (
        f'<div class="scroll" tabindex="0" role="region" aria-label="Last pulses"><table><caption>Last '
        f'pulses</caption><tr><th scope="col">when</th>'
        f'<th scope="col">pot</th><th scope="col">pump ran</th><th scope="col">at most</th></tr>{rows}</table></div>'
        if rows
        else "<p>No water was given yet.</p>"
    )
    tub = (
        f'<form method="post" action="/tub">{_csrf(csrf)}<input type="hidden" name="rig" value="{sight.rig}">'
        "<button>The tub is full again</button></form>"
        if view.tubs.get(sight.rig) is not None
        else ""
    )
    spans = "".join(
        f'<button type="button" data-days="{days}">{text}</button>'
        for days, text in ((1, "day"), (7, "week"), (31, "month"), (0, "all"))
    )
    plots = (
        f'<section aria-labelledby="course"><h2 id="course">Moisture and doses</h2>'
        '<p class="note">In per mille of container capacity: 1000 ‰ is soaked and drained, 0 ‰ air-dry. '
        "Times are UTC. Drag across a plot to look closer, double-click to come back; with the keyboard: "
        "arrow keys read the values, "
        "plus and minus look closer or wider, Home shows the whole span.</p>"
        f'<div id="plots" data-rig="{sight.rig}"><div class="spans" role="group" aria-label="what the plots show">'
        f"{spans}{panel.movers()}</div>{panel.SPOKEN}"
        '<div id="panels"></div></div><noscript><p>The plots need JavaScript.</p></noscript></section>'
    )
    past = "".join(
        f'<li><span class="faint">{kinds.clock(one["raised_s"])} to {kinds.clock(one["cleared_s"])}</span> '
        f"{escape(one['pot'] or 'rig')}: {escape(one['what'])}.</li>"
        for one in view.past
        if one["rig"] == sight.rig
    )
    before = f'<section><h2>What is over</h2><ul class="past">{past}</ul></section>' if past else ""
    return "\n".join(
        [
            rig_card(sight, view, link=False),
            alarm_list(mine, view, csrf),
            tub,
            plots,
            f"<section><h2>Doses</h2>{table}</section>",
            before,
            _foot(view),
        ]
    )


def _foot(view):
    own = f'<p class="off">{escape(view.trouble)}</p>' if view.trouble else ""
    return (
        f"<footer>{own}<p>As of <time>{kinds.clock(view.now_s)}</time>. Nothing on this page moves water. Keep "
        f"electronics above the "
        "spill line, cables in a drip loop, and everything on battery or USB.</p></footer>"
    )
