"""What a rig remembers from one wake to the next, and how it is packed.

Plain integers only; the ledger stores exactly these bytes.
"""

import struct

from potreeve.logic.limits import BUCKETS

CHANNELS = 4

# Where a pot stands on the ladder.
TENDED = 0
RATIONED = 1
HELD = 2

# (name, struct code, start value)
RIG_FIELDS = (
    ("seq", "I", 0),            # records written
    ("up_s", "I", 0),           # proven seconds since the memory began
    ("utc_s", "I", 0),          # last believable wall clock, 0 unknown
    ("memory", "B", 2),         # 0 whole; 1 lost since the owner last looked;
                                # 2 lost just now
    ("channels", "B", 0),       # channels this memory speaks of
    ("hold", "B", 0),           # why the whole rig gets no water, 0 it may
    ("hold_s", "I", 0),         # since when
    ("boots", "B", 0),          # unplanned starts lately
    ("boot_s", "I", 0),         # when that count last fell
    ("ack", "B", 0),            # last acknowledgement number from settings
    ("tray_ul", "I", 0),        # most water that may stand in the tray
    ("tray_carry", "I", 0),     # evaporation too small to count yet
    ("bucket_s", "I", 0),       # start of the rolling day's newest bucket
    ("day_s", "I", 0),          # start of the day being learned from
    ("day_um", "I", 0),         # demand so far in that day
    ("typical_um", "H", 0),     # demand of an ordinary day, 0 not known
    ("rate_um_h", "H", 0),      # demand at the last wake
    ("lx", "I", 0),             # light at the last wake
    ("planned_s", "H", 0),      # the sleep decided at the last wake
    ("used_uah", "I", 0),       # charge used from this battery
    ("day_uah", "I", 0),        # used_uah when the day began
    ("usage_uah", "I", 0),      # charge an ordinary day uses, 0 not known
    ("rest_mv", "H", 0),        # battery at rest
    ("sag_mv", "H", 0),         # how far a pump pulls it down, learned
    ("soc_pm", "H", 1000),      # state of charge
    ("turn", "B", 0),           # channel that may begin a dose first
    ("last_um", "I", 0),        # demand of the last whole day
    ("late", "H", 0),           # errors.* seen after the last record was written
)

POT_FIELDS = (
    ("ladder", "B", 0),
    ("reason", "B", 0),         # why it is not tended, or last note
    ("since_s", "I", 0),        # on this rung since
    ("filtered", "I", 0),       # raw average, in sixteenths
    ("raw", "H", 0),            # last raw median
    ("still", "B", 0),          # wakes in a row with the very same raw
    ("doubt", "B", 0),          # grows with each unbelievable reading
    ("trust", "B", 0),          # believable readings in a row
    ("pm", "h", 0),             # last moisture
    ("known", "B", 0),          # 1 once `model_pm` means something
    ("model_pm", "h", 0),       # where the pot should be by now
    ("model_carry", "I", 0),    # drawdown too small to count yet, um ul/mm
    ("thirst_um", "H", 0),      # demand since the pot last clearly fell
    ("fell_pm", "h", 0),        # moisture then
    ("dosing", "B", 0),         # 1 while a dose is under way
    ("start_pm", "h", 0),       # moisture when the dose began
    ("before_pm", "h", 0),      # moisture before the pulses that wait for proof
    ("mark_pm", "h", 0),        # moisture before the last pulse to any pot
    ("dose_ul", "I", 0),        # likely water of this dose so far
    ("dose_most_ul", "I", 0),   # the most it can have been
    ("dose_um", "H", 0),        # demand since the dose began
    ("closing", "B", 0),        # 1 until the dose is settled with the tray
    ("pulse_ul", "I", 0),       # likely water of the pulses that wait for proof
    ("pulse_most_ul", "I", 0),  # the most it can have been
    ("pulse_s", "I", 0),        # when the last pulse was given
    ("pulsed", "B", 0),         # 1 once a pulse was ever given
    ("judge", "B", 0),          # 1 while that pulse has not been judged
    ("unproven", "B", 0),       # pulses in a row that showed no rise
    ("intent_ms", "H", 0),      # open intent, 0 none
    ("done_ms", "H", 0xFFFF),   # how long the last pulse ran, until it is recorded
    ("under_mv", "H", 0),       # lowest battery voltage seen during it
    ("gain_pm", "H", 1000),     # learned rise per water, 1000 as reckoned
    ("use_ul_mm", "I", 0),      # learned use per mm of demand, 0 not known
    ("day_ul", "I", 0),         # water given in the day being learned from
    ("day_pm", "h", 0),         # moisture when that day began
    ("day_ok", "B", 0),         # 1 while every reading of it was believed
    ("wet_s", "I", 0),          # too wet for so long
    ("rising", "B", 0),         # wakes in a row it rose with nothing given
    ("crossed", "B", 0),        # pulses of others in a row that lifted this pot
    ("ration_s", "I", 0),       # last ration
    ("rationed", "B", 0),       # 1 once a ration was ever given
    ("answers", "B", 0),        # rations in a row that the distrusted probe saw
    ("total_ul", "I", 0),       # likely water ever given
)

