"""L1 to L5, each judged by the world's truth: a list of Findings, empty where it holds.

L1  In a sound rig without a mishap every plant lives, no pot is held or rationed for longer than a day, and none is
    short of water - by the settings that the product's own commands make.
L2  No plant dies without a call that began at least three days before, named the pot (or the rig), and was more than a
    flash.
L3  A hold or a ration whose cause has gone ends by itself, within the caps; so does whatever else kept water from a
    pot.
L4  No pot goes short because another is sick, or because of whose turn it is.
L5  Settings under which a plant must go short are refused, or said out loud for as long as they run.

Short of water is a living plant whose stress coefficient Ks (FAO-56 Eq. 84, as the world's plant has it) is below one
half: half-way from the refill point to wilting. The time limits are ours: a wake, a dose and its soak take hours, and
a day is what the laws themselves grant.
"""

from potreeve.logic import reasons, signals
from potreeve.logic.state import HELD, TENDED

from potreeve_tools.mishaps import calls, caps, troubles
from potreeve_tools.mishaps.evidence import DAY_S, joined, overlap_s, spells, without
from potreeve_tools.mishaps.settings_of import in_force

SHORT_KS = 0.5
UNSTRESSED = 0.999
SETTLED_S = 3 * DAY_S  # a rig may be set up with a dry pot
SHORT_L1_S = DAY_S / 2  # in a sound rig: a night's sleep, a dose, and the time it takes to spread
SHORT_S = DAY_S  # beside a sick pot, or under caps
HELD_S = DAY_S
WAKE_S = 2 * 3600  # the longest sleep: so much later a limit may show
RETURN_S = 3 * DAY_S  # three daily trials, or rations, after the cause has gone
SAID_SHARE = 0.5  # of the time after the first day of a shortage
FIRST_S = 600  # the owner still stands beside it
WET_PM = 1000
WET_TRAY = 0.2  # share of what the tray takes

HAS_TO_WAIT = (reasons.OWNER, reasons.NO_SETTINGS, reasons.DAMAGED)
RUNGS = ("tended", "rationed", "held")


def judge(ev, baseline=None):
    """Findings on all of them. baseline: {channel: when its plant died} in the same sound rig without the mishap and
    with the product's own settings, None where that was not run."""
    return sound_rig(ev, baseline) + announced(ev) + returns(ev) + neighbours(ev) + enough(ev)


# ---- what is asked of a run -----------------------------------------------------------------


def short_spells(ev, channel, below_ks=SHORT_KS):
    """[(from_s, to_s)] in which a living plant was short of water: its Ks lower than that."""
    pots = [(sample["t_s"], sample["pots"][channel]) for sample in ev.samples]
    return spells(
        [t_s for t_s, _ in pots],
        [pot["alive"] and pot["present"] and pot["stress"] < below_ks for _, pot in pots],
        ev.end_s,
    )


def waiting_spells(ev, channel):
    """[(from_s, to_s)] in which a living plant's pot was not tended, or the rig held for anything but a person's
    wish."""
    died_s = ev.died_s(channel)
    rows = [row for row in ev.rows if died_s is None or row[0] < died_s]
    return spells([row[0] for row in rows], [_waits(row, channel) for row in rows], rows[-1][0] if rows else 0.0)


def _waits(row, channel):
    _, head, pots = row
    return pots[channel]["ladder"] != TENDED or bool(head["hold"]) and head["hold"] not in HAS_TO_WAIT


def _stands(ev, channel, t_s):
    """{"state", "reason"} of a pot in the last record before a time."""
    row = calls.last_row(ev, t_s)
    if row is None:
        return {"state": "unknown", "reason": 0}
    _, head, pots = row
    state = RUNGS[HELD] if head["hold"] else RUNGS[pots[channel]["ladder"]]
    return {"state": state, "reason": head["hold"] or pots[channel]["reason"]}


def _clipped(spans, from_s, to_s):
    return [(max(a, from_s), min(b, to_s)) for a, b in spans if b > from_s and a < to_s]


# ---- the laws -------------------------------------------------------------------------------


