"""What the display shows: which pages there are, what each says, and what a press says to them.

A page is strokes for hal/picture.py: tuples of a name and its arguments, those of MicroPython's framebuf.FrameBuffer
(`text`, `hline`, `vline`, `line`, `rect`, `fill_rect`, `ellipse`; ink 1 lit, 0 dark), and `big` (text, x, y), which
is text of twice the size. 128 dots wide, 64 high, y downwards; letters are 8 by 8. Drawn like the report's sill: a
pot filled to its moisture, a notch at its refill point, a plant that hangs as it lacks water.

A press while it is dark lights it and says nothing: what is wrong must be seen before it can be seen to. Lit, a
press turns the page; on the last page, which is there when something waits for a person, it says that it was seen to. A
long press holds the rig, or lets it go on, whatever is shown.
"""

from potreeve.logic import debounce, errors, facepot, facewords, limits, reasons, signals
from potreeve.logic.state import HELD, RATIONED, TENDED
from potreeve.logic.units import clamp, const, div_up

# Dark again so long after the last press, and at the latest so long after the first (common practice, no source).
LIT_MS = 30000
MOST_MS = 120000

WIDTH = const(128)
HEIGHT = const(64)
_LETTER = const(8)

# Kinds of pages.
SILL = 0
WRONG = 1
POT = 2
STORES = 3
SEEN_TO = 4

# Faults of a wake that are told on a page: all but what another page says, and a report that failed.
TOLD = 0xFFFF - errors.CODE - errors.RADIO

# What a record says where nobody knows how long the tub lasts.
_NO_TUB_DAYS = const(255)

_RUNGS = {TENDED: "tended", RATIONED: "rationed", HELD: "held"}


class Seen:
    """What the pages are made of. state, settings: as of this wake; head: its record's, see record.HEAD_NAMES.

    wrong: [(pot, -1 the rig; number of facewords)], the rig's first, then pot by pot.
    """

    def __init__(self, state, settings, head):
        self.state = state
        self.settings = settings
        self.head = head
        self.wrong = _wrong(self)


def pages(seen):
    """[(kind, which)] of all pages, in their order."""
    found = [(SILL, 0)]
    found += [(WRONG, index) for index in range(len(seen.wrong))]
    found += [(POT, index) for index in range(len(seen.state.pots))]
    found.append((STORES, 0))
    if seen.head["alarm"]:
        found.append((SEEN_TO, 0))
    return found


def after(all_pages, place, pressed):
    """(place of the page that a press leads to, -1 dark; the press that the next wake is to count)."""
    if pressed == debounce.LONG or all_pages[place][0] == SEEN_TO:
        return -1, pressed
    return (place + 1) % len(all_pages), debounce.NONE


def over(turned_ms, lit_ms, sleep_s):
    """True when it is to go dark: so long after the last press and the first. The next wake is never late for it."""
    return turned_ms >= LIT_MS or lit_ms >= MOST_MS or lit_ms >= (sleep_s - 1) * 1000


def spent_ms(lit_ms, energy):
    """Awake time that draws what a board draws in lit_ms with its display on. energy: see energy.py, and display_ua."""
    awake_ua = energy["active_ua"] + energy["probe_ua"]
    return lit_ms + div_up(div_up(lit_ms, 10) * div_up(energy["display_ua"], 10) * 10, div_up(awake_ua, 10))


def _wrong(seen):
    rig, head = seen.state.rig, seen.head
    found = []
    if rig.hold:
        found.append((-1, rig.hold))
    if rig.memory:
        found.append((-1, facewords.MEMORY))
    if head["days_left"] <= signals.BATTERY_CALL_DAYS:
        found.append((-1, facewords.BATTERY_DAYS))
    for index, pot in enumerate(seen.state.pots):
        if signals.pot_level(pot.ladder, pot.reason):
            found.append((index, pot.reason))
    for bit in range(16):
        if head["errors"] & TOLD & 1 << bit:
            found.append((-1, facewords.ERROR + bit))
    if head.get("tub_note"):
        found.append((-1, head["tub_note"]))
    if seen.settings["insist"]:
        found.append((-1, facewords.INSIST))
    return found


def strokes(seen, all_pages, place):
    """The strokes of a page."""
    kind, which = all_pages[place]
    yield from (_sill, _trouble, _one_pot, _stores, _seen_to)[kind](seen, which)
    # How far one has turned.
    begin = WIDTH * place // len(all_pages)
    yield "hline", begin, HEIGHT - 1, WIDTH * (place + 1) // len(all_pages) - begin, 1


def _title(text):
    """The first line of a page, and a rule below it."""
    yield "text", text, 0, 0, 1
    yield "hline", 0, 9, WIDTH, 1


def _banner(text):
    """The same for what asks for a person: dark on light."""
    yield "fill_rect", 0, 0, WIDTH, 10, 1
    yield "text", text, 0, 1, 0


