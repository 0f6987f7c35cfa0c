"""No radio yet: the seam where records will leave. `network` is not imported, so an image without it works.

Whoever sends implements these two calls, each back within half the watchdog's time-out. Nothing else comes back
through them: a count decides what is sent next and nothing about water.
"""


class NoRadio:
    """rig.radio of a rig that sends nothing."""

    def reach(self):
        """True when a broker is there to be told."""
        return False

    def report(self, records):
        """How many of the records, oldest first, the broker has acknowledged: as delivered, whatever they hold, for one
        that rotted on flash would else be sent for ever. records: as the log holds them, in whole record lengths."""
        return 0
