"""What a person must be told: a pure function of what is known and of the time. Sentences come from
potreeve_tools.words."""

from typing import NamedTuple

from potreeve.logic import errors, reasons, signals
from potreeve.logic.state import HELD, RATIONED

from potreeve_tools.link import logs_read
from potreeve_tools.words import sentences as words

NOTE, CALL = signals.NOTE, signals.CALL
HOUR_S, DAY_S = 3600, 86400

KINDS = {
    "silent": "a rig has broken its promise to report",
    "water": "water where it should not be",
    "held": "a pot, or the whole rig, gets no water",
    "probe": "a probe is distrusted, its pot rationed",
    "dry": "a plant stands below its stress point",
    "tub": "the tub is soon empty",
    "battery": "the battery is soon empty",
    "tray": "the tray may be full",
    "clock": "a board's clock is odd",
    "firmware": "a board's files, settings, memory or devices are odd",
    "log": "records are missing, late or contradict one another",
    "station": "the station itself can't hear, store or tell",
}

WATER = (
    reasons.RUNS_ON,
    reasons.CROSSED,
    reasons.TOO_WET,
    reasons.KEPT_FULL,
    reasons.RUNS_THROUGH,
    reasons.STRAYS,
    reasons.RISING,
    reasons.WET_TRAY,
    reasons.WET_DENIED,
)
BROKEN_BOARD = (reasons.DAMAGED, reasons.NO_SETTINGS, reasons.REBOOTS)
DRY_S = 6 * HOUR_S
DRY_LOOKS = 4
# Days of water in the tub.
TUB_NOTE_D, TUB_CALL_D = 4, 2
# A board's clock may be off by this before anybody hears of it (nothing is decided by it).
CLOCK_OFF_S = HOUR_S
# Reports come, the log does not: longer than the slowest board needs for a month's backlog.
LOG_LATE_S = DAY_S
# A rig that was paired has been heard by then, even on a board that sends seldom.
NEVER_HEARD_S = DAY_S


class Finding(NamedTuple):
    """Something that is so now. pot: name, "" for the rig; todo: what to do, "" where there is nothing."""

    rig: str
    pot: str
    kind: str
    level: int
    what: str
    todo: str

    @property
    def key(self):
        """The same as long as it is the same trouble."""
        return f"{self.rig}/{self.pot}/{self.kind}"


def judge(sights, now_s, tub_days=None):
    """All findings of all rigs. sights: list of Sight; now_s: wall seconds; tub_days: {rig: days of water left}."""
    return [finding for sight in sights for finding in rig_findings(sight, now_s, (tub_days or {}).get(sight.rig))]


def rig_findings(sight, now_s, tub_days=None):
    """Findings of one rig, one per key, the louder first."""
    found = [*_silence(sight, now_s), *_clock(sight, now_s), *_log(sight, now_s), *_tub(sight, tub_days)]
    if sight.head:
        found += [*_rig(sight), *_tub_note(sight), *_pots(sight)]
    once = {}
    for one in sorted(found, key=lambda finding: -finding.level):
        once.setdefault(one.key, one)
    return list(once.values())


def _silence(sight, now_s):
    if not sight.heard_s and now_s - sight.first_s > NEVER_HEARD_S:
        yield Finding(
            sight.rig,
            "",
            "silent",
            NOTE,
            "it was paired and has never been heard",
            "see that the board reaches its Wi-Fi and the broker, and that the broker lets it in (potreeve station "
            "access)",
        )
    if sight.overdue_s is None:
        return
    yield Finding(
        sight.rig,
        "",
        "silent",
        CALL,
        f"no report since {clock(sight.heard_s)}; the next was promised within {logs_read.span(sight.due_s)}"
        + ("; its last connection broke off in the middle" if sight.broke_off else ""),
        "look at the rig: is the battery charged, is the board near enough to the access point, do its lights flash? "
        "Until it is heard again nobody knows whether it waters",
    )


def clock(wall_s):
    """A wall time as people read it, UTC."""
    return logs_read.iso_utc(int(wall_s)).replace("T", " ")[:16] + " UTC" if wall_s else "ever"


def _clock(sight, now_s):
    told = (sight.report or {}).get("time_s")
    if sight.rehearsed or told is None or not sight.report_s:
        return
    off = told - sight.report_s
    if abs(off) > CLOCK_OFF_S:
        yield Finding(
            sight.rig,
            "",
            "clock",
            NOTE,
            f"the board's clock is {logs_read.span(abs(off))} {'ahead' if off > 0 else 'behind'}; nothing is decided "
            f"by it",
            "nothing, if it sets itself; else potreeve status sets it over the cable",
        )


