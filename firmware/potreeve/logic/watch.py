"""Can this reading be believed? What else is going on in this pot?

`observe` looks at one reading against what the pot's past and the day's demand
allow, and keeps the model of where the pot should be by now. It decides
nothing about water: the ladder does, from the reason given here.
"""

from potreeve.logic import dosing, moisture, reasons
from potreeve.logic.state import HELD, RATIONED
from potreeve.logic.units import HOUR_S, clamp, const

# As dry as air: no plant leaves a pot there, and a rig that tends would never
# have let it come to that. A tenth of the scale, for a probe pulled out of wet soil
# brings some along (common practice, no source).
_AIR_PM = const(100)

# Readings that move less than this between wakes are averaged.
_CALM_PM = const(40)

# A pot may fall this many times faster than learned, plus this much for noise,
# salt and warmth, before the reading is refused. A hot day asks for twice an
# ordinary one's water, and the use learned may be half the truth (common practice,
# no source).
_FALL_TIMES = const(4)
_FALL_SPARE_PM = const(70)

# A distrusted reading that falls by so much from one wake to the next begins a new row (common practice, no source).
_LEAP_PM = const(200)

# A rise counts as given by other hands from here on: more than noise, warmth and a
# night's rest bring, less than a cup of water does (common practice, no source).
_RISE_PM = const(60)
_RISE_AFTER_S = const(7200)

# A full pot that rose by so much with nothing given, or should have fallen by so much and did
# not clearly, is kept full by something; counts only where all pots say so (common practice,
# no source).
_LIFTED_PM = const(40)
_STAYS_PM = const(90)

# Wet through thirst: this much expected fall without having fallen, nearly the whole
# allowed depletion; a sixth of it would be a fall (common practice, no source).
_NO_FALL_PM = const(350)
_FALLEN_PM = const(60)

# The same count so many wakes running, with no spread within a burst: by day a quarter
# of a day, in which noise alone moves a live converter (common practice, no source).
STILL_WAKES = 12

# Container capacity: all that a drained pot keeps.
_CAPACITY_PM = const(1000)

# Wet: above container capacity by more than the probe's error; too wet: for so
# long. Guh and Kuk 1996 and Suh et al. (abstracts) saw harm within 6..24 h of
# flooding at root level.
WET_PM = 1060
TOO_WET_S = 43200

# A distrusted probe is believed again when it agrees with the model to this: what a
# model of a plant's use may err by in a few days (common practice, no source).
AGREES_PM = 150

# What `observe` says of a distrusted probe with nothing against its reading but that it does not
# agree with the model. Faults of the wire come and go, and where it was one it went: after so many such readings
# in a row, a day and more, it is believed again. Water that then does not show is for proof.py (common
# practice, no source).
SOUND = -1
_SOUND_AT = const(36)
_OF_THE_WIRE = (reasons.BROKEN, reasons.SHORTED, reasons.NOISY, reasons.OUTSIDE, reasons.STILL, reasons.OUT_OF_SOIL)

# One that fell must have risen by this since, as it does when it is seated anew.
_RESEATED_PM = const(100)
_SHALLOW_S = const(6 * 3600)

# Or when it saw so many rations in a row, each within these shares of what the
# gain says: a probe in a gap sees too little, one that wanders sees anything
# (common practice, no source).
_ANSWERS_AT = const(3)
_ANSWER_LEAST_PM = const(700)
_ANSWER_MOST_PM = const(2500)

# A probe next to the drip may see several times the pot's mean rise for a
# while; a siphon or a stuck pump goes beyond that (common practice, no source).
_RUN_ON_TIMES = const(2)
_RUN_ON_SPARE_PM = const(150)

# A pot that asks for less than this share of what it lately used, day for day of demand, may
# have a probe that drifts towards wet. In 43 sound pots of drawn rigs over 90 days the share
# never fell below 620; with probes that read 0.6 to 1.5 vol-% wetter each day it passed 550
# from 5 to 20 days before the plants were lost. Judged once so many days have taught it: in the 6th to 13th such day of
# 63 more sound pots it was 828 at the least, and a coating of a few days kills before a fortnight is over.
_ASKS_LESS_PM = const(550)
_ASKS_LESS_DAYS = const(6)

# Less than this of its water stays: see stays (common practice, no source).
_HALF_PM = const(500)

# A full pot that by now stands so much higher than what it drinks explains, with nothing given, gets water that nobody
# gave. What exceeds three quarters of the expected fall is summed from wake to wake, and never counts below nothing
# (Page 1954, Biometrika 41:100-115, from memory: a cumulative sum with slack; slack and bound: common practice, no
# source).
_SURPLUS_PM = const(100)

