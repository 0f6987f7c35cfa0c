"""One channel's place on the sill: the pot that stands there, its probe, pump and tube."""

TRAY = -1
FLOOR = -2


class Channel:
    """Which things belong together at place `index`, and what was counted there.

    probe_in, tube_to: index of the pot the probe sits in and the tube leads to
    (crossed wires and tubes change them). present: the pot stands there.
    given_ml: poured into this pot from any tube; by_hand_ml: by people.
    """

    __slots__ = (
        "index",
        "name",
        "spec",
        "pot",
        "probe",
        "line",
        "probe_in",
        "probe_cm",
        "tube_to",
        "present",
        "tube_off",
        "probe_faults",
        "marks",
        "standing_marks",
        "given_ml",
        "by_hand_ml",
        "transpired_ml",
        "evaporated_ml",
        "leachate_ml",
        "lag_s",
        "wet_until_s",
        "on_ms",
        "pulses",
    )

    def __init__(self, index, spec, pot, probe, line):
        self.index = index
        self.name = spec["name"]
        self.spec = spec
        self.pot = pot
        self.probe = probe
        self.line = line
        self.probe_in = index
        self.tube_to = index
        self.present = True
        self.tube_off = None
        self.probe_faults = []
        self.marks = []  # mishaps that bite when the pot gets water
        self.standing_marks = []  # and when that is more than it can hold
        self.given_ml = self.by_hand_ml = 0.0
        self.transpired_ml = self.evaporated_ml = self.leachate_ml = 0.0
        self.lag_s = 0.0
        self.wet_until_s = -1.0
        self.on_ms = 0
        self.pulses = 0