def _log(sight, now_s):
    if sight.newer:
        yield Finding(
            sight.rig,
            "",
            "firmware",
            CALL,
            f"the board speaks {sight.newer}, which this station can't read; the board keeps its records",
            "update the station",
        )
    if sight.others:
        yield Finding(
            sight.rig,
            "",
            "log",
            NOTE,
            f"{sight.others} records differ from earlier ones of the same place: the board was set back, or two "
            f"boards use "
            "one name",
            "give each board a name of its own with potreeve station pair",
        )
    elif sight.missing:
        yield Finding(
            sight.rig,
            "",
            "log",
            NOTE,
            f"{sight.missing:,} record{' is' if sight.missing == 1 else 's are'} missing for good: the board's log no "
            "longer held them",
            "nothing; if it happens often, see why the board is out of reach for so long",
        )
    told = (sight.report or {}).get("seq", -1)
    if told > sight.committed_seq and sight.heard_s - max(sight.committed_s, sight.first_s) > LOG_LATE_S:
        yield Finding(
            sight.rig,
            "",
            "log",
            NOTE,
            "reports arrive, but its log does not get on",
            "see that the broker lets it publish its log (potreeve station access), and that the station can store",
        )


def _tub(sight, days):
    if days is None or days > TUB_NOTE_D:
        return
    level = CALL if days <= TUB_CALL_D else NOTE
    yield Finding(
        sight.rig,
        "",
        "tub",
        level,
        f"the tub holds water for {days:.0f} day{'' if round(days) == 1 else 's'} at most use",
        "fill it, and say so on the station's page",
    )


def _tub_note(sight):
    """What a rig with a sensor in its tub says of it, but how long it lasts."""
    head = sight.head
    note = head["tub_note"]
    if note in (reasons.NONE, reasons.TUB_LOW):
        return
    leaks = note == reasons.TUB_LEAK
    level = CALL if leaks else NOTE
    yield Finding(sight.rig, "", "water" if leaks else "tub", level, *words.why(note))


def _rig(sight):
    head, rig = sight.head, sight.rig
    if head["hold"]:
        what, todo = words.why(head["hold"])
        kind = "water" if head["hold"] in WATER else "firmware" if head["hold"] in BROKEN_BOARD else "held"
        kind = "tub" if head["hold"] == reasons.TUB_EMPTY else kind
        level = NOTE if head["hold"] == reasons.OWNER else CALL
        yield Finding(rig, "", kind, level, f"the whole rig gets no water: {what}", todo)
    if head["memory"]:
        yield Finding(rig, "", "firmware", NOTE, *words.MEMORY)
    if head["days_left"] <= signals.BATTERY_CALL_DAYS:
        days = head["days_left"]
        yield Finding(
            rig,
            "",
            "battery",
            CALL,
            f"the battery lasts {days} day{'' if days == 1 else 's'} more",
            words.why(reasons.BATTERY)[1],
        )
    for bit, (what, todo) in words.ERRORS.items():
        if head["errors"] & bit and bit != errors.RADIO:
            level = CALL if bit in (errors.LEDGER, errors.BATTERY, errors.PUMP, errors.CODE) else NOTE
            yield Finding(rig, "", "firmware", level, what, todo)


def _pots(sight):
    names = sight.pot_names(len(sight.pots))
    for index, pot in enumerate(sight.pots):
        reason, rung, name = pot["reason"], pot["ladder"], names[index]
        what, todo = words.why(reason)
        if reason in WATER:
            lead = f"{words.RUNGS[rung]}: " if rung in (HELD, RATIONED) else ""
            yield Finding(sight.rig, name, "water", CALL, lead + what, todo)
        elif rung == HELD:
            yield Finding(sight.rig, name, "held", CALL, f"held, no water but a small daily trial: {what}", todo)
        elif rung == RATIONED:
            yield Finding(sight.rig, name, "probe", CALL, f"rationed, a small daily amount: {what}", todo)
        elif reason == reasons.DRIFTS:
            yield Finding(sight.rig, name, "probe", CALL, what, todo)
        elif reason == reasons.TRAY:
            yield Finding(sight.rig, name, "tray", NOTE, what, todo)
        elif reason == reasons.BATTERY:
            yield Finding(sight.rig, name, "battery", CALL, what, todo)
        if reason == reasons.DRY or rung != RATIONED and _below_stress(sight, index):
            yield Finding(sight.rig, name, "dry", CALL, *words.why(reasons.DRY))
        elif reason == reasons.WAITS:
            yield Finding(sight.rig, name, "dry", CALL, what, todo)


def _below_stress(sight, index):
    """True when all looks of the last hours, by the rig's own time, were below the stress point."""
    stress = sight.stress_pm[index] if index < len(sight.stress_pm) else None
    if stress is None:
        return False
    looks, newest = 0, sight.recent[0][2]["up_s"] if sight.recent else 0
    for _, _, head, pots in sight.recent:
        if index >= len(pots) or pots[index]["pm"] >= stress or head["up_s"] > newest:
            return False
        looks += 1
        if newest - head["up_s"] >= DRY_S:
            return looks >= DRY_LOOKS
    return False
