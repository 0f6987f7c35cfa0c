"""The stages of a wake, and the proof that they ran in order.

The watchdog is fed only here, while a pump or a sleep is being waited for, and in
three loops that are bounded and never pump: once per probe, once per piece of
the queue a broker is sent, and while the display is lit. So a wake that skips,
repeats or hangs in a stage ends in a reset, and a reset ends with the pumps off.
"""

START = 0
READ = 1
DECIDED = 2
STORED = 3
LOGGED = 4
PUMPED = 5
REPORTED = 6


class OutOfOrder(Exception):
    """A stage came that may not follow the one before it."""


def follow(now, stage):
    """`stage`, when it is the one that follows `now`; else OutOfOrder."""
    if stage != now + 1:
        raise OutOfOrder("stage %d after %d" % (stage, now))
    return stage
