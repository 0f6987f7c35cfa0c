"""W4: water in a row that nothing shows, by every way in which a board may have counted; and what a held pot tries."""

from potreeve.logic import dosing
from potreeve.logic.state import HELD

from potreeve_tools.mishaps.evidence import DAY_S
from potreeve_tools.mishaps.settings_of import cap

RISE_PM = 8  # a reading this far above another is no noise; the firmware asks for more
SURE_RISE_PM = 16  # and what it asks for at the least, with what its average lags behind a single reading

# Water that was not seen to arrive goes on until there was enough of it for a probe to see: `unproven_max` pulses,
# or what should have lifted the reading by UNPROVEN_PM, whichever is more. A held pot may try one small pulse in
# TRIAL_EVERY_S, or as many as should lift it by TRIAL_PM; what showed counts against no later one. A probe that shows
# little shows LEAST_SEEN of the pot's mean.
UNPROVEN_PM = 60
TRIAL_PM = 120
LEAST_SEEN = 0.65
TRIAL_EVERY_S = DAY_S
TRIAL_SPARE_S = 600  # a board's clock may be fast by some thousand ppm
# Water is reckoned by a pump's calibration; by its battery's voltage it brings some per cent more or less.
PUMP_SPARE = 1.1
FORGETS = ("memory_lost", "flash_formatted")


def not_without_end(ev):
    """W4: water in a row, steered by the probe, without a reading clearly above the lowest at one of its pulses; and
    what a held pot tries.

    A ration that the probe sees ends the row as well: then water arrives. A row ends with the plant: the board goes on
    holding it to drink what it used to, and half of that may hide a rise; W2 bounds what such a pot gets.
    """
    return [finding for channel in ev.channels for finding in _rows(ev, channel) + _trials(ev, channel)]


def _rows(ev, channel):
    """Whether the board kept its limit by any way in which it may have counted: see _counted."""
    most = cap(ev, channel, "unproven_max")
    steered = set(ev.tended_pulses(channel))
    ways, before_s = [], 0.0
    died_s = ev.died_s(channel)
    for p in ev.pulses_of(channel):
        if died_s is not None and p.t_s > died_s:
            break
        rows = [(one[0], ev.pm(one, channel)) for one in ev.rows_between(before_s + 60, p.t_s + 60)]
        if not before_s or acknowledged(ev, before_s, p.t_s) or _forgotten(ev, before_s, p.t_s):
            ways = [(_base(rows, p.t_s), 0, 0.0)]
        else:
            ways = [one for way in ways for one in _counted(ev, channel, way, rows, p.t_s)]
        before_s = p.t_s
        if p not in steered:
            # A ration, or a trial, is to show by itself.
            ways = list(dict.fromkeys((_base(rows, p.t_s), *way[1:]) for way in ways))
            continue
        over = [way for way in ways if way[1] >= most and _lift_pm(ev, channel, way[2]) >= PUMP_SPARE * UNPROVEN_PM]
        if len(over) == len(ways):
            _, row, ml = min(over, key=lambda way: way[1])
            figures = {"pulses": row + 1, "pulses_most": most, "lift_pm": _lift_pm(ev, channel, ml)}
            return [ev.finding("W4", "unproven_without_end", channel, p.t_s, **figures, lift_most_pm=UNPROVEN_PM)]
        likely_ml = _likely_ml(ev, p)
        ways = list(
            dict.fromkeys((base, row + 1, ml + likely_ml) for base, row, ml in ways if (base, row, ml) not in over)
        )
    return []


def _base(rows, now_s):
    """From where a rise counts: (the last reading; the highest of the last three, for the board's average lags behind a
    pot that falls; the time)."""
    readings = [pm for _, pm in rows[-3:]] or [0]
    return readings[-1], max(readings), now_s


