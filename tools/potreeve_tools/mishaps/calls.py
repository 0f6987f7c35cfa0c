"""When the rig called for a person, pot by pot: from records and panel, by the firmware's own table of levels."""

from bisect import bisect_left
from typing import NamedTuple

from potreeve.logic import reasons, signals, tub_guard
from potreeve.logic.state import TENDED

from potreeve_tools.mishaps.evidence import DAY_S, DROWNED, joined, overlap_s
from potreeve_tools.standins import troubles

# L2. A call that is to announce a death begins so long before it, and stands for at least half of that time: a call
# that comes and goes within a day is still the same call, a flash is none.
NOTICE_S = 3 * DAY_S
STANDS_SHARE = 0.5
CALL_GAP_S = DAY_S

# What may strike a pot down so fast that nobody can be told three days before: then a call between the stroke and the
# death is all that can be asked for. The hardiest plant of ours lives through four days of wilting.
SUDDEN_KINDS = (
    "tipped_over",
    "dry_substrate",
    "swelling_pellet",
    "repotted",
    "swapped",
    "pot_removed",
    "plant_grown",
    "watering_can",  # roots drown within three days: 72 hours and 24 minutes after the tray was filled (swarm 74109)
)
SUDDEN_S = 5 * DAY_S

# What takes a battery's charge in an instant; an old or a sagging pack lets its board wake and call. A board that never
# wakes after it can call nobody: only its silence tells, to a station.
DUMB_KIND = "battery_low"

# So does a contact that fails at once, or a cold far below what cells are made for, where the board's next start
# already found no power (swarm 86416, 91201).
POWERLESS_KINDS, NEXT_WAKE_S = ("battery_sagging", "battery_cold"), 2 * 3600

# Bits of what a panel showed in a wake.
OK_LIT, WARNED = troubles.LED_OK, troubles.LED_WARN


class Wake(NamedTuple):
    """One wake of the board. row: its record, None where it kept none; shown: what its panel showed."""

    t_s: float
    row: object
    shown: int


def wakes(ev):
    """All wakes in order of time."""
    rows = dict(zip(ev.row_s, ev.rows, strict=True))
    found = [Wake(t_s, rows.pop(t_s, None), shown) for t_s, shown in ev.panels]
    found += [Wake(t_s, row, 0) for t_s, row in rows.items()]
    return sorted(found, key=lambda wake: wake.t_s)


def names_rig(head):
    """Whether the rig as a whole calls in a record."""
    level = signals.rig_level(head["hold"], head["memory"], head["errors"], head["days_left"])
    return head["alarm"] == signals.CALL and signals.CALL in (
        level,
        tub_guard.level(head["tub_note"], head["tub_days"]),
    )


def names_pot(row, channel):
    """Whether a record calls for a person because of this pot, or because of the whole rig."""
    _, head, pots = row
    if head["alarm"] != signals.CALL:
        return False
    pot = pots[channel]
    return signals.pot_level(pot["ladder"], pot["reason"]) == signals.CALL or names_rig(head)


def names_battery(row):
    """Whether a record calls for another battery."""
    _, head, pots = row
    if head["alarm"] != signals.CALL:
        return False
    return head["days_left"] <= signals.BATTERY_CALL_DAYS or any(
        pot["ladder"] == TENDED and pot["reason"] == reasons.BATTERY for pot in pots
    )


def spans(ev, channel):
    """[(from_s, to_s)] in which the rig calls for this pot: each wake's call stands until the next.

    A board without power still calls if its last word was a call for another battery, or one that had stood for
    NOTICE_S: nobody came. A wake without a record counts by its panel: then the rig calls.
    """
    found, silenced = [], []
    all_wakes = wakes(ev)
    for wake, until in zip(all_wakes, [*all_wakes[1:], None]):
        to_s = until.t_s if until else ev.end_s
        if wake.row is None:
            calls = wake.shown & WARNED and not wake.shown & OK_LIT
        else:
            calls = names_pot(wake.row, channel)
        dead = [at for at in ev.session.dead_s if wake.t_s < at < to_s]
        if calls and dead and not (wake.row and names_battery(wake.row)):
            silenced.append((dead[0], to_s))
            to_s = dead[0]
        if calls and to_s > wake.t_s:
            found.append((wake.t_s, to_s))
    stood = [span for span in joined(found, CALL_GAP_S) if span[1] - span[0] >= NOTICE_S]
    found += [silence for silence in silenced if any(span[0] < silence[0] <= span[1] for span in stood)]
    return joined(found)


def announced_s(ev, channel, death_s):
    """When the call that announced a death began; None where none did so in time. See NOTICE_S."""
    called = spans(ev, channel)
    noticed_s = in_time_s(called, death_s)
    return _in_a_hurry_s(ev, channel, death_s, called) if noticed_s is None else noticed_s


def in_time_s(called, death_s):
    """When the call that stood long enough before a death began, of the spans of a pot's calls; None where none did."""
    last_days = (death_s - NOTICE_S, death_s)
    for from_s, to_s in joined(called, CALL_GAP_S):
        stands = from_s <= last_days[0] and to_s >= death_s - CALL_GAP_S
        if stands and overlap_s(last_days, called) >= STANDS_SHARE * NOTICE_S:
            return from_s
    return None


def _in_a_hurry_s(ev, channel, death_s, called):
    # A plant that dies in its first days was set up as good as lost.
    struck = [0.0] if death_s < SUDDEN_S else []
    struck += [
        f.start_s
        for f in ev.mishaps
        if f.bit
        and f.kind in SUDDEN_KINDS
        and channel in (f.channel, f.params.get("other", -1))
        and death_s - SUDDEN_S < f.start_s <= death_s
    ]
    # Water that runs by itself, by a siphon or a welded pump, fills the tray: the pots beside its tube drown within
    # three days, too (swarm 90316, 90387: 76 hours after the first drop).
    ran_s = ev.ran_by_itself_s()
    drowned = ev.world.channels[channel].pot.plant.reason == DROWNED
    if drowned and ran_s is not None and death_s - SUDDEN_S < ran_s <= death_s:
        struck.append(ran_s)
    if not struck:
        return None
    after = [max(from_s, struck[0]) for from_s, to_s in called if to_s > struck[0] and from_s < death_s]
    return after[0] if after else None


def struck_dumb(ev, death_s):
    """Whether a battery was emptied, or gave no power any more, in an instant and the board did not wake once between
    that and a death."""
    woke_s = max([wake.t_s for wake in wakes(ev) if wake.t_s < death_s], default=0.0)
    struck = [f for f in ev.mishaps if woke_s <= f.start_s < death_s]
    return any(
        f.kind == DUMB_KIND
        or f.kind in POWERLESS_KINDS
        and any(f.start_s <= at <= f.start_s + NEXT_WAKE_S for at in ev.session.dead_s)
        for f in struck
    )


def share_called(ev, channel, span):
    """Share of a span in which the rig calls for this pot."""
    return overlap_s(span, spans(ev, channel)) / (span[1] - span[0])


def last_row(ev, t_s):
    """The last record written before a time, None where there is none."""
    at = bisect_left(ev.row_s, t_s)
    return ev.rows[at - 1] if at else None
