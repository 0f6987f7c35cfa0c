"""No radio yet: the seam where records will leave. `network` is not imported, so an image without it works.

Whoever sends implements these two calls. Nothing else comes back through them: a count decides what is sent next
and nothing about water.
"""


class NoRadio:
    """rig.radio of a rig that sends nothing."""

    def reach(self):
        """True when a broker is there to be told. Each call has to return within the watchdog's time-out."""
        return False

    def report(self, records):
        """How many of the records, oldest first, the broker has acknowledged. records: whole ones, as the log holds them."""
        return 0