def sound_rig(ev, baseline=None):
    """L1, until the first mishap begins, the tub runs dry or the battery out."""
    until_s = min(ev.end_s, troubles.sound_until_s(ev))
    found = []
    for channel in ev.channels:
        died_s = ev.died_s(channel)
        if died_s is not None and died_s <= until_s and not _by_settings(ev, channel, (died_s - 2 * DAY_S, died_s)):
            found.append(ev.finding("L1", "died_in_sound_rig", channel, died_s))
        elif died_s is not None and baseline and channel in baseline:
            found.append(ev.finding("L1", "died_without_mishap", channel, baseline[channel]))
        for from_s, to_s in _clipped(waiting_spells(ev, channel), 0.0, until_s):
            # What somebody insisted on is L5's.
            if to_s - from_s > HELD_S + WAKE_S and not in_force(ev, from_s).get("insist"):
                stands = _stands(ev, channel, to_s)
                found.append(
                    ev.finding("L1", "waits_in_sound_rig", channel, from_s, hours=(to_s - from_s) / 3600, **stands)
                )
                break
        for from_s, to_s in _clipped(short_spells(ev, channel), SETTLED_S, until_s):
            insists = in_force(ev, from_s).get("insist")
            if to_s - from_s > SHORT_L1_S and not insists and not _by_settings(ev, channel, (from_s, to_s)):
                found.append(ev.finding("L1", "short_in_sound_rig", channel, from_s, hours=(to_s - from_s) / 3600))
                break
    return found


def _by_settings(ev, channel, span):
    """Whether a shortage is due to the caps of settings that the product did not make: then it is for L5 to judge."""
    return bool(ev.scenario.settings) and caps.stood_in_the_way(ev, channel, span)


def announced(ev):
    """L2."""
    found = []
    for channel in ev.channels:
        died_s = ev.died_s(channel)
        if died_s is None or calls.announced_s(ev, channel, died_s) is not None or calls.struck_dumb(ev, died_s):
            continue
        before = [from_s for from_s, _ in calls.spans(ev, channel) if from_s <= died_s]
        figures = {"called_s": before[-1] if before else None, "calls": len(before)}
        found.append(ev.finding("L2", "died_unannounced", channel, died_s, **figures))
    return found


def returns(ev):
    """L3: after every trouble of a pot has been gone for RETURN_S it is tended, and has water, until the next
    begins."""
    found = []
    all_troubles = troubles.find(ev)
    for channel in ev.channels:
        own = [trouble for trouble in all_troubles if trouble.strikes(channel)]
        blocked = joined([(t.start_s, t.end_s + RETURN_S) for t in own] + _wet_spells(ev, channel))
        if not own:
            continue
        for span in without((own[0].start_s, ev.end_s), blocked):
            late = _late(ev, channel, span)
            if late:
                code, (from_s, to_s) = late
                gone_s = max(t.end_s for t in own if t.end_s <= span[0])
                figures = {"gone_s": gone_s, "hours": (to_s - gone_s) / 3600, **_stands(ev, channel, to_s)}
                found.append(ev.finding("L3", code, channel, from_s, **figures))
                break
    return found


def _late(ev, channel, span):
    """(code, spell) of what still keeps a pot from water within a span; None where nothing does."""
    # A hold on a pot whose plant lacks nothing (Ks 1) keeps no water from it: it is tried once it is due.
    thirsty = joined(_clipped(short_spells(ev, channel, UNSTRESSED), *span), WAKE_S)
    waited = [
        one
        for spell in _clipped(waiting_spells(ev, channel), *span)
        for one in _clipped(thirsty, *spell)
        if one[1] - one[0] > HELD_S + WAKE_S
    ]
    if waited:
        return "waits_on", waited[0]
    short = [one for one in _clipped(short_spells(ev, channel), *span) if one[1] - one[0] > SHORT_S]
    short = [one for one in short if not _by_settings(ev, channel, one)]
    return ("short_on", short[0]) if short else None


