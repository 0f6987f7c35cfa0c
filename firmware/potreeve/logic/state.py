"""What a rig remembers from one wake to the next, and how it is packed.

Plain integers only; the ledger stores exactly these bytes.
"""

import struct
from binascii import crc32

from potreeve.logic.limits import BUCKETS
from potreeve.logic.units import const

CHANNELS = 4

# Where a pot stands on the ladder.
TENDED = 0
RATIONED = 1
HELD = 2


def columns(text):
    """(every name, every struct code) of a table "name code name code ...": a list, and one text.

    A table that is one text takes less room in flash than one of many."""
    words = text.split()
    return words[::2], "".join(words[1::2])


RIG_NAMES, RIG_CODES = columns(
    "seq I "         # records written
    "up_s I "        # proven seconds since the memory began
    "utc_s I "       # last believable wall clock, 0 unknown
    "memory B "      # 0 whole; 1 lost since the owner last looked;
                     # 2 lost just now
    "channels B "    # channels this memory speaks of
    "hold B "        # why the whole rig gets no water, 0 it may
    "hold_s I "      # since when
    "boots B "       # unplanned starts lately
    "boot_s I "      # when that count last fell
    "ack B "         # last acknowledgement number from settings
    "tray_ul I "     # most water that may stand in the tray
    "told_ul I "     # what of it was there since pots' falls are counted
    "tray_carry I "  # evaporation too small to count yet
    "bucket_s I "    # start of the rolling day's newest bucket
    "day_s I "       # start of the day being learned from
    "day_um I "      # demand so far in that day
    "typical_um H "  # demand of an ordinary day, 0 not known
    "rate_um_h H "   # demand at the last wake
    "lx I "          # light at the last wake
    "planned_s H "   # the sleep decided at the last wake
    "used_uah I "    # charge used from this battery
    "day_uah I "     # used_uah when the day began
    "usage_uah I "   # charge an ordinary day uses, 0 not known
    "past_uah I "    # the same over a longer past
    "rest_mv H "     # battery at rest
    "sag_mv H "      # how far a pump pulls it down, learned
    "soc_pm H "      # state of charge
    "turn B "        # channel that may begin a dose first
    "last_um I "     # demand of the last whole day
    "late H "        # errors.* seen after the last record was written
)

POT_NAMES, POT_CODES = columns(
    "ladder B "
    "reason B "         # why it is not tended, or last note
    "since_s I "        # on this rung since
    "filtered I "       # raw average, in sixteenths
    "raw H "            # last raw median
    "still B "          # wakes in a row with the very same raw
    "doubt B "          # grows with each unbelievable reading
    "trust B "          # believable readings in a row
    "pm h "             # last moisture
    "known B "          # 1 once `model_pm` means something
    "model_pm h "       # where the pot should be by now
    "model_carry I "    # drawdown too small to count yet, um ul/mm
    "thirst_um H "      # demand since the pot last clearly fell
    "fell_pm h "        # moisture then
    "dosing B "         # 1 while a dose is under way
    "start_pm h "       # moisture when the dose began
    "before_pm h "      # moisture before the pulses that wait for proof
    "mark_pm h "        # moisture before the last pulse to any pot
    "dose_ul I "        # likely water of this dose so far
    "dose_most_ul I "   # the most it can have been
    "dose_um H "        # demand since the dose began
    "closing B "        # 1 until the dose is settled with the tray
    "nights B "         # doses yet to wait for the night with, for its plant hid one
    "proof_um H "       # demand since `before_pm`
    "low_pm h "         # lowest moisture since its own water last spread
    "high_pm h "        # highest moisture since its own water last spread
    "draw_um H "        # demand since then
    "credit_pm H "      # what of its draw since then the tray's account has heard of
    "light_pm h "       # how far it fell by itself by day, of late, while tended
    "light_s I "        # over so long
    "dark_pm h "        # and by night
    "dark_s I "
    "surplus H "        # rise that nothing explains, in quarters of a pm
    "dry_s I "          # below the stress point for so long
    "pulse_ul I "       # likely water of the pulses that wait for proof
    "pulse_most_ul I "  # the most it can have been
    "pulse_s I "        # when the last pulse was given
    "pulsed B "         # 1 once a pulse was ever given
    "judge B "          # 1 while that pulse has not been judged
    "unproven B "       # pulses in a row that showed no rise
    "intent_ms H "      # open intent, 0 none
    "done_ms H "        # how long the last pulse ran, until it is recorded
    "under_mv H "       # lowest battery voltage seen during it
    "gain_pm H "        # learned rise per water, 1000 as reckoned
    "kept_pm H "        # share of its doses that it lately kept
    "use_ul_mm I "      # learned use per mm of demand, 0 not known
    "learned B "        # days that taught it, since a person last looked
    "ref_ul_mm I "      # the most it lately used per mm, 0 not known
    "day_ul I "         # water given in the day being learned from
    "day_pm h "         # moisture when that day began
    "day_ok B "         # 1 while every reading of it was believed
    "wet_s I "          # too wet for so long
    "rising B "         # wakes in a row it rose with nothing given
    "crossed B "        # pulses of others in a row that lifted this pot
    "ration_s I "       # last ration, or trial of a held pot
    "rationed B "       # 1 once one was ever given
    "answers B "        # rations in a row that the distrusted probe saw
    "total_ul I "       # likely water ever given
)

