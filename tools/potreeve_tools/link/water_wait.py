"""Why a pot's day has no water left, and until when: in the board's own accounts, by the firmware's own functions."""

import time

from potreeve.logic import cycle, limits
from potreeve.logic.state import copy

# Likely water is told in the ledger, caps count the most it can have been: so many times as much is still a real pulse.
MOST_TIMES = 2


def rolled(settings, state):
    """A State as the next wake's accounts begin: a memory that was lost has its day counted as given."""
    state = copy(state)
    cycle.remember(state, settings)
    return state


def wait_s(settings, state, index):
    """Proven seconds after the last wake until the day leaves a pot a pulse again; 0 if it does now, None if only
    the tray bounds it.

    settings: checked; state: a State; index: of the channel.
    """
    now = rolled(settings, state)
    # The tray has an account of its own, which no time empties.
    now.rig.tray_ul = 0
    begin_s = now.rig.up_s
    for bucket in range(limits.BUCKETS + 1):
        if limits.room_ul(now.rig, now.pots, index, settings)[0] >= limits.LEAST_PULSE_UL:
            return 0 if not bucket else now.rig.bucket_s - begin_s
        now.rig.bucket_s = limits.roll(now.pots, now.rig.bucket_s, now.rig.bucket_s + limits.BUCKET_S)
    return None


def only_counted(settings, state, index):
    """True where the day's water counts as given though this memory knows of no such water: after a start without
    one."""
    now = rolled(settings, state)
    spent_ul = limits.spent_ul(now.pots[index])
    return spent_ul >= settings["channels"][index]["day_ml"] * 1000 > MOST_TIMES * now.pots[index].total_ul


def sentence(settings, state, index, now_s=None):
    """(why, until when) of a pot whose day is used up, in words; None where it is not.

    now_s: the desk's Unix time, by which the end is shown as a time of day; None: this moment.
    """
    seconds = wait_s(settings, state, index)
    if not seconds:
        return None
    if only_counted(settings, state, index):
        why = (
            "the board began without a memory, so it takes it that a whole day's water was given just before; "
            "nobody can know "
            "that it was not"
        )
    else:
        why = "its water for 24 hours is given"
    return why, when(seconds, state, now_s)


def when(seconds, state, now_s=None):
    """ "in about 23 h (Fri 15:05)" for proven seconds after the last wake."""
    now_s = time.time() if now_s is None else now_s
    # Since the last wake some time has passed; where the board knows what time that was, it counts.
    since_s = now_s - state.rig.utc_s if 0 < state.rig.utc_s <= now_s and now_s - state.rig.utc_s < seconds else 0
    left_s = seconds - since_s
    span = f"{left_s / 3600:.0f} h" if left_s >= 5400 else f"{max(1, round(left_s / 60))} min"
    return f"in about {span} ({time.strftime('%a %H:%M', time.localtime(now_s + left_s))})"
