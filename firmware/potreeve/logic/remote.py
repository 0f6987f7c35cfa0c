"""What somebody far away may ask of a rig: to hold, or to take what it holds as seen. Nothing here adds water.

Each asks by a message whose code was checked (commands.py); here it is judged whether it is for this rig, new and in
time.
"""

from potreeve.logic import reasons

# As the button's presses: debounce.SHORT, debounce.LONG.
_ASKS = {"acknowledge": 1, "hold": 2}

# Why not, as the message document has it.
UNKNOWN = "unknown"
STALE = "stale"
REPLAYED = "replayed"


def refusal(told, rig, boot, seq, counter):
    """Why a command is refused, "" where it is taken.

    told: what its JSON gave; rig, boot: this board's; seq: of its newest record; counter: the greatest ever taken.
    """
    if not isinstance(told, dict) or told.get("rig") != rig or told.get("do") not in _ASKS:
        return UNKNOWN
    number, until = told.get("counter"), told.get("until_seq")
    if not (_is_count(number) and _is_count(until)):
        return UNKNOWN
    if told.get("boot") != boot or seq > until:
        return STALE
    return "" if number > counter else REPLAYED


def press(do, hold):
    """The button's press a command stands for; hold: rig.hold. Who is held by its owner already is not let go by it."""
    asked = _ASKS[do]
    return 0 if asked == 2 and hold == reasons.OWNER else asked


def _is_count(value):
    return isinstance(value, int) and value is not True and value is not False and 0 <= value < 0x80000000
