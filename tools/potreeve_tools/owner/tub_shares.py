"""What pumps really take from the tub, of what the board counts: from little water, which they lift high, and from a
full tub.

Measured into a cup while the tub is filled jug by jug: one run of each pump at the lowest mark, one at the brim.
"""

from potreeve.logic import dosing

from potreeve_tools.owner import calibrate_pump

LOW = "Measure what each pump brings from so little water, too? Days left are much better with it."
FULL = "The same once more, from the full tub."
STOOD = "Have all pumps stood still for some minutes?"
BACK = "Pour each cup back into the tub once it is read."
FILL = "Its tube may have run empty since: a first run fills it and does not count."

# Runs bring about so much, as the pulses of most pots do: a share is of two cups alike, and a low tub gives no more.
LEAST_UL, MOST_UL = 15_000, 40_000

# Less than this share of what came from the full tub, and a pump sucked air.
AIR_SHARE = 0.2

# What the settings take.
LEAST_PM, MOST_PM = 100, 4000


class Pumps:
    """The pumps of a rig, by its pots' settings; bench, talk: as in calibrate_pump."""

    def __init__(self, bench, talk, channels):
        self._bench, self._talk, self._channels = bench, talk, channels
        self._low = []

    def measure_low(self):
        """Run each pump with the tub at its lowest mark, if the person wants to and pumps were measured before."""
        talk = self._talk
        if not all(channel["pump_ul_s"] for channel in self._channels):
            talk.say("Pumps were not measured yet. Do that first, then this once more: days left are much better then.")
        elif talk.confirm("shares", LOW):
            talk.say(BACK)
            self._low = self._runs(fill=True)

    def measure_full(self):
        """The same with a full tub; returns {key: value} of the table [tub], {} where nothing was measured."""
        if not self._low:
            return {}
        self._talk.say(FULL)
        full = self._runs()
        return shares(self._low, full)

    def _runs(self, fill=False):
        """[(ul that came, ul that is counted)] of a run of each pump. fill: with a run before that fills tubes which
        then stay full, for they may have stood for days."""
        self._talk.confirm("stood", STOOD)
        found = []
        for index, channel in enumerate(self._channels):
            self._talk.say(calibrate_pump.CUP.format(name=channel["name"]))
            want_ul = min(max(channel["pulse_ml"] * 1000, LEAST_UL), MOST_UL)
            rest_mv = [self._bench.battery_mv()]
            ms = dosing.pulse_ms(want_ul, dosing.TUBE_DRAINS_S, channel, rest_mv[0])
            if fill and channel["tube_full_h"]:
                self._talk.say(FILL)
                calibrate_pump.into_cup(self._bench, self._talk, index, ms, rest_mv)
            (ms, came_ul), _ = calibrate_pump.into_cup(self._bench, self._talk, index, ms, rest_mv)
            found.append((came_ul, dosing.likely_ul(ms, dosing.TUBE_DRAINS_S, channel, rest_mv[-1])))
        return found


def shares(low, full):
    """{key: value} of the table [tub]. low, full: as of Pumps._runs."""
    found = {}
    for key, rows in (("share_full_pm", full), ("share_low_pm", low)):
        came, counted = (sum(column) for column in zip(*rows, strict=True))
        found[key] = min(max(round(1000 * came / max(1, counted)), LEAST_PM), MOST_PM)
    if found["share_low_pm"] < AIR_SHARE * found["share_full_pm"]:
        found["share_low_pm"] = found["share_full_pm"]
    return found