_RIG_FORMAT = "<" + "".join(field[1] for field in RIG_FIELDS)
_POT_FORMAT = "<" + "".join(field[1] for field in POT_FIELDS) + "%dH" % BUCKETS
RIG_BYTES = struct.calcsize(_RIG_FORMAT)
POT_BYTES = struct.calcsize(_POT_FORMAT)
STATE_BYTES = RIG_BYTES + CHANNELS * POT_BYTES

_RIG_NAMES = tuple(field[0] for field in RIG_FIELDS)
_POT_NAMES = tuple(field[0] for field in POT_FIELDS)


class Rig:
    """State of the rig as a whole: the names of RIG_FIELDS, all integers."""


class Pot:
    """State of one channel: the names of POT_FIELDS, and `spent`, the buckets
    of the rolling day, newest first."""


class State:
    """`rig` and `pots`, one per channel."""

    def __init__(self, rig, pots):
        self.rig = rig
        self.pots = pots


def fresh(channels):
    """The state of a board that remembers nothing; channels 1..4."""
    rig = Rig()
    for name, _, start in RIG_FIELDS:
        setattr(rig, name, start)
    rig.channels = channels
    pots = []
    for _ in range(channels):
        pot = Pot()
        for name, _, start in POT_FIELDS:
            setattr(pot, name, start)
        pot.spent = [0] * BUCKETS
        pots.append(pot)
    return State(rig, pots)


def pack(state):
    """The state as STATE_BYTES bytes; absent channels are zeros."""
    rig = state.rig
    parts = [struct.pack(_RIG_FORMAT, *[getattr(rig, name) for name in _RIG_NAMES])]
    for pot in state.pots:
        values = [getattr(pot, name) for name in _POT_NAMES]
        values.extend(pot.spent)
        parts.append(struct.pack(_POT_FORMAT, *values))
    parts.append(bytes((CHANNELS - len(state.pots)) * POT_BYTES))
    return b"".join(parts)


def unpack(data):
    """The state in STATE_BYTES bytes, or None where they can't be one."""
    if len(data) != STATE_BYTES:
        return None
    rig = Rig()
    values = struct.unpack(_RIG_FORMAT, data[:RIG_BYTES])
    for index, name in enumerate(_RIG_NAMES):
        setattr(rig, name, values[index])
    if not 1 <= rig.channels <= CHANNELS:
        return None
    pots = []
    at = RIG_BYTES
    for _ in range(rig.channels):
        values = struct.unpack(_POT_FORMAT, data[at:at + POT_BYTES])
        pot = Pot()
        for index, name in enumerate(_POT_NAMES):
            setattr(pot, name, values[index])
        pot.spent = list(values[len(_POT_NAMES):])
        pots.append(pot)
        at += POT_BYTES
    return State(rig, pots)


def copy(state):
    """A state that shares nothing with the one given."""
    return unpack(pack(state))