def _counted(ev, channel, way, rows, now_s):
    """How a count may have gone on by the readings since the last pulse: a rise of RISE_PM may have ended its row, and
    only one of SURE_RISE_PM that the reading shows by itself must have. Of what lies between, the firmware counts half
    of a thirst that it guesses: pulses in a creeping rise may be proven one by one, or together with the next, and the
    row that follows begins at either (swarm 85238, 85822).

    way: (its _base, pulses in the row, their water in ml); rows: (t_s, reading).
    """
    (base_pm, high_pm, base_s), row, ml = way
    now_pm = rows[-1][1] if rows else 0
    # What the plant really drank since belongs to the rise: a pot that gets nothing falls by it.
    rise_pm = max((pm + ev.drank_pm(channel, base_s, t_s) for t_s, pm in rows), default=base_pm) - base_pm
    found = [(_base(rows, now_s), 0, 0.0)] if rise_pm >= RISE_PM else []
    if now_pm < base_pm:
        # A pot that has dried meanwhile is to rise from where it is now, with whatever it is given.
        found.append((_base(rows, now_s), row, ml))
    elif now_pm - high_pm < SURE_RISE_PM:
        found.append(way)
    return found


def _likely_ml(ev, pulse):
    """What a pulse brings by a pump as it was measured: slower on a battery that sank, and after its tube was filled,
    where that had run back since its last pulse."""
    before_s = max([p.t_s for p in ev.pulses_of(pulse.channel) if p.t_s < pulse.t_s], default=-dosing.NEVER_S)
    rest_mv = pulse.state.rig.rest_mv if pulse.state else 0
    settings = ev.settings["channels"][pulse.channel]
    return dosing.likely_ul(pulse.actual_ms, int(pulse.t_s - before_s), settings, rest_mv) / 1000


def _lift_pm(ev, channel, ml):
    """By how much water should lift a reading, at the least."""
    return LEAST_SEEN * 1000 * ml / ev.settings["channels"][channel]["holds_ml"]


def _trials(ev, channel):
    """A held pot's pulses: one trial a day; a person who looked, or water that showed, starts the count anew."""
    tried = [p for p in ev.pulses_of(channel) if p.state and p.state.pots[channel].ladder == HELD]
    began, ml = None, 0.0
    for p in tried:
        whole = _lift_pm(ev, channel, ml) >= TRIAL_PM
        late = began is None or p.t_s - began.t_s >= TRIAL_EVERY_S - TRIAL_SPARE_S
        if late or acknowledged(ev, began.t_s, p.t_s) or whole and _showed(ev, channel, began.t_s, p.t_s):
            began, ml = p, 0.0
        elif whole:
            figures = {"apart_h": (p.t_s - began.t_s) / 3600, "lift_pm": _lift_pm(ev, channel, ml)}
            return [ev.finding("W4", "trials_too_many", channel, p.t_s, **figures)]
        ml += _likely_ml(ev, p)
    return []


def _showed(ev, channel, from_s, to_s):
    """Whether a pot's reading rose between two times, what its plant really drank meanwhile counted in."""
    rows = ev.rows_between(from_s - DAY_S, from_s + 60)
    if not rows:
        return False
    base_pm = ev.pm(rows[-1], channel)
    seen = [ev.pm(one, channel) + ev.drank_pm(channel, from_s, one[0]) for one in ev.rows_between(from_s + 60, to_s)]
    return max(seen, default=base_pm) - base_pm >= RISE_PM


def acknowledged(ev, from_s, to_s):
    """Whether somebody pressed the button or sent settings between two times."""
    sent = [f.start_s for f in ev.mishaps if f.kind == "settings_sent"]
    return any(from_s <= t_s <= to_s for t_s in [begin for begin, _ in ev.world.presses] + sent)


def _forgotten(ev, from_s, to_s):
    """Whether the memory of a row was lost between two pulses, and a whole day waited out for it (W9)."""
    lost = any(f.kind in FORGETS and from_s <= f.start_s <= to_s for f in ev.mishaps)
    return lost and to_s - from_s >= DAY_S
