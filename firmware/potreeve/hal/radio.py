"""No radio yet: the seam where reports will leave. `network` is not imported, so an image without it works."""


class NoRadio:
    """rig.radio of a rig that sends nothing."""

    def report(self, payload):
        """0: nothing was sent, there is no radio."""
        return 0
