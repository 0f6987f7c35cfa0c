"""The fault schedule: which mishaps strike when, as data.

A mishap in TOML (in a rig file or a scenario):

    [[fault]]
    kind = "tube_off"
    channel = 0          # counted from 0; only for kinds that strike one channel
    start_h = 72.0       # or start_s; hours or seconds since the start of the run
    end_h = 96.0         # or end_s; left out: to the end of the run
    where = "tray"       # further keys: the kind's own, see KINDS

Lasting faults are undone at their end where a person could undo them.
What each kind does to the world is in mishaps.py.
"""

import math
from dataclasses import dataclass, field
from typing import NamedTuple

from potreeve_tools.terminal.faultlist import REQUIRED, Key, check_table, fault_line, nearest

SECONDS_MOST = 20 * 365 * 86_400
RESTARTS = ("file_damaged", "settings_half_written", "memory_lost", "flash_formatted", "settings_sent")
"""Flags after which the board starts over: it only looks at these files then."""
FLAGS = ("flash_full", "flash_worn", "radio_down", "display_gone", *RESTARTS)
"""Kinds that the world only raises as flags: the rehearsal's store and radio read them."""


class Kind(NamedTuple):
    """A kind of mishap. instant: it happens once, at its start, and has no end of its own. part: what only some boards
    have, and it strikes, or tells of it: "tray", "tub", "soil", "display"; "" for none. helps: people do it for the
    better."""

    says: str
    channel: bool = False
    instant: bool = False
    params: tuple = ()
    part: str = ""
    helps: bool = False


@dataclass(eq=False)
class Fault:
    """One mishap. bit: how often it really made a difference; 0 means it was never shown."""

    kind: str
    start_s: float
    end_s: float = math.inf
    channel: int = -1
    params: dict = field(default_factory=dict)
    bit: int = 0
    active: bool = False
    saved: dict = field(default_factory=dict, repr=False)

    def fresh(self):
        """A copy as it was before anything happened (a schedule can be used for many runs)."""
        return Fault(self.kind, self.start_s, self.end_s, self.channel, dict(self.params))


def _f(name, low, high, default=REQUIRED, unit="", note=""):
    return Key(name, "float", low, high, default=default, unit=unit, help=note)


_PLACE = Key("place", "int", 0, 3, default=0, help="which float, from below, counted from 0")
_EVERY = _f("every_s", 0, 1e8, 0.0, "s", "0 = once")
_OTHER = Key("other", "int", 0, 7, help="the other channel")