def _lines(lines, y):
    for line in lines:
        yield "text", line, 0, y, 1
        y += _LETTER


def _verdict(seen):
    """How the rig is, in a line."""
    count = len(seen.wrong)
    if seen.head["alarm"] == signals.CALL:
        return "Look today: %d" % count
    return "When you pass: %d" % clamp(count, 0, 9) if count else "All is well"


def _sill(seen, _):
    pots = seen.state.pots
    wide = WIDTH // len(pots)
    asks = [index for index, _ in seen.wrong]
    yield from (_banner if seen.head["alarm"] == signals.CALL else _title)(_verdict(seen))
    for index, pot in enumerate(pots):
        broad = clamp(wide - 8, 0, 28)
        left = wide * index
        yield from facepot.drawn(seen, index, (left + (wide - broad) // 2, 52, broad, 17), 21)
        text = _moisture(pot)
        x = left + (wide - _LETTER * len(text)) // 2
        if index in asks:
            yield "fill_rect", x, 54, _LETTER * len(text), 9, 1
        yield "text", text, x, 55, 0 if index in asks else 1
    # The board they stand on.
    yield "hline", 0, 53, WIDTH, 1


def _trouble(seen, which):
    pot, code = seen.wrong[which]
    what, remedy = facewords.of(code)
    yield from _banner("The rig" if pot < 0 else facewords.plain(seen.settings["channels"][pot]["name"]))
    yield from _lines(what, 11)
    y = 12 + _LETTER * len(what)
    yield "hline", 0, y, 24, 1
    yield from _lines(remedy, y + 2)


def _one_pot(seen, index):
    pot, channel = seen.state.pots[index], seen.settings["channels"][index]
    yield from _title(facewords.plain(channel["name"]))
    yield from facepot.drawn(seen, index, (5, 60, 34, 23), 23)
    yield "big", _moisture(pot), 50, 13
    due = "due at %d%%" % (facepot.due_pm(seen, index) // 10) if facepot.believed(pot) else "no reading"
    yield "text", due, 48, 33, 1
    given = pot.ladder == TENDED and pot.reason in (reasons.POT_DAY, reasons.RIG_DAY)
    yield "text", "day given" if given else _RUNGS[pot.ladder], 48, 43, 1
    yield "text", "24h %d ml" % clamp(limits.spent_ul(pot) // 1000, 0, 999), 48, 53, 1


def _stores(seen, _):
    rig, head = seen.state.rig, seen.head
    yield from _title(facewords.plain(seen.settings["name"]))
    # A tub with water in it.
    yield "rect", 1, 13, 14, 9, 1
    yield "fill_rect", 1, 17, 14, 5, 1
    yield "text", _tub(head), 22, 14, 1
    # A battery, filled as it is.
    yield "rect", 0, 26, 14, 9, 1
    yield "fill_rect", 14, 28, 2, 5, 1
    yield "fill_rect", 2, 28, rig.soc_pm // 100, 5, 1
    yield "text", _battery(rig, head), 22, 27, 1
    # A tray.
    yield "vline", 0, 41, 5, 1
    yield "vline", 15, 41, 5, 1
    yield "hline", 0, 46, 16, 1
    room_ml = clamp(seen.settings["tray_headroom_ml"] - head["tray_ml"], 0, 99999)
    yield "text", "room %d ml" % room_ml, 22, 40, 1
    # A clock.
    yield "ellipse", 7, 56, 5, 5, 1
    yield "vline", 7, 53, 4, 1
    yield "hline", 7, 56, 3, 1
    yield "text", _next(head["sleep_s"]), 22, 53, 1


def _seen_to(seen, _):
    yield from _banner("Seen to it?")
    yield from _lines(("Press: yes, try", "it all again."), 14)
    yield from _lines(("Wait: leave all", "as it is."), 37)


def _tub(head):
    """Days of water, where a sensor of the tub tells them."""
    if not head.get("tub_mark", 0):
        return "no tub gauge"
    days = head.get("tub_days", _NO_TUB_DAYS)
    return "tub ? days" if days == _NO_TUB_DAYS else "tub " + _days(days)


def _battery(rig, head):
    if not head["battery_mv"]:
        return "battery ?"
    text = "%d%%" % (rig.soc_pm // 10)
    return text + " " + _days(head["days_left"]) if head["days_left"] < 999 else text


def _days(count):
    return "%d day" % count if count == 1 else "%d days" % count


def _next(sleep_s):
    minutes = div_up(sleep_s, 60)
    return "look in %dmin" % minutes if minutes < 100 else "look in %d h" % div_up(minutes, 60)


def _moisture(pot):
    return "%d%%" % (clamp(pot.pm, 0, 1999) // 10) if facepot.believed(pot) else "?"
