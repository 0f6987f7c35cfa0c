"""Which tube ends beside which probe, with water that takes its time."""

from potreeve_tools.link import calibrate_wiring

STEP_S = 150.0
# Raw counts by which water lifts a probe in each of the steps after its pulse: at once, then for a while as it spreads.
SPREADS = (1500, 900, 700, 600, 500, 450, 400, 350, 300, 100, 0)
AIR, WET = 52000, 22000


class Bench:
    """Three pots whose probes show a pulse by and by."""

    def __init__(self):
        self.raw = [30000, 30000, 30000]
        self.pulsed = {}
        self.step = 0

    def bursts(self, channels, times, pause_ms):
        return {channel: [(self.raw[channel], 60)] * times for channel in channels}

    def pulse(self, channel, ms):
        self.pulsed[channel] = self.step
        return {"ms": ms}

    def wait(self, seconds, until):
        for _ in range(round(seconds / STEP_S)):
            for channel, at in self.pulsed.items():
                self.raw[channel] -= SPREADS[min(self.step - at, len(SPREADS) - 1)]
            self.step += 1
            if until():
                return True
        return False


class Talk:
    def say(self, text):
        pass


def test_each_pot_is_tried_once_the_water_of_the_one_before_has_come_to_rest():
    """On the README's road the strawberry's trial began while the mint's probe still rose: "several probes answer"."""
    table = {"pump_ul_s": 5000, "pulse_ml": 50, "holds_ml": 800, "pulse_max_ms": 15000, "prime_ms": 2000}
    names = ("mint", "strawberry", "cherry tomato")
    settings = {"channels": [{**table, "name": name, "curve": [(AIR, 0), (WET, 1000)]} for name in names]}
    results = calibrate_wiring.run(Bench(), Talk(), settings, 12 * STEP_S)
    assert [row["text"] for row in results] == ["right: its own probe answers"] * 3