# Below its stress point for so long, a pot calls: a dose takes hours from its first pulse
# to its last, so one that is being watered does not (common practice, no source).
DRY_S = 6 * HOUR_S

_MODEL_LOW_PM = const(0)
MODEL_HIGH_PM = 1100

# Use per mm of demand while nothing is learned: the ration spread over an
# ordinary indoor day of 1.5 mm (common practice, no source).
ORDINARY_UM = 1500


def implied_ul_mm(channel):
    """Use per mm of demand that the ration implies, in ul."""
    return channel["ration_ml"] * 1000000 // ORDINARY_UM


def use_ul_mm(pot, channel):
    """Learned use per mm of demand, or what the ration implies, in ul."""
    return pot.use_ul_mm if pot.use_ul_mm else implied_ul_mm(channel)


def drunk_pm(pot, channel, um):
    """Fall a demand of `um` should cause, in pm, rounded down."""
    return use_ul_mm(pot, channel) * um // (channel["holds_ml"] * 1000)


def sure_ul_mm(pot, channel):
    """Use per mm of demand where the reading is in doubt, in ul: what was learned sinks on its very word, so no less
    than a share of what the pot lately used."""
    return max(use_ul_mm(pot, channel), pot.ref_ul_mm * _ASKS_LESS_PM // 1000)


def thirst_pm(pot, channel):
    """Fall that the demand since the pot last clearly fell should have caused, in pm."""
    return sure_ul_mm(pot, channel) * pot.thirst_um // (channel["holds_ml"] * 1000)


def draw_pm(pot, channel, um):
    """Fall a demand of `um` should cause: (pm, carry um ul/mm).

    The carry keeps what is too small to count, so that many short wakes add up
    to one long one.
    """
    total = use_ul_mm(pot, channel) * um + pot.model_carry
    unit = channel["holds_ml"] * 1000
    fall_pm = total // unit
    return fall_pm, total - fall_pm * unit


def observe(pot, channel, reading, clock, foot_ul=0):
    """Take one reading into the pot's state; returns the reason against it.

    pot: state, changed in place; channel: its settings; reading: (raw, spread,
    temp_cdeg or None); clock: (up_s, elapsed_s, um), um the demand since the
    last wake; foot_ul: what may stand at its foot, in ul. reasons.NONE means the reading is believed; SOUND: see there.
    """
    raw, spread, temp_cdeg = reading
    up_s, elapsed_s, um = clock
    fall_pm, pot.model_carry = draw_pm(pot, channel, um)
    pot.dose_um = clamp(pot.dose_um + um, 0, 65535)
    pot.proof_um = clamp(pot.proof_um + um, 0, 65535)
    expected_pm = clamp(pot.model_pm - fall_pm, _MODEL_LOW_PM, MODEL_HIGH_PM)
    pot.still = pot.still + 1 if raw == pot.raw and spread == 0 else 0
    if pot.still > 250:
        pot.still = 250
    pot.raw = raw
    wrong = _alone(pot, channel, raw, spread)
    if wrong == reasons.NONE:
        _take(pot, channel, raw, temp_cdeg)
        if pot.ladder == RATIONED:
            _answer(pot, channel, up_s)
        wrong = _against_past(pot, channel, expected_pm, fall_pm, up_s)
    if wrong:
        pot.model_pm = expected_pm
        return wrong
    if pot.known:
        _rise(pot, expected_pm, up_s)
    loud = not pot.known or not quiet(pot, up_s)
    spreads = loud or not has_spread(pot, up_s, dosing.SPREADS_S)
    if spreads or pot.pm < pot.low_pm:
        pot.low_pm = pot.pm
    # Its own water, or that of a can, explains any rise.
    more = 0 if spreads or pot.rising else pot.surplus + 4 * (pot.pm - expected_pm) - fall_pm
    pot.surplus = clamp(more, 0, 65535)
    pot.draw_um = clamp(pot.draw_um + um, 0, 65535)
    # What a held pot is tried with shows in its reading, or is not in it.
    # While water spreads, the probe beside the drip falls by itself.
    wets = loud or not has_spread(pot, up_s, dosing.spread_s(channel))
    if wets and pot.ladder != HELD or pot.pm > pot.high_pm:
        pot.high_pm = pot.pm
        pot.draw_um = 0
        pot.credit_pm = 0
    pot.dry_s = pot.dry_s + elapsed_s if pot.pm < dosing.stress_point_pm(channel) else 0
    _wet(pot, elapsed_s)
    pot.thirst_um = clamp(pot.thirst_um + um, 0, 65535)
    if pot.pm <= pot.fell_pm - _FALLEN_PM or pot.rising == 1:
        # It fell as it should, or somebody poured; a creeping rise proves no water.
        pot.fell_pm = pot.pm
        pot.thirst_um = 0
    elif pot.pm > pot.fell_pm:
        pot.fell_pm = pot.pm
    if _should_have_fallen(pot, channel) and not _fed(pot, channel, foot_ul):
        pot.model_pm = expected_pm
        return reasons.NOT_FALLING
    pot.model_pm = clamp(pot.pm, _MODEL_LOW_PM, MODEL_HIGH_PM)
    pot.known = 1
    return reasons.NONE


def _should_have_fallen(pot, channel):
    """Wet through thirst. A dry pot falls no more, and nothing is wrong with its probe."""
    return thirst_pm(pot, channel) > _NO_FALL_PM and pot.dry_s == 0


def _fed(pot, channel, foot_ul):
    """True when half of what a pot should have drunk may have come from its foot: it falls no further meanwhile, though
    nothing is wrong with its probe."""
    return 2 * foot_ul >= dosing.water_ul(thirst_pm(pot, channel), channel)


def _alone(pot, channel, raw, spread):
    """What is wrong with the reading itself."""
    wrong = moisture.complaint(raw, spread, channel)
    if wrong:
        return wrong
    if pot.still >= STILL_WAKES:
        return reasons.STILL
    return reasons.NONE


def _take(pot, channel, raw, temp_cdeg):
    """Moisture from the reading: averaged while little happens, else at once,
    so that a jump is seen whole. A distrusted one that leaps down loses its trust."""
    warmth = 0 if temp_cdeg is None else moisture.warmth_pm(temp_cdeg, channel)
    now_pm = moisture.to_pm(raw, channel["curve"]) - warmth
    gap = now_pm - pot.pm
    calm = pot.known and not (pot.dosing or pot.judge)
    weight = 3 if calm and -_CALM_PM <= gap <= _CALM_PM else 1
    pot.filtered = moisture.smooth(pot.filtered, raw, weight)
    pm = moisture.to_pm(pot.filtered // 16, channel["curve"]) - warmth
    if pot.ladder == RATIONED and pm < pot.pm - _LEAP_PM:
        # What was sound before is no word for this one, which may agree with the model by chance.
        pot.trust = 0
    pot.pm = clamp(pm, moisture.LOWEST_PM, moisture.HIGHEST_PM)


def _against_past(pot, channel, expected_pm, fall_pm, up_s):
    """What is wrong with the reading given where the pot was."""
    if pot.pm < _AIR_PM:
        return reasons.OUT_OF_SOIL
    if not pot.known:
        return reasons.NONE
    if pot.ladder == RATIONED:
        return _refused(pot, channel, expected_pm, up_s)
    lowest_pm = pot.model_pm - _FALL_TIMES * fall_pm - _FALL_SPARE_PM
    if not has_spread(pot, up_s, dosing.SPREADS_S):
        spread_pm = pot.start_pm - _FALL_SPARE_PM
        if spread_pm < lowest_pm:
            lowest_pm = spread_pm
    if pot.pm < lowest_pm:
        return reasons.FELL
    return reasons.NONE


def _refused(pot, channel, expected_pm, up_s):
    """What is still wrong with a reading that was refused.

    It must come back to the model to be believed; a fallen one by rising, for the
    model sinks by itself to where a probe in a gap reads, or within hours, in which it sinks little:
    then the fall was no deeper than what a model errs by. After a long ration, or
    in another pot, the model may be the one that is wrong: a probe that sees every
    ration is believed as well.
    """
    if pot.pm < pot.start_pm:
        pot.start_pm = pot.pm
    # What a probe reads beyond the fill mark is its error, or water that drains: none that a pot keeps.
    gap = pot.pm - min(expected_pm, max(pot.pm, channel["fill_pm"]))
    rose_pm = pot.pm - pot.start_pm
    back = pot.reason != reasons.FELL or rose_pm >= _RESEATED_PM or up_s - pot.since_s < _SHALLOW_S
    # Nothing corrects the model meanwhile: of one that came back from far it may be further off.
    agrees_pm = clamp(rose_pm // 2, AGREES_PM, 2 * AGREES_PM) if pot.reason == reasons.FELL else AGREES_PM
    if back and -agrees_pm <= gap <= agrees_pm or pot.answers >= _ANSWERS_AT:
        return reasons.NONE
    # One that was wet through thirst and says by now that the pot is due errs towards too little water at the worst.
    over = pot.reason in _OF_THE_WIRE or pot.reason == reasons.NOT_FALLING and pot.pm <= dosing.refill_point_pm(channel)
    return reasons.NONE if over and pot.trust >= _SOUND_AT else SOUND


def _answer(pot, channel, up_s):
    """Once the last ration has spread: did the probe see it, no less and no more?"""
    if not pot.rationed or pot.ration_s != pot.pulse_s or not pot.pulse_ul:
        return
    if up_s - pot.pulse_s < dosing.SPREADS_S:
        return
    told_pm = dosing.rise_pm(pot.pulse_ul, pot.gain_pm, channel)
    seen_pm = pot.pm - pot.before_pm
    # A rationed plant is short of water and drinks but part of what it used to.
    rise_pm = seen_pm + drunk_pm(pot, channel, pot.dose_um) // 2
    pot.pulse_ul = 0
    if told_pm * _ANSWER_LEAST_PM <= rise_pm * 1000 <= told_pm * _ANSWER_MOST_PM:
        pot.answers = clamp(pot.answers + 1, 0, _ANSWERS_AT)
        if seen_pm >= dosing.PROOF_FLOOR_PM and told_pm >= dosing.PROOF_FLOOR_PM:
            # What a plant may have drunk proves no pulse; a rise that was seen does,
            # unless so little was given that warmth alone may look like it.
            pot.unproven = 0
    else:
        pot.answers = 0


def _rise(pot, expected_pm, up_s):
    """Count wakes in which the pot rose with nothing given."""
    if quiet(pot, up_s) and pot.pm - expected_pm >= _RISE_PM:
        pot.rising = clamp(pot.rising + 1, 0, 250)
    else:
        pot.rising = 0


def asks_less(pot):
    """True when a pot uses far less than it lately did in days of the same demand."""
    return pot.learned >= _ASKS_LESS_DAYS and pot.use_ul_mm * 1000 < pot.ref_ul_mm * _ASKS_LESS_PM


def stays(pot):
    """True when at least half of a pot's water is seen to stay in it, of what its volume says: by its doses so far,
    and by its gain, for one that falls as its doses show less and less hides what runs through."""
    return pot.kept_pm * clamp(pot.gain_pm, dosing.USUAL_LOW_PM, 1000) // 1000 >= _HALF_PM


def kept_full(pot, channel):
    """True when a full pot stands higher than its plant's thirst explains, bit by bit, with nothing given, or one
    stays wet through thirst for which water at its foot may account."""
    return _is_full(pot, channel) and pot.surplus >= 4 * _SURPLUS_PM or _should_have_fallen(pot, channel)


def over_capacity(pot, channel, up_s):
    """True when a pot holds more than it can keep though its own water has spread: by its probe, which may err."""
    return pot.pm >= _CAPACITY_PM and has_spread(pot, up_s, dosing.spread_s(channel))


def has_spread(pot, up_s, span_s):
    """True when its own water had so long to spread, or there was none."""
    return not pot.pulsed or up_s - pot.pulse_s >= span_s


def quiet(pot, up_s):
    """True when a rise is not its own water's any more, and none of that waits for its proof."""
    return not pot.pulsed or not pot.judge and has_spread(pot, up_s, _RISE_AFTER_S)


def drew_pm(pot, channel):
    """How far a pot drew its own store down since its own water last spread, in pm of what it holds.

    By its learned gain, for a probe may see more or less than the mean; and no more than the
    plant can have used: what spreads from the probe through the pot is no draw.
    """
    fell_pm = (pot.high_pm - pot.pm) * 1000 // pot.gain_pm
    return clamp(fell_pm, 0, asked_pm(pot, channel))


def asked_pm(pot, channel):
    """What the plant should have drawn since then, in pm."""
    return drunk_pm(pot, channel, pot.draw_um)


def lifted(pot, channel):
    """True when a pot rose to where only water that nobody gave can have brought it, or stays there
    though its plant drinks; of one held because water runs by itself, while it is full."""
    full = _is_full(pot, channel)
    if pot.reason == reasons.RUNS_ON:
        return full
    # What a plant drinks must have been learned before a pot that stays full tells anything.
    stays = pot.use_ul_mm > 0 and thirst_pm(pot, channel) >= _STAYS_PM
    rose = pot.pm >= pot.low_pm + _LIFTED_PM or stays
    return full and rose


def _is_full(pot, channel):
    return pot.pm >= channel["fill_pm"] - dosing.LEAST_LIFT_PM


def _wet(pot, elapsed_s):
    if pot.pm >= WET_PM:
        pot.wet_s += elapsed_s
    else:
        pot.wet_s = 0


def ran_on(pot, rise_pm, channel):
    """True when pulses were followed by far more water than they can have brought: by the fastest pump and a full tube,
    and a probe that sees no less of it than the volume says."""
    most_pm = dosing.rise_pm(pot.pulse_most_ul, max(1000, pot.gain_pm), channel)
    return rise_pm > _RUN_ON_TIMES * most_pm + _RUN_ON_SPARE_PM