def _wet_spells(ev, channel):
    """While a pot stands above container capacity, or in a tray that is anything but empty, it waits for good
    reason."""
    times = [sample["t_s"] for sample in ev.samples]
    wet = [
        sample["pots"][channel]["moisture_pm"] > WET_PM or sample["tray_ml"] > WET_TRAY * sample["tray_capacity_ml"]
        for sample in ev.samples
    ]
    return [(from_s, to_s + RETURN_S) for from_s, to_s in spells(times, wet, ev.end_s)]


def neighbours(ev):
    """L4: a pot that nothing ails goes short while another is sick, or while the others have enough."""
    found = []
    all_troubles = troubles.find(ev)
    for channel in ev.channels:
        own = joined([(t.start_s, t.end_s + RETURN_S) for t in all_troubles if t.strikes(channel)])
        others = [(t.start_s, t.end_s + RETURN_S) for t in all_troubles if not t.strikes(channel)]
        for spell in short_spells(ev, channel):
            for span in without((max(spell[0], SETTLED_S), spell[1]), own):
                code = _why_short(ev, channel, span, others) if span[1] - span[0] > SHORT_S else None
                if code:
                    found.append(
                        ev.finding(
                            "L4",
                            code,
                            channel,
                            span[0],
                            hours=(span[1] - span[0]) / 3600,
                            **_stands(ev, channel, span[1]),
                        )
                    )
                    break
            else:
                continue
            break
    return found


def _why_short(ev, channel, span, others):
    """Which half of L4 a shortage breaks; None where neither a sick pot nor a neighbour's turn is about."""
    if overlap_s(span, joined(others)) > 0.0:
        return "short_beside_sick"
    if 2 * overlap_s(span, waiting_spells(ev, channel)) > span[1] - span[0]:
        return None  # it is its own hold that keeps it short: L1's or L3's
    fed = [
        other
        for other in ev.channels
        if other != channel
        and any(span[0] <= p.t_s <= span[1] for p in ev.pulses_of(other))
        and not overlap_s(span, short_spells(ev, other))
        and not _died_before(ev, other, span[1])
    ]
    return "short_beside_fed" if fed else None


def _died_before(ev, channel, t_s):
    """True where the plant is dead by then: it lacks nothing any more, and no board can tell; what its dry pot is tried
    with shows no neighbour that has enough."""
    return any(sample["t_s"] <= t_s and not sample["pots"][channel]["alive"] for sample in ev.samples)


def enough(ev):
    """L5: a pot that nothing ails goes short under its caps, and no call says so while it lasts; or settings run that
    only run because somebody insists, and a record does not say so."""
    found = _insisting(ev)
    all_troubles = troubles.find(ev)
    for channel in ev.channels:
        own = [t for t in all_troubles if t.strikes(channel) and t.kind != "settings_sent"]
        blocked = joined([(t.start_s, t.end_s + RETURN_S) for t in own])
        for spell in short_spells(ev, channel):
            late = [span for span in without(spell, blocked) if span[1] - span[0] > 2 * SHORT_S]
            unsaid = [
                span
                for span in late
                if caps.stood_in_the_way(ev, channel, span)
                and calls.share_called(ev, channel, (span[0] + SHORT_S, span[1])) < SAID_SHARE
            ]
            if unsaid:
                hours = (unsaid[0][1] - unsaid[0][0]) / 3600
                found.append(ev.finding("L5", "starving_settings_unsaid", channel, unsaid[0][0], hours=hours))
                break
    return found


def _insisting(ev):
    """Records without a word while the settings insist."""
    rows = [row for row in ev.rows if in_force(ev, row[0]).get("insist")]
    quiet = spells(
        [row[0] for row in rows], [row[1]["alarm"] == signals.CALM for row in rows], rows[-1][0] if rows else 0
    )
    quiet = _clipped(quiet, FIRST_S, ev.end_s)
    quiet_s = sum(to_s - from_s for from_s, to_s in quiet)
    if quiet_s <= WAKE_S:
        return []
    return [ev.finding("L5", "insisting_unsaid", -1, quiet[0][0], hours=quiet_s / 3600)]
