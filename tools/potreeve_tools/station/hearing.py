"""When a promise is broken: silence, judged by the station's own even time and by when it could hear at all.

A rig promises that within due_s it reports again. The promise is counted from when
the station heard it. While the broker cannot be reached nothing can be heard: then
no promise is judged, and after an outage every rig has as long as it promised to find the
broker again. A line that breaks again and again must not put off the alarm for
ever: when the station has listened for twice the promise in all, that is enough.
"""

# For what is under way: the network, the broker, the commit.
GRACE_S = 30
# Outages shorter than this make no rig miss its turn.
BLIP_S = 60
KEPT_OUTAGES = 1000
NEVER = float("-inf")


class Hearing:
    """All times in seconds of hostclock.even_s. It starts deaf: nothing is known of the time before."""

    def __init__(self):
        self.deaf_since = NEVER
        self.outages = []
        self.promises = {}

    def connected(self, now):
        """The broker is there."""
        if self.deaf_since is not None:
            self.outages = [*self.outages[1 - KEPT_OUTAGES :], (self.deaf_since, now)]
            self.deaf_since = None

    def disconnected(self, now):
        """The broker is gone."""
        if self.deaf_since is None:
            self.deaf_since = now

    def promise(self, rig, at, due_s):
        """A rig was heard at `at` and promised to be heard again within due_s."""
        self.promises[rig] = (at, due_s)

    def deaf(self, now):
        """True while nothing can be heard, and that for longer than a blip."""
        return self.deaf_since is not None and now - self.deaf_since > BLIP_S

    def deadline(self, rig):
        """When a rig's silence is an alarm, as things are; None where it never promised."""
        if rig not in self.promises:
            return None
        at, due_s = self.promises[rig]
        end = at + due_s
        listened = 0.0
        since = at
        for start, stop in self.outages:
            if stop <= at or stop - start <= BLIP_S or start >= end:
                continue
            listened += max(0.0, start - since)
            since = stop
            # Never later than when it has been listened to for twice the promise.
            end = min(stop + due_s, stop + max(0.0, 2 * due_s - listened))
        return end + GRACE_S

    def overdue_s(self, rig, now):
        """How long a promise has been broken; None where it is not, or can't be judged."""
        if self.deaf(now):
            return None
        deadline = self.deadline(rig)
        return None if deadline is None or now < deadline else now - deadline + GRACE_S
