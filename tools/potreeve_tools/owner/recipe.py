"""From what an owner knows (pot, mix, plant, pump, tray, battery) to settings. Pure; every figure says where it is
from.

Marks: V read in the source, V-abs in its abstract, V-2nd quoted by another, D
derived, M from memory, ours chosen here. What an owner can't know is not asked for.
"""

import math
from typing import NamedTuple

from potreeve.logic import dosing
from potreeve.logic.settings import CHANNEL_KEYS
from potreeve.logic.starving import BRIGHTEST, PROOF_WATER_PM, counted_pm

from potreeve_tools.owner.knowledge import MIXES, PLANTS, Mix, PlantFacts

# Cells are not taken below this under a pump's load, per cell (common practice, no source).
STOP_MV = {"lithium": 3200, "alkaline": 1050, "nimh": 1080}

# Reference evapotranspiration of an ordinary indoor day in um, as watch.ORDINARY_UM has it.
ORDINARY_UM = 1500
# A plant alone on a sill has more leaf than its pot has rim: its Kc may exceed 2, up to
# about 2.5 (FAO-56 p. 202, V). Twice the field's Kc of 0.85 to 1.15 lies in that range.
ALONE_TIMES = 2.0
# However small its pot: bedding plants drank 12 to 44 ml a day, by age (van Iersel et al. 2010, V-abs).
SMALL_PLANT_ML = 25.0
# A potted plant can use all its available water in one or two days (Rutgers FS812, V): the
# cap leaves room for the shorter.
EMPTIES_DAYS = 1

# Caps count the most a pulse can have brought: its tube taken as full, its pump as fast as it
# may be. Before the pump is measured, half as much again.
COUNTED_TIMES = 1.5

# A pot whose height nobody gave is nearly as high as wide.
HEIGHT_TO_WIDTH = 0.9

# A dose ends this far below container capacity at the latest, and this far above the
# refill point at the least: probe, law and temperature are not better than that.
FILL_MOST_PM, FILL_USUAL_PM, FILL_GAP_PM = 970, 970, 80

# A pulse lifts its pot by about half of a dose, but by no less than a probe sees, well
# above dosing.PROOF_FLOOR_PM, and by no more than spreads sideways in a soak.
PULSE_LEAST_PM, PULSE_MOST_PM = 30, 60

# Twice that, where each pulse fills its tube first: that counts against the caps as well, and a small pot with a long
# tube ran into its day's cap by what filled it.
FILLING_MOST_PM = 120

# Pulses that may show no rise: enough of them for settings.PROOF_WATER_PM, within what the settings allow.
UNPROVEN_LEAST, UNPROVEN_MOST = 3, 5

# No pulse longer than this by choice; a slow pump under a large pot may need the board's longest.
PULSE_MOST_MS = 30000
UNMEASURED_MS = 15000
FITTED = ("pulse_ml", "pulse_max_ms", "day_ml", "unproven_max")
"""Keys of a channel that fit_pump gives."""
UNMEASURED = {row[0]: row[5] for row in CHANNEL_KEYS}
"""What each key of a channel is while nothing was measured."""
PULSE_LEAST_ML, PULSE_MOST_ML = next(row[3:5] for row in CHANNEL_KEYS if row[0] == "pulse_ml")
# A battery near its end drives a pump slower: a pulse may take so much longer, and longer still where it sinks further
# from the calibration to its stop (dosing.flow_ul_s) and the tray has room.
SLOWER_TIMES = 1.3
SPARE_MS = 300
# So far a pump pulls each cell down (common practice, no source).
PULLS_MV = 100

# Share of a tray's headroom that is counted on: it is seldom level.
HEADROOM_SHARE = 0.85
# No single pulse may bring more than this share of the headroom, so that each pot finds room.
PULSE_OF_HEADROOM = 4
# But what a probe must have seen is given at once, or a small tray fills with pulses that nothing shows: the whole
# pulses for it are to fit this share of headroom (water._NEARLY_PM). Each fills its tube first: fewer, larger ones fit.
AT_ONCE_SHARE = 0.875


