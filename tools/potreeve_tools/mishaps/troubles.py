"""When something was wrong with a rig, by the world's truth, and with which pots."""

import math
from typing import NamedTuple

from potreeve.logic import battery

from potreeve_tools.mishaps.evidence import DAY_S, at_once, joined, spells

# The wall clock decides nothing, nobody need listen or look: these change nothing for a plant.
HARMLESS = ("daylight_saving", "clock_leap", "clock_lost", "radio_down", "tub_refilled", "display_gone")

# What nobody undoes: another pot, another plant, peat that sheds water, other settings, a memory that is gone.
PERMANENT = (
    "dry_substrate",
    "repotted",
    "swelling_pellet",
    "plant_grown",
    "settings_sent",
    "settings_half_written",
    "memory_lost",
    "flash_formatted",
)

# Where a tube that came off leads to: then its water is everybody's matter.
WETS = "electronics"

# A battery is no sound one any more a little above its reserve, and below a fifth of its charge: there a cell's voltage
# falls fast, and a pump pulls it below the stop (ours).
SPARE_PM = 20
FIFTH_PM = 200

# Nor is it one that a starting pump pulls so close to the voltage at which pumps are refused (W6): how far it sags
# changes with the warmth of the hour, and the board knows the last pulses only (ours).
NEAR_MV = battery.SAG_SPARE_MV + 50


class Trouble(NamedTuple):
    """Something wrong. kind: of the mishap, or "empty tub", "flat battery"; channels: of the pots it strikes, None:
    all;
    meant: whether it was a mishap of the scenario."""

    kind: str
    start_s: float
    end_s: float
    channels: tuple | None
    meant: bool = True

    def strikes(self, channel):
        return self.channels is None or channel in self.channels


def find(ev):
    """All Troubles of a run, in order of time."""
    found = [_of_fault(fault) for fault in ev.mishaps if _counts(fault)]
    return sorted(found + empty_tub(ev) + flat_battery(ev), key=lambda trouble: trouble.start_s)


def sound_until_s(ev):
    """Until when nothing at all was wrong, a tub that nobody filled and a flat battery included."""
    return min([trouble.start_s for trouble in find(ev)], default=math.inf)


def empty_tub(ev):
    """The times during which no pump could reach water worth a pulse: less than the smallest of the rig's."""
    least_ml = min(channel["pulse_ml"] for channel in ev.settings["channels"])
    dry = [sample["reservoir_usable_ml"] < least_ml for sample in ev.samples]
    return [Trouble("empty tub", *span, None, False) for span in spells(_times(ev), dry, ev.end_s)]


def flat_battery(ev):
    """The times during which the battery could not run the board, or a pump, or was below what its owner wants kept."""
    least = max(ev.settings["battery_reserve_pm"] + SPARE_PM, FIFTH_PM) / 1000
    least_mv = ev.settings["battery_stop_mv"] + NEAR_MV
    low = [sample["battery_soc"] < least or sample["pump_start_mv"] < least_mv for sample in ev.samples]
    spans = spells(_times(ev), low, ev.end_s) + [(t_s, t_s + 3600.0) for t_s in ev.session.dead_s]
    return [Trouble("flat battery", *span, None, False) for span in joined(spans, DAY_S)]


def _times(ev):
    return [sample["t_s"] for sample in ev.samples]


def _counts(fault):
    if fault.kind == "button":
        return fault.params["hold_ms"] >= 2000
    return fault.kind not in HARMLESS


def _of_fault(fault):
    if fault.kind in PERMANENT:
        end_s = math.inf
    else:
        end_s = fault.start_s if at_once(fault) else fault.end_s
        if fault.params.get("every_s"):
            end_s = fault.end_s
    other = fault.params.get("other", -1)
    struck = tuple(channel for channel in (fault.channel, other) if channel >= 0) or None
    if fault.params.get("where") == WETS:
        struck = None
    return Trouble(fault.kind, fault.start_s, end_s, struck)
