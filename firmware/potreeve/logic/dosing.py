"""From a deficit to pulses: how much, in what portions, and did it help.

Cycle and soak: a dose is given in pulses with a rest between, because water
needs time to move sideways; Fare, Gilliam and Keever 1994 (abstract) found
34 % less leachate for three cycles than for one.
"""

from potreeve.logic.units import DAY_S, HOUR_S, clamp, const, div_up

# A pulse helped when the probe rose by at least this share of what the dose
# should have done, and by more than noise can do. So little, because water from
# above reaches a probe in mid-depth late (common practice, no source).
_PROOF_PM = const(100)
PROOF_FLOOR_PM = 12

# No pot is held for want of a rise before its unproven pulses should have lifted it by so
# much: five times the least rise that counts, as a probe near the rim or deep in a large
# pot sees a fifth of the mean at worst (common practice, no source).
ENOUGH_PM = 60

# A dose was taken up when the pot rose by this share of what doses usually do;
# one probe speaks for a whole pot only that roughly. What is usual is learned, but
# never taken as less than USUAL_LOW_PM of what the volume says: a pot that always
# let more than that run through would fill the tray unseen. So does peat that dried
# out once: watered from above it held 21.5 vol-% less (Bartley et al. 2023,
# HortScience 58(1):79-83, abstract).
TAKEN_PM = 850
USUAL_LOW_PM = const(650)

# Counted as run through even then: doses stop short of container capacity, so
# little does (common practice, no source).
_LEACHING_PM = const(50)

# More than this of a dose is not its own (common practice, no source).
_TAKEN_MOST_PM = const(1500)

# The learned gain stays within these bounds of what the pot's volume says.
_GAIN_LOW_PM = const(500)
_GAIN_HIGH_PM = const(2000)

# Voltages further from the pump's calibration count as this far, in pm of it.
_FLOW_LOW_PM = const(600)
_FLOW_HIGH_PM = const(1200)

# FAO-56 holds p to 0.1..0.8, after Table 22.
_LEAST_DEPLETION_PM = const(100)

# What a cheap probe may be wrong by near container capacity, in thousandths of m3/m3: the root
# mean square of Nagahage et al. 2019, Agriculture 9(7):141 (abstract), .05, times 1.65, so
# that nineteen of twenty read no wetter than that.
_PROBE_VWC = const(82)

# A dose lifts a pot by at least this: nearer to full, warmth and drift make a full pot look due
# (common practice, no source).
LEAST_LIFT_PM = 50

# A tube left alone this long has drained and must be filled again, if nothing keeps it full: see drained.
TUBE_DRAINS_S = 1800
NEVER_S = 0x7FFFFFF

# After a pulse the water spreads out and the probe may give the rise back.
SPREADS_S = 21600

# Water has spread through a pot, and what stayed in it shows, after so long per cm2 of its
# top: spreading takes as long as the square of the way. Twice what the conductivity of wet
# bark says (an hour in a pot of 10 cm, five to six in one of 25; see world/wetting.py), for
# a pot that is due is drier. No less than an hour, no more than SPREADS_S.
_SPREAD_S_CM2 = const(60)
_SPREAD_LEAST_S = const(3600)

# In place of a dose's demand: its plant may have hidden its rise, so no pot is condemned, but
# none was seen. Then what the plant may have drunk is not taken off the tray's account as well.
UNSEEN_UM = 65535

# Below this a dose is finished: the next pulse would overshoot.
CLOSE_ENOUGH_PM = 15


def refill_point_pm(pot):
    """Moisture at which a pot is watered again.

    Container capacity less the allowed depletion p (FAO-56 table 22) of what
    the plant can draw, which is what lies above its wilting point.
    """
    return 1000 - (1000 - pot["wilting_pm"]) * pot["depletion_pm"] // 1000