class PotFacts(NamedTuple):
    """What an owner says of a pot. holds_ml: by weight, 0: from the mix. height_cm 0: nearly as high as wide.

    facts: of a plant of the owner's own, instead of what is published of `plant`.
    """

    name: str
    plant: str
    mix: str
    pot_ml: float
    height_cm: float = 0.0
    holds_ml: float = 0.0
    facts: PlantFacts | None = None


class RigFacts(NamedTuple):
    """What an owner says of the rest. tray_cm2: floor open between the pots; tray_ml: what it takes to its rim;
    on_feet: the pots stand on feet or gravel above its floor."""

    name: str
    tray_cm2: float
    tray_ml: float
    battery_kind: str = "lithium"
    battery_cells: int = 1
    battery_mah: int = 2500
    on_feet: bool = False


def pot_ml(diameter_cm, height_cm):
    """Volume of a straight pot, by ruler."""
    return math.pi / 4 * diameter_cm**2 * height_cm


def make(rig, pots):
    """Settings, not checked yet, as a dict. rig: RigFacts; pots: PotFacts per channel."""
    bounds = {
        "tray_headroom_ml": int(rig.tray_ml * HEADROOM_SHARE),
        "battery_stop_mv": max(1900, STOP_MV[rig.battery_kind] * rig.battery_cells),
    }
    channels = [_channel(pot, bounds) for pot in pots]
    return {
        "name": rig.name[:24],
        **bounds,
        "tray_area_cm2": round(rig.tray_cm2),
        "pots_in_tray": not rig.on_feet,
        "rig_day_ml": rig_day_ml(channels),
        "battery_kind": rig.battery_kind,
        "battery_cells": rig.battery_cells,
        "battery_mah": rig.battery_mah,
        "channels": channels,
    }


def rig_day_ml(channels):
    """The rig's cap: every pot may have its own."""
    return max(5, min(5000, sum(channel["day_ml"] for channel in channels)))


def follow_rig_day(before, after):
    """rig_day_ml of settings whose channels changed: once more what all pots may have, where it was that before; a
    figure that somebody chose stays."""
    own = before["rig_day_ml"] == rig_day_ml(before["channels"])
    return rig_day_ml(after["channels"]) if own else before["rig_day_ml"]


def _channel(pot, bounds):
    mix, plant = MIXES[pot.mix], pot.facts or PLANTS[pot.plant]
    height_cm = pot.height_cm or height_of(pot.pot_ml)
    capacity = container_capacity(mix, height_cm)
    holds_ml = pot.holds_ml or pot.pot_ml * (capacity - mix.air_dry)
    wilting_pm = round(1000 * (mix.wilting - mix.air_dry) * pot.pot_ml / holds_ml)
    wilting_pm = min(600, wilting_pm)
    fill_pm, depletion_pm = refill(wilting_pm, plant)
    refill_pm = 1000 - (1000 - wilting_pm) * depletion_pm // 1000
    gap_pm = fill_pm - refill_pm
    dose_ml = max(5.0, holds_ml * max(1.2 * gap_pm, 1.5 * PROOF_WATER_PM) / 1000)
    drawable_ml = holds_ml * (1000 - wilting_pm) / 1000
    need_ml = max(ordinary_day_ml(plant, pot.pot_ml, height_cm), min(SMALL_PLANT_ML, drawable_ml / 4))
    pulse_ml = holds_ml * min(PULSE_MOST_PM, max(PULSE_LEAST_PM, gap_pm / 2)) / 1000
    channel = {
        "name": pot.name[:16],
        "plant": pot.plant[:24],
        "pot_ml": round(pot.pot_ml),
        "holds_ml": round(holds_ml),
        "wilting_pm": wilting_pm,
        "depletion_pm": depletion_pm,
        "fill_pm": fill_pm,
        "pump_ul_s": 0,
        "pulse_ml": max(PULSE_LEAST_ML, min(PULSE_MOST_ML, round(pulse_ml))),
        "pulse_max_ms": UNMEASURED_MS,
        "dose_ml": min(2000, round(dose_ml)),
        "ration_ml": max(1, min(500, round(need_ml), round(dose_ml))),
    }
    return {**channel, **fit_pump(channel, bounds)}