KINDS = {
    # probes
    "probe_out": Kind("probe pulled out of the soil", True),
    "probe_leaning": Kind(
        "probe leaning, an air gap along it", True, params=(_f("gap", 0.02, 1, 0.5, "", "share of it in air"),)
    ),
    "probe_broken": Kind(
        "probe's wire broken",
        True,
        params=(Key("reads", "choice", choices=("high", "low", "floating"), default="high"),),
    ),
    "probe_shorted": Kind("probe's wires shorted", True),
    "probe_stuck": Kind("probe always gives the same value", True),
    "probe_noisy": Kind("probe noisy", True, params=(_f("times", 2, 500, 40.0, "times its noise"),)),
    "probe_temp_drift": Kind(
        "probe drifts with temperature", True, params=(_f("vwc_per_degc", -0.02, 0.02, 0.008, "m3/m3 per degC"),)
    ),
    "probe_coating": Kind(
        "probe's coating fails and it reads ever wetter",
        True,
        params=(_f("vwc_per_day", 0, 0.5, 0.03, "m3/m3 per day"), _f("vwc_most", 0, 1, 0.4, "m3/m3")),
    ),
    "probes_crossed": Kind("probes crossed, or the switch gives the neighbour's value", True, params=(_OTHER,)),
    "adc_drift": Kind(
        "the converter drifts for all probes alike",
        params=(_f("pm_per_day", -200, 200, 15.0, "per mille of the value per day"),),
    ),
    "climate_silent": Kind("climate sensor does not answer"),
    "light_silent": Kind("light sensor does not answer"),
    # tubes, pumps, reservoir
    "tube_off": Kind(
        "tube popped off",
        True,
        params=(
            Key("where", "choice", choices=("tray", "floor", "electronics"), default="tray"),
            _f("drop_mm", -1500, 2000, 5.0, "mm", "height of its end above the tray's floor"),
        ),
    ),
    "tube_clogged": Kind(
        "tube kinked or clogged", True, params=(_f("left", 0, 0.95, 0.0, "", "share of the flow left"),)
    ),
    "tubes_crossed": Kind("tubes crossed between two pots", True, params=(_OTHER,)),
    "inlet_buried": Kind("tube's end below the soil's surface, without valve: water is sucked back", True),
    "reservoir_empty": Kind(
        "reservoir empty; filled at the end", params=(_f("refill_pct", 0, 100, 90.0, "%", "of its height, at the end"),)
    ),
    "siphon": Kind(
        "reservoir raised above an outlet, air hole blocked: runs on after the pump stops",
        True,
        params=(_f("above_mm", 1, 1000, 80.0, "mm", "of the surface above the outlet"),),
    ),
    "pump_stuck_on": Kind("pump's switch welded: runs whenever it has supply", True),
    "pump_weak": Kind("pump weak", True, params=(_f("left", 0.01, 0.95, 0.3, "", "share of the flow left"),)),
    "pump_wearing": Kind(
        "pump wears out: it brings a little less each day",
        True,
        params=(
            _f("lost_per_day", 0.001, 0.9, 0.02, "", "share of its flow that each day takes"),
            _f("left_least", 0.0, 0.95, 0.0, "", "share that stays"),
        ),
    ),
    "pump_dry": Kind("pump runs but moves no water", True),
    "tray_weeping": Kind(
        "tub raised, and a tube that hangs low weeps into the tray",
        params=(_f("ml_h", 0.1, 500, 20.0, "ml/h", "as long as the tub has water"),),
    ),
    "tub_leaks": Kind(
        "the tub has a crack: water runs out onto the floor",
        params=(
            _f("ml_h", 0.1, 5000, 30.0, "ml/h"),
            _f("down_to_mm", 0, 2000, 0.0, "mm", "above its floor, where the crack ends"),
        ),
        part="tub",
    ),
    "float_stuck_up": Kind("a float sticks and says water is there", params=(_PLACE,), part="tub"),
    "float_stuck_down": Kind(
        "a float sticks, or its wire is broken: it says no water is there", params=(_PLACE,), part="tub"
    ),
    "strip_stuck": Kind("the strip in the tub goes on saying what it said", part="tub"),
    "strip_film": Kind(
        "a film clings to the strip in the tub as the water falls: it seems to stand higher",
        params=(_f("mm", 0.5, 300, 25.0, "mm", "at most"),),
        part="tub",
    ),
    # pots
    "dry_substrate": Kind(
        "substrate bone-dry and shedding water", True, True, params=(_f("moisture_pm", 0, 200, 20.0, "per mille"),)
    ),
    "swelling_pellet": Kind("pressed pellet that swells as it takes up water", True, True),
    "no_drainage": Kind("pot without drainage", True),
    "watering_can": Kind("someone waters a pot by hand", True, True, params=(_f("ml", 1, 5000, 150.0, "ml"), _EVERY)),
    "plant_grown": Kind("plant has grown", True, True, params=(_f("times", 0.05, 20, 4.0, "times its leaf area"),)),
    "repotted": Kind(
        "plant repotted into another pot with fresh mix",
        True,
        True,
        params=(
            _f("diameter_cm", 4, 60, 20.0, "cm"),
            _f("height_cm", 3, 60, 18.0, "cm"),
            _f("start_pm", 0, 1000, 500.0, "per mille"),
        ),
    ),
    "swapped": Kind("two pots change places", True, params=(_OTHER,)),
    "tipped_over": Kind(
        "pot tipped over; set upright at the end",
        True,
        params=(_f("lost", 0, 1, 0.3, "", "share of its water that runs out"),),
    ),
    "pot_removed": Kind("pot taken away; back at the end", True),
    # tray, electronics
    "tray_poured": Kind(
        "someone pours water into the tray", instant=True, params=(_f("ml", 1, 20_000, 300.0, "ml"), _EVERY)
    ),
    "water_on_electronics": Kind(
        "water on the electronics; dried at the end",
        params=(_f("mad_s", 0, 1e6, 900.0, "s", "nonsense before silence"),),
    ),
    "tray_emptied": Kind("someone empties the tray", instant=True, helps=True),
    # the tray's sensor
    "tray_sensor_film": Kind(
        "tray's sensor bridged by a film of water: condensation, or dirt that stays damp",
        params=(_f("ohm", 100, 1e6, 40_000.0, "ohm", "of the film"),),
        part="tray",
    ),
    "tray_sensor_corroded": Kind(
        "wires of the tray's sensor corrode",
        params=(_f("ohm_per_day", 1, 1e6, 8_000.0, "ohm/day", "more in their way"),),
        part="tray",
    ),
    "tray_sensor_broken": Kind("wire of the tray's sensor broken", part="tray"),
    "tray_sensor_shorted": Kind("wires of the tray's sensor touch", part="tray"),
    "tray_float_up": Kind("float of the tray's sensor stuck up", part="tray"),
    "tray_float_down": Kind("float of the tray's sensor stuck down", part="tray"),
    "tray_sensor_lies": Kind(
        "tray's sensor says anything at random",
        params=(_f("wet_pm", 0, 1000, 300.0, "per mille of looks it is wet"),),
        part="tray",
    ),
    # the soil's thermometer
    "soil_sensor_off": Kind("the soil's thermometer does not answer: its wire is broken", part="soil"),
    "soil_sensor_shorted": Kind("data wire of the soil's thermometer touches ground", part="soil"),
    "soil_sensor_garbled": Kind("what the soil's thermometer says is garbled on its way", part="soil"),
    "soil_sensor_stuck": Kind("the soil's thermometer never measures: it says 85 degC, as after a start", part="soil"),
    # battery
    "battery_old": Kind(
        "old battery: less charge, more resistance",
        params=(_f("capacity_left", 0.02, 1, 0.4), _f("resistance_times", 1, 100, 6.0)),
    ),
    "battery_cold": Kind("cold battery", params=(_f("by_degc", -60, 0, -25.0, "degC"),)),
    "battery_sagging": Kind("battery sags under load", params=(_f("resistance_times", 1, 200, 20.0),)),
    "battery_low": Kind("battery nearly empty; changed at the end", params=(_f("left_pct", 0, 50, 3.0, "%"),)),
    "brown_out": Kind(
        "supply breaks down in mid-pulse",
        params=(
            _f("after_ms", 0, 60_000, 400.0, "ms"),
            Key("times", "int", 1, 100_000, default=3, help="how many pulses"),
        ),
    ),
    "reset_loop": Kind("board resets again and again", params=(_f("every_s", 1, 86_400, 60.0, "s"),)),
    # clock
    "clock_lost": Kind("wall clock lost"),
    "clock_leap": Kind("wall clock leaps", instant=True, params=(_f("by_s", -3e8, 3e8, 86_400.0, "s"),)),
    "daylight_saving": Kind(
        "somebody's daylight-saving step on the clock", instant=True, params=(_f("by_s", -7200, 7200, 3600.0, "s"),)
    ),
    # flags
    "flash_full": Kind("flash full"),
    "flash_worn": Kind("flash worn", params=(_f("bad_pm", 0, 1000, 20.0, "per mille of writes fail"),)),
    "radio_down": Kind("radio down"),
    "display_gone": Kind("display gone from the bus while it is written to", part="display"),
    "file_damaged": Kind("an installed file is not what was installed"),
    "settings_half_written": Kind("settings half-written", instant=True),
    "memory_lost": Kind("ledger gone: the board forgets what it gave", instant=True),
    "flash_formatted": Kind("file system made anew: ledger, log and settings gone", instant=True),
    "settings_sent": Kind("new settings sent in mid-run", instant=True),
    # people
    "button": Kind(
        "owner presses the button",
        instant=True,
        params=(
            _f("hold_ms", 1, 600_000, 300.0, "ms"),
            Key("times", "int", 1, 10_000, default=1),
            _f("every_s", 0.1, 1e8, 5.0, "s"),
        ),
    ),
    "tub_refilled": Kind(
        "someone refills the reservoir", instant=True, params=(_f("to_pct", 1, 100, 90.0, "% of its height"), _EVERY)
    ),
}

