"""Plants that died: when, announced or not, and of what, by the world's truth. Each has one cause, the first that
fits."""

from potreeve_tools.mishaps import calls, caps, liveness, troubles
from potreeve_tools.mishaps.evidence import DAY_S, DROWNED, joined, overlap_s
from potreeve_tools.mishaps.findings import Death

# What lay in the days before a death counts as its cause: wilting takes about as long.
BEFORE_S = 7 * DAY_S
HALF = 0.5

POT_KINDS = ("pot_removed", "tipped_over", "repotted", "swapped", "dry_substrate", "swelling_pellet", "plant_grown")
POUR_KINDS = ("watering_can", "tray_poured")
WATER_KINDS = (
    "tube_off",
    "tube_clogged",
    "tubes_crossed",
    "inlet_buried",
    "pump_weak",
    "pump_wearing",
    "pump_dry",
    "no_drainage",
)
PROBE_KINDS = (
    "probe_out",
    "probe_leaning",
    "probe_broken",
    "probe_shorted",
    "probe_stuck",
    "probe_noisy",
    "probe_temp_drift",
    "probe_coating",
    "probes_crossed",
    "adc_drift",
)

STORE_KINDS = (
    "water_on_electronics",
    "climate_silent",
    "light_silent",
    "flash_full",
    "flash_worn",
    "file_damaged",
    "settings_half_written",
    "memory_lost",
    "flash_formatted",
    "reset_loop",
    "brown_out",
)
FLAT_KINDS = ("flat battery", "battery_old", "battery_cold", "battery_sagging", "battery_low")
TUB_KINDS = (
    "empty tub",
    "reservoir_empty",
    "tub_leaks",
    "float_stuck_up",
    "float_stuck_down",
    "strip_stuck",
    "strip_film",
)

DUMB = "board struck dumb"

CAUSES = (
    DUMB,  # its battery emptied in an instant: it never woke again and could not call
    "no mishap",  # L1: its decline began while nothing was wrong
    "water that ran by itself",  # a siphon, a welded pump
    "drowned by people",  # who watered, or filled the tray
    "flat battery",  # that nobody changed
    "empty tub",  # that nobody filled
    "pot moved or changed",
    "tube or pump",
    "probe",
    "settings",  # somebody's, not the product's
    "electronics or storage",
    "waited for hands",  # whatever it was had gone
    "drowned by doses",  # and by nothing else
    "firmware alone",
)

# These are no mishap's doing, however loudly they were called for.
OURS = ("no mishap", "waited for hands", "drowned by doses", "firmware alone")


def find(ev):
    """All Deaths of a run, by channel."""
    return [_death(ev, channel) for channel in ev.channels if ev.died_s(channel) is not None]


def of_baseline(ev):
    """{channel: when its plant died} while nothing at all was wrong with the rig."""
    until_s = troubles.sound_until_s(ev)
    died = {channel: ev.died_s(channel) for channel in ev.channels}
    return {channel: died_s for channel, died_s in died.items() if died_s is not None and died_s <= until_s}


def _death(ev, channel):
    died_s = ev.died_s(channel)
    reason = ev.world.channels[channel].pot.plant.reason
    called_s = calls.announced_s(ev, channel, died_s)
    dumb = called_s is None and calls.struck_dumb(ev, died_s)
    cause = DUMB if dumb else _cause(ev, channel, died_s, reason)
    return Death(channel, ev.name(channel), died_s, cause, called_s, reason)


def _cause(ev, channel, died_s, reason):
    span = (max(0.0, died_s - BEFORE_S), died_s)
    began_s = _decline_s(ev, channel, died_s)
    before = [t for t in troubles.find(ev) if t.start_s < died_s]
    if not any(t.start_s <= began_s for t in before):
        return "settings" if ev.scenario.settings and caps.stood_in_the_way(ev, channel, span) else "no mishap"
    if reason == DROWNED:
        ran_s = ev.ran_by_itself_s()
        if ran_s is not None and ran_s < died_s:
            return "water that ran by itself"
        if any(t.kind in POUR_KINDS and t.end_s >= span[0] for t in before):
            return "drowned by people"
    lasting = [t for t in before if t.strikes(channel) and t.end_s >= span[0]]
    for cause, some in (("flat battery", FLAT_KINDS), ("empty tub", TUB_KINDS)):
        spans = joined([(t.start_s, t.end_s) for t in lasting if t.kind in some])
        if overlap_s(span, spans) >= HALF * (span[1] - span[0]):
            return cause
    kinds = {t.kind for t in lasting}
    for cause, some in (("pot moved or changed", POT_KINDS), ("tube or pump", WATER_KINDS), ("probe", PROBE_KINDS)):
        if kinds & set(some):
            return cause
    if (ev.scenario.settings or "settings_sent" in kinds) and caps.stood_in_the_way(ev, channel, span):
        return "settings"
    if kinds & set(STORE_KINDS):
        return "electronics or storage"
    if reason == DROWNED:
        return "drowned by doses"
    return _left_waiting(ev, channel, died_s, before)


def _decline_s(ev, channel, died_s):
    """When the wait, or the shortage, that ended in a death began: the death itself where neither led to it."""
    spans = liveness.waiting_spells(ev, channel) + liveness.short_spells(ev, channel)
    leading = [from_s for from_s, to_s in joined(spans, DAY_S) if from_s < died_s and to_s >= died_s - DAY_S]
    return min([died_s, *leading])


def _left_waiting(ev, channel, died_s, before):
    row = calls.last_row(ev, died_s)
    waits = row is not None and (row[1]["hold"] or row[2][channel]["ladder"])
    struck = any(t.strikes(channel) and t.meant for t in before)
    return "waited for hands" if waits and struck else "firmware alone"
