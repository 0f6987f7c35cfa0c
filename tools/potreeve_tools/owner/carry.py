"""What a memory keeps when it comes back from a copy, or moves to another board.

A copy is older than the rig: water may have been given since. So the pots' history
comes along, and everything that would entitle to water does not: the next wake
counts the day as given and the tray as full, as after any lost memory.
"""

from potreeve.logic import reasons, state
from potreeve.logic.state import HELD, TENDED

_RIG_KEPT = ("seq", "up_s", "bucket_s", "ack", "typical_um", "last_um", "usage_uah", "used_uah", "sag_mv", "turn")
_POT_KEPT = (
    "ladder",
    "reason",
    "since_s",
    "gain_pm",
    "use_ul_mm",
    "unproven",
    "crossed",
    "pulse_ul",
    "pulse_most_ul",
    "pulse_s",
    "pulsed",
    "ration_s",
    "rationed",
    "total_ul",
)


def carry(old):
    """The State to start from where `old` was found in a copy.

    `old` is left alone. What was under way in it counts as unproven. Time starts at
    its proven seconds, and nothing is taken as having passed since.
    """
    new = state.fresh(len(old.pots))
    _copy(old.rig, new.rig, _RIG_KEPT)
    rig = new.rig
    rig.day_s = rig.up_s
    rig.day_uah = rig.used_uah
    rig.boot_s = rig.up_s
    if old.rig.hold == reasons.OWNER:
        # A person said so; it ends by itself as it would have.
        rig.hold = reasons.OWNER
        rig.hold_s = old.rig.hold_s
    for was, pot in zip(old.pots, new.pots):
        _copy(was, pot, _POT_KEPT)
        pot.spent = list(was.spent)
        if was.judge or was.intent_ms:
            pot.unproven = was.unproven + 1 if was.unproven < 250 else 250
        if pot.ladder != HELD:
            # What was doubted of the old probe is for new readings to say.
            pot.ladder = TENDED
            pot.reason = reasons.NONE
            pot.since_s = rig.up_s
    return new


def _copy(one, other, names):
    for name in names:
        setattr(other, name, getattr(one, name))