# Strengths at which a mishap is none: it could never be shown.
IDLE = {
    "probe_temp_drift": {"vwc_per_degc": 0.0},
    "probe_coating": {"vwc_per_day": 0.0},
    "adc_drift": {"pm_per_day": 0.0},
    "plant_grown": {"times": 1.0},
    "tipped_over": {"lost": 0.0},
    "battery_old": {"capacity_left": 1.0, "resistance_times": 1.0},
    "battery_cold": {"by_degc": 0.0},
    "battery_sagging": {"resistance_times": 1.0},
    "clock_leap": {"by_s": 0.0},
    "daylight_saving": {"by_s": 0.0},
    "flash_worn": {"bad_pm": 0.0},
}

_COMMON = ("kind", "channel", "start_s", "start_h", "end_s", "end_h")


def parse_faults(entries, channels, where):
    """Check a list of [[fault]] tables. Returns (list of Fault, list of fault lines)."""
    schedule, wrong = [], []
    for place, entry in enumerate(entries, 1):
        fault, found = _parse_one(entry, channels, f"{where} [[fault]] {place}")
        wrong += found
        if fault is not None and not found:
            schedule.append(fault)
    return schedule, wrong


def _parse_one(entry, channels, where):
    name = entry.get("kind", REQUIRED)
    if name is REQUIRED or not isinstance(name, str) or name not in KINDS:
        hint = "" if name is REQUIRED else nearest(name, KINDS)
        return None, [
            fault_line(where, "kind", name, "not a kind of mishap" + hint, "give one of: " + ", ".join(sorted(KINDS)))
        ]
    kind = KINDS[name]
    spec = [Key("kind", "str"), *kind.params]
    spec += [
        Key(key, "float", 0, SECONDS_MOST if key.endswith("_s") else SECONDS_MOST / 3600, default=-1.0, unit=key[-1])
        for key in _COMMON[2:]
    ]
    if kind.channel:
        spec.append(Key("channel", "int", 0, max(0, channels - 1), help="counted from 0"))
    clean, wrong = check_table(entry, spec, where)
    start_s, found = _time(clean, "start", where, needed=True)
    wrong += found
    end_s, found = _time(clean, "end", where, needed=False)
    wrong += found
    if not wrong and end_s < start_s:
        wrong.append(fault_line(where, "end", end_s, f"before its start at {start_s:g} s", "let it end later"))
    other = clean.get("other")
    if other is not None and (other >= channels or other == clean.get("channel")):
        wrong.append(
            fault_line(where, "other", other, "not another channel", f"give 0 to {channels - 1}, but not its own")
        )
    params = {key.name: clean[key.name] for key in kind.params if key.name in clean}
    idle = IDLE.get(name)
    if idle and all(params.get(key) == value for key, value in idle.items()):
        key = next(iter(idle))
        wrong.append(fault_line(where, key, params[key], "changes nothing", "give a strength that does"))
    return Fault(name, start_s, end_s, clean.get("channel", -1), params), wrong


def _time(clean, stem, where, needed):
    seconds, hours = clean.get(stem + "_s", -1.0), clean.get(stem + "_h", -1.0)
    if seconds >= 0 and hours >= 0:
        return 0.0, [fault_line(where, stem + "_h", hours, f"{stem}_s is there too", "give one of the two")]
    if seconds < 0 and hours < 0:
        if needed:
            return 0.0, [
                fault_line(where, stem + "_h", REQUIRED, "needed", f"add {stem}_h (hours) or {stem}_s (seconds)")
            ]
        return math.inf, []
    return (seconds if seconds >= 0 else hours * 3600.0), []


def make_fault(kind, start_s, end_s=math.inf, channel=-1, **params):
    """Build one Fault in code, with the kind's defaults filled in. Raises ValueError on a slip."""
    entry = {"kind": kind, "start_s": float(start_s), **params}
    if end_s != math.inf:
        entry["end_s"] = float(end_s)
    if channel >= 0:
        entry["channel"] = channel
    fault, wrong = _parse_one(entry, 8, "make_fault")
    if wrong:
        raise ValueError("\n".join(wrong))
    return fault