def due_pm(state, typical_um, pot):
    """Moisture at which a pot is due now: the refill point, nearer to full while it drinks much.

    FAO-56 Table 22 holds for 5 mm a day; its note adjusts p by 0.04 (5 - ETc). A pot
    in a sunny window loses far more over its small area. Twice what was learned is taken for
    ETc: use is learned from the least that a pulse brings, and a sunny day asks for more than a
    typical one (in drawn rigs the world's own figure was 1.3 to 2.5 times the learned one). Where it loses less, the
    depletion set stays. A probe may read too wet by _PROBE_VWC; near the fill mark,
    which was measured, it errs less.
    """
    due = refill_point_pm(pot)
    if state.use_ul_mm and typical_um:
        # ul over cm2 are 10 um each.
        etc_um = state.use_ul_mm * typical_um // 50 // area_cm2(pot["pot_ml"])
        p_pm = pot["depletion_pm"] - clamp((etc_um - 5000) // 25, 0, 800)
        if p_pm < _LEAST_DEPLETION_PM:
            p_pm = _LEAST_DEPLETION_PM
        if p_pm < pot["depletion_pm"]:
            due = 1000 - (1000 - pot["wilting_pm"]) * p_pm // 1000
    due += _PROBE_VWC * pot["pot_ml"] // pot["holds_ml"]
    most = pot["fill_pm"] - LEAST_LIFT_PM
    return due if due < most else most


def area_cm2(pot_ml):
    """Top of a pot of that volume, in cm2: its cube root squared, as for a pot nine tenths
    as high as wide (common practice, no source)."""
    low = 1
    high = 1000
    while high - low > 1:
        middle = (low + high) // 2
        if middle * middle * middle > pot_ml * pot_ml:
            high = middle
        else:
            low = middle
    return low


def stress_point_pm(pot):
    """Moisture below which the plant is clearly short of water: half-way
    from the refill point to wilting (common practice, no source)."""
    return (refill_point_pm(pot) + pot["wilting_pm"]) // 2


def draws_pm(moisture_pm, pot):
    """Share of its use that a plant still draws at a moisture, in pm: all of it down to the stress point, none at
    wilting, in proportion between them (after FAO-56 Eq. 84)."""
    free_pm = stress_point_pm(pot) - pot["wilting_pm"]
    return clamp(moisture_pm - pot["wilting_pm"], 0, free_pm) * 1000 // free_pm


def spread_s(pot):
    """How long water takes to spread through a pot, in s."""
    return clamp(area_cm2(pot["pot_ml"]) * _SPREAD_S_CM2, _SPREAD_LEAST_S, SPREADS_S)


def water_ul(rise_pm, pot):
    """Water that lifts a pot by `rise_pm`, reckoned from its volume, in ul."""
    return rise_pm * pot["holds_ml"]


def rise_pm(dose_ul, gain_pm, pot):
    """Rise a dose should give, in pm; gain_pm 1000 = as the volume says."""
    return dose_ul * gain_pm // (pot["holds_ml"] * 1000)


def deficit_ul(moisture_pm, gain_pm, pot):
    """Water from here to the fill mark, 0 when there, at most one dose."""
    short_pm = pot["fill_pm"] - moisture_pm
    if short_pm <= 0:
        return 0
    # A probe beside the drip may see twice the pot's mean rise: no reason to give half.
    need_ul = water_ul(short_pm, pot) * 1000 // (gain_pm if gain_pm < 1000 else 1000)
    return clamp(need_ul, 0, pot["dose_ml"] * 1000)


def flow_ul_s(pot, rest_mv):
    """What a pump most likely brings at a battery voltage, 0 unknown.

    By the square of the voltage against that of its calibration: between a plain
    proportion and what lifting water against a head costs (common practice, no
    source). Without it, a battery that runs down would look like a leak.
    """
    if not pot["pump_cal_mv"] or rest_mv <= 0:
        return pot["pump_ul_s"]
    ratio_pm = clamp(rest_mv * 1000 // pot["pump_cal_mv"], _FLOW_LOW_PM, _FLOW_HIGH_PM)
    return pot["pump_ul_s"] * (ratio_pm * ratio_pm // 1000) // 1000


def drained(idle_s, pot):
    """True when a tube must be filled again, so long after its pump last ran."""
    return idle_s >= max(TUBE_DRAINS_S, pot["tube_full_h"] * HOUR_S)


def day_prime_ms(pot):
    """What filling the tube adds to each pulse of a pot that gets some every day, in ms."""
    return 0 if pot["tube_full_h"] * HOUR_S >= DAY_S else pot["prime_ms"]


def _fills_ms(idle_s, pot, rest_mv):
    """How long the tube takes to fill first, so long after its pump last ran: a slower pump takes longer for it."""
    if not drained(idle_s, pot):
        return 0
    return div_up(pot["prime_ms"] * pot["pump_ul_s"], max(1, flow_ul_s(pot, rest_mv)))


def pulse_ms(dose_ul, idle_s, pot, rest_mv=0):
    """How long to run the pump for `dose_ul`, with priming of an empty tube.

    idle_s: time since this pump last ran. Never over the longest pulse.
    """
    ms = div_up(dose_ul * 1000, flow_ul_s(pot, rest_mv)) + _fills_ms(idle_s, pot, rest_mv)
    return clamp(ms, 0, pot["pulse_max_ms"])


def most_ul(ms, pot, rest_mv=0):
    """The most water a pulse of `ms` can bring: the fastest this pump may be,
    the tube taken as full from the start. Caps count this, not the wish.

    rest_mv: battery now; a fuller one than at the pump's calibration drives the
    pump faster. 0 leaves that out.
    """
    return div_up(ms * _fastest_ul_s(pot, rest_mv), 1000)


def longest_ms(room_ul, pot, rest_mv=0):
    """The longest pulse that can't bring more than `room_ul`."""
    return room_ul * 1000 // _fastest_ul_s(pot, rest_mv)


def _fastest_ul_s(pot, rest_mv):
    flow_ul_s = div_up(pot["pump_ul_s"] * (1000 + pot["pump_spread_pm"]), 1000)
    cal_mv = pot["pump_cal_mv"]
    if not cal_mv or rest_mv <= 0:
        return flow_ul_s
    ratio_pm = div_up(rest_mv * 1000, cal_mv)
    if ratio_pm <= 1000:
        # No pump that the battery drives by itself falls by less than its voltage: a motor turns slower in proportion,
        # and lifting water against a head costs more. Long pulses of a sunken battery would fill small trays on paper.
        return div_up(flow_ul_s * max(ratio_pm, _FLOW_LOW_PM), 1000)
    # Flow against a head grows faster than the voltage; its fourth power is
    # beyond what small pumps do (common practice, no source).
    ratio_pm = div_up(ratio_pm * ratio_pm, 1000)
    return div_up(flow_ul_s * div_up(ratio_pm * ratio_pm, 1000), 1000)


def likely_ul(ms, idle_s, pot, rest_mv=0):
    """The water a pulse of `ms` most likely brought to the pot."""
    ms -= _fills_ms(idle_s, pot, rest_mv)
    if ms <= 0:
        return 0
    return ms * flow_ul_s(pot, rest_mv) // 1000


def proof_pm(dose_ul, gain_pm, pot):
    """The least rise that proves a dose arrived."""
    need = rise_pm(dose_ul, gain_pm, pot) * _PROOF_PM // 1000
    return need if need > PROOF_FLOOR_PM else PROOF_FLOOR_PM


def leachate_ul(rise, gain_pm, dose, pot, even=False):
    """How much of a dose to count as run through into the tray, in ul.

    rise: what the whole dose raised the pot by, hours after it, what the plant
    drank meanwhile added; gain_pm: as learned; dose: (its likely water, the most
    it can have been) in ul. Where the rise shows that the pot took the dose, a
    small share is counted; where it doesn't, the share that is missing.
    even: a rise beyond what was told makes up for one that fell short as far, so that a
    reading's errors fill no tray; then less than nothing may have run through.
    """
    dose_ul, most_ul = dose
    told_pm = rise_pm(dose_ul, gain_pm if gain_pm > USUAL_LOW_PM else USUAL_LOW_PM, pot)
    if told_pm <= 0 or rise < min(told_pm, PROOF_FLOOR_PM):
        # Nothing shows that any of it stayed, not even that its tube was empty.
        return most_ul
    taken_pm = clamp(rise * 1000 // told_pm, 0, _TAKEN_MOST_PM)
    if even and taken_pm > 2000 - TAKEN_PM:
        return dose_ul * (1000 + _LEACHING_PM - taken_pm) // 1000
    if taken_pm >= TAKEN_PM:
        return dose_ul * _LEACHING_PM // 1000
    # Of what the pump likely brought, or as fast as it may be: had the tube been full from
    # the start, the pot would have risen by that as well.
    missing_ul = dose_ul * (1000 - taken_pm) // 1000
    if even:
        return min(missing_ul, most_ul)
    return clamp(missing_ul * (1000 + pot["pump_spread_pm"]) // 1000, 0, most_ul)


def learn_gain(gain_pm, rise, dose_ul, pot):
    """Gain after one more finished dose, in pm of what the volume says.

    A quarter of the way to what was seen, within bounds: one odd dose moves it
    little, and no run of them makes a pot generous.
    """
    told = rise_pm(dose_ul, 1000, pot)
    if told <= 0:
        return gain_pm
    seen_pm = clamp(rise * 1000 // told, _GAIN_LOW_PM, _GAIN_HIGH_PM)
    return clamp((3 * gain_pm + seen_pm) // 4, _GAIN_LOW_PM, _GAIN_HIGH_PM)