# What a fresh field holds where that is not 0.
STARTS = {"memory": 2, "soc_pm": 1000, "done_ms": 0xFFFF, "gain_pm": 1000, "kept_pm": 1000}

_RIG_FORMAT = "<" + RIG_CODES
_POT_FORMAT = "<" + POT_CODES + "%dH" % BUCKETS
RIG_BYTES = struct.calcsize(_RIG_FORMAT)
POT_BYTES = struct.calcsize(_POT_FORMAT)
STATE_BYTES = RIG_BYTES + CHANNELS * POT_BYTES

# What a rig with extras remembers besides; see extra.py.
EXTRA_BYTES = 64

_SEAL = "<HHI"
_SEAL_BYTES = const(8)
SEALED_BYTES = _SEAL_BYTES + STATE_BYTES + 4


class Rig:
    """State of the rig as a whole: the names of RIG_NAMES, all integers."""


class Pot:
    """State of one channel: the names of POT_NAMES, and `spent`, the buckets
    of the rolling day, newest first."""


class State:
    """`rig` and `pots`, one per channel; `extra`, an extra.Extra or its bytes where the board has such parts, else
    None."""

    extra = None

    def __init__(self, rig, pots):
        self.rig = rig
        self.pots = pots


def fresh(channels):
    """The state of a board that remembers nothing; channels 1..4."""
    rig = Rig()
    for name in RIG_NAMES:
        setattr(rig, name, STARTS.get(name, 0))
    rig.channels = channels
    pots = []
    for _ in range(channels):
        pot = Pot()
        for name in POT_NAMES:
            setattr(pot, name, STARTS.get(name, 0))
        pot.spent = [0] * BUCKETS
        pots.append(pot)
    return State(rig, pots)


def pack(state):
    """The state as STATE_BYTES bytes, and EXTRA_BYTES more with extras; absent channels are zeros."""
    rig = state.rig
    parts = [struct.pack(_RIG_FORMAT, *[getattr(rig, name) for name in RIG_NAMES])]
    for pot in state.pots:
        values = [getattr(pot, name) for name in POT_NAMES]
        values.extend(pot.spent)
        parts.append(struct.pack(_POT_FORMAT, *values))
    parts.append(bytes((CHANNELS - len(state.pots)) * POT_BYTES))
    extra = state.extra
    if extra:
        parts.append(extra if isinstance(extra, bytes) else extra.pack())
    return b"".join(parts)


def unpack(data):
    """The state in STATE_BYTES bytes, or EXTRA_BYTES more, or None where they can't be one."""
    if len(data) not in (STATE_BYTES, STATE_BYTES + EXTRA_BYTES):
        return None
    rig = Rig()
    values = struct.unpack(_RIG_FORMAT, data[:RIG_BYTES])
    for name, value in zip(RIG_NAMES, values):
        setattr(rig, name, value)
    if not 1 <= rig.channels <= CHANNELS:
        return None
    pots = []
    at = RIG_BYTES
    for _ in range(rig.channels):
        values = struct.unpack(_POT_FORMAT, data[at:at + POT_BYTES])
        pot = Pot()
        for name, value in zip(POT_NAMES, values):
            setattr(pot, name, value)
        pot.spent = list(values[len(POT_NAMES):])
        pots.append(pot)
        at += POT_BYTES
    state = State(rig, pots)
    state.extra = data[STATE_BYTES:] or None
    return state


def copy(state):
    """A state that shares nothing with the one given."""
    return unpack(pack(state))


def closed(body):
    """Bytes, and their CRC-32 behind them."""
    return body + struct.pack("<I", crc32(body) & 0xFFFFFFFF)


def opened(data):
    """What was closed, without its CRC-32; None where that is wrong. data: four bytes or more."""
    body = data[:-4]
    return body if struct.unpack("<I", data[-4:])[0] == crc32(body) & 0xFFFFFFFF else None


def sealed(magic, version, number, what):
    """SEALED_BYTES bytes, EXTRA_BYTES more with extras: magic, version (one more with extras), number 0..2**32-1, the
    packed State `what`, and the CRC-32 of all that."""
    return closed(struct.pack(_SEAL, magic, version + (1 if what.extra else 0), number) + pack(what))


def unsealed(data, magic, version):
    """(number, State) of sealed bytes, or None where they are not whole and of that magic and version, or, with
    extras, of the next version."""
    more = len(data) - SEALED_BYTES
    if more not in (0, EXTRA_BYTES):
        return None
    body = opened(data)
    if body is None or struct.unpack("<HH", body[:4]) != (magic, version + (1 if more else 0)):
        return None
    what = unpack(body[_SEAL_BYTES:])
    return None if what is None else (struct.unpack("<I", body[4:_SEAL_BYTES])[0], what)