def height_of(volume_ml):
    """Height in cm of a pot of which only the volume is known."""
    return (4 * volume_ml * HEIGHT_TO_WIDTH**2 / math.pi) ** (1 / 3)


def container_capacity(mix: Mix, height_cm):
    """Water content of a soaked and drained pot, m3/m3: the lower the pot, the wetter it stays.

    The mix's figure is that at 1 kPa, the mean suction in a pot of 20 cm. Water after
    drainage rose from 43 to 59 % from a 3.8 l pot (some 16 cm) to a bedding-plant cell
    (some 5 cm; Fonteno et al. 1987, V-abs; heights M): 1.5 vol-% per cm, of which the
    larger part lies below 10 cm. 1.0 per cm is taken, up to the mix's pores.
    """
    return min(mix.pores - 0.05, max(mix.at_1_kpa - 0.05, mix.at_1_kpa + 0.010 * (20.0 - height_cm)))


def refill(wilting_pm, plant: PlantFacts):
    """(fill_pm, depletion_pm): the plant's p of FAO-56 Table 22, with room for a dose between refill point and fill
    mark.

    Where a small p and a high wilting point leave no such room, the fill mark goes up
    first, then a little more depletion is allowed.
    """
    depletion_pm = round(1000 * plant.depletion)
    least_pm = -(-1000 * (1000 - FILL_MOST_PM + FILL_GAP_PM) // (1000 - wilting_pm))
    depletion_pm = min(800, max(depletion_pm, least_pm))
    refill_pm = 1000 - (1000 - wilting_pm) * depletion_pm // 1000
    return min(FILL_MOST_PM, max(FILL_USUAL_PM, refill_pm + FILL_GAP_PM)), depletion_pm


def ordinary_day_ml(plant: PlantFacts, volume_ml, height_cm):
    """What a plant of that kind, grown to its pot, drinks on an ordinary indoor day."""
    rim_cm2 = volume_ml / height_cm
    return ALONE_TIMES * plant.kc_mid * ORDINARY_UM / 10000 * rim_cm2


def fit_pump(channel, settings):
    """pulse_ml, pulse_max_ms and unproven_max for a channel's pump: long enough for the pulse on a battery near its
    stop, short enough for board and tray. settings: those of the rig."""
    flow, headroom_ml = channel["pump_ul_s"], settings["tray_headroom_ml"]
    pulse_ml = max(channel["pulse_ml"], _filling_ml(channel))
    pulse_ml = min(pulse_ml, PULSE_MOST_ML, channel["dose_ml"], headroom_ml // PULSE_OF_HEADROOM)
    pulse_max_ms = UNMEASURED_MS
    if flow:
        prime_ms = channel["prime_ms"]
        room_ms = dosing.longest_ms(headroom_ml * 1000, channel)
        longest_ms = min(PULSE_MOST_MS, room_ms // PULSE_OF_HEADROOM + prime_ms, room_ms)
        slower = _slower_times(channel, settings["battery_stop_mv"])
        wanted_ms = math.ceil((pulse_ml * 1e6 / flow + prime_ms) * slower) + SPARE_MS
        pulse_max_ms = max(200, min(wanted_ms, longest_ms))
        # A tube that stays full from one day to the next leaves the whole pulse to the pot, but for the very first.
        fills_ms = dosing.day_prime_ms({**UNMEASURED, **channel})
        pulse_ml = min(pulse_ml, max(0, pulse_max_ms - fills_ms) * flow // 1_000_000)
        at_least = {**channel, "pulse_ml": max(PULSE_LEAST_ML, pulse_ml)}
        pulse_ml, pulse_max_ms = _shown_at_once(at_least, pulse_max_ms, settings, slower)
    pulse_ml = max(PULSE_LEAST_ML, pulse_ml)
    day_ml = _day_ml({**channel, "pulse_ml": pulse_ml, "pulse_max_ms": pulse_max_ms}, settings)
    rise_pm = max(1, 1000 * pulse_ml // channel["holds_ml"])
    return {
        "pulse_ml": pulse_ml,
        "pulse_max_ms": pulse_max_ms,
        "day_ml": day_ml,
        "unproven_max": min(UNPROVEN_MOST, max(UNPROVEN_LEAST, -(-PROOF_WATER_PM // rise_pm))),
    }


def _filling_ml(channel):
    """What a pulse brings at least where it fills its tube first: as much as that takes, up to FILLING_MOST_PM."""
    fills_ms = dosing.day_prime_ms({**UNMEASURED, **channel})
    return min(fills_ms * channel["pump_ul_s"] // 1_000_000, channel["holds_ml"] * FILLING_MOST_PM // 1000)


def _slower_times(channel, stop_mv):
    """How many times longer a pulse takes at the battery's stop than when its pump was measured."""
    return max(SLOWER_TIMES, channel["pump_ul_s"] / max(1, dosing.flow_ul_s({**UNMEASURED, **channel}, stop_mv)))


def _shown_at_once(channel, pulse_max_ms, settings, slower):
    """(pulse_ml, pulse_max_ms) with which the pulses for PROOF_WATER_PM fit the tray together, on a sunken battery as
    well if they can; as they were where none fit."""
    headroom_ml = settings["tray_headroom_ml"]
    most_ms = min(PULSE_MOST_MS, dosing.longest_ms(headroom_ml * 1000, channel))
    need_ml = channel["holds_ml"] * PROOF_WATER_PM / 1000
    fit = []
    for pulses in range(math.ceil(need_ml / channel["pulse_ml"]), 0, -1):
        pulse_ml = max(channel["pulse_ml"], math.ceil(need_ml / pulses))
        ms = math.ceil(pulse_ml * 1e6 / channel["pump_ul_s"]) + channel["prime_ms"]
        if pulse_ml > PULSE_MOST_ML or math.ceil(ms * SLOWER_TIMES) + SPARE_MS > most_ms:
            break
        larger = {**channel, "pulse_ml": pulse_ml}
        if pulses * pulse_ml * _counted_times(larger) > AT_ONCE_SHARE * headroom_ml:
            continue
        longest_ms = max(pulse_max_ms, min(most_ms, math.ceil(ms * slower) + SPARE_MS))
        sunken_ml = pulses * _counted_sunken_ml({**larger, "pulse_max_ms": longest_ms}, settings)
        # All that fit a sunken battery are alike: of those the smallest.
        fit.append((max(sunken_ml, AT_ONCE_SHARE * headroom_ml), pulse_ml, longest_ms))
    if not fit:
        return channel["pulse_ml"], pulse_max_ms
    _, pulse_ml, longest_ms = min(fit)
    return pulse_ml, longest_ms if pulse_ml > channel["pulse_ml"] else pulse_max_ms


def _counted_sunken_ml(channel, settings):
    """What caps count for a pulse on a battery that rests a pump's pull above its stop: it runs for longer, and the
    caps don't take the pump for slower."""
    rest_mv = settings["battery_stop_mv"] + PULLS_MV * settings["battery_cells"]
    told = {**UNMEASURED, **channel}
    idle_s = dosing.NEVER_S if dosing.day_prime_ms(told) else 0
    return dosing.most_ul(dosing.pulse_ms(told["pulse_ml"] * 1000, idle_s, told, rest_mv), told, rest_mv) / 1000


def _day_ml(channel, settings):
    """The day's cap: what a grown plant may drink on a bright day, as pulses count it, on a sunken battery too."""
    drawable_ml = channel["holds_ml"] * (1000 - channel["wilting_pm"]) / 1000
    likely_ml = max(1.2 * channel["dose_ml"], BRIGHTEST * channel["ration_ml"], drawable_ml / EMPTIES_DAYS)
    times = COUNTED_TIMES
    if channel["pump_ul_s"]:
        times = max(times, _counted_times(channel), _counted_sunken_ml(channel, settings) / channel["pulse_ml"])
    return min(3000, round(times * likely_ml))


def _counted_times(channel):
    """How many times its water a pulse counts against the caps."""
    return counted_pm({**UNMEASURED, **channel}) / 1000
