"""What the board senses besides soil: air, light, battery voltage, time, its button.

Tolerances are drawn once per rig. Climate as a BME280's data sheet has it
(+-3 %RH; +-0.5 degC, the latter from memory); light as a BH1750's
(0.96/1.2/1.44 counts per lux, full scale 65535 counts). A photodiode is
coarser: 12 bits over 100 klx, +-30 % (ours).
"""

MAD_S = 900
"""How long wet electronics give nonsense before they fall silent, seconds."""


class ClimateSensor:
    """Air temperature in cdeg and humidity in per mille, with offset and noise."""

    def __init__(self, kind, rng):
        self.kind = kind
        self._rng = rng
        self._temp_off = max(-1.0, min(1.0, rng.gauss(0.3, 0.3)))
        self._rh_off = max(-3.0, min(3.0, rng.gauss(0, 1.5)))

    def read(self, temp_c, rh_pct):
        """Return (temp_cdeg, rh_pm), or (None, None) if the board has no such sensor."""
        if self.kind == "none":
            return None, None
        rnd = self._rng.random
        temp = int(100 * (temp_c + self._temp_off) + 4 * (rnd() - 0.5))
        rh = int(10 * (rh_pct + self._rh_off) + 6 * (rnd() - 0.5))
        return temp, min(1000, max(0, rh))


class LightSensor:
    """Light in whole lux, quantised as the part does; -1 if there is none."""

    def __init__(self, kind, rng, mtreg=69):
        self.kind = kind
        self._counts_per_lx = 1.2 * mtreg / 69
        span = 0.2 if kind == "bh1750" else 0.3
        self._gain = 1 + span * (2 * rng.random() - 1)

    def read(self, lux):
        """Return lux as read, or -1 without a sensor."""
        if self.kind == "bh1750":
            counts = min(65535, int(lux * self._gain * self._counts_per_lx))
            return int(counts / self._counts_per_lx)
        if self.kind == "photodiode":
            return min(4095, int(lux * self._gain * 4096 / 100_000)) * 100_000 // 4096
        return -1


class VoltMeter:
    """The board's view of the battery: divider and converter, within about 1 %."""

    def __init__(self, adc, rng):
        self._gain = 1 + 0.01 * max(-1.5, min(1.5, rng.gauss(0, 0.7)))
        bits = int(adc.get("bits", 12))
        divider_pm = int(adc.get("battery_divider_pm", 333))
        self._step_mv = adc.get("vref_mv", 3300) / (1 << bits) * 1000.0 / divider_pm
        self._top = (1 << bits) - 1

    def read(self, mv):
        """Return millivolts as the board reads them, 0 or more."""
        return int(min(self._top, int(mv * self._gain / self._step_mv)) * self._step_mv)


class Clock:
    """The board's two clocks: wall time (may be unknown) and running ticks; both drift.

    kept: whether the wall clock outlives a hard reset (external real-time
    clock, or a chip that keeps it). drift_ppm: positive runs fast.
    """

    def __init__(self, start_utc_s, is_set, kept, drift_ppm):
        self.start_utc_s = start_utc_s
        self.kept = kept
        self.rate = 1.0 + drift_ppm * 1e-6
        self.known = is_set
        self.stuck = False
        self._off_s = 0.0
        self._ref_s = 0.0

    def utc_s(self, now_s):
        """Wall clock at true time now_s, Unix seconds; 0 when unknown."""
        if not self.known:
            return 0
        return int(self.start_utc_s + self._off_s + self._ref_s + (now_s - self._ref_s) * self.rate)

    def set_utc(self, utc_s, now_s):
        """Set the wall clock. utc_s = 0 makes it unknown."""
        self.known = utc_s > 0
        self._ref_s = now_s
        self._off_s = utc_s - self.start_utc_s - now_s

    def leap(self, by_s):
        """Let the wall clock jump; returns whether there was one to jump."""
        self._off_s += by_s
        return self.known

    def hard_reset(self):
        """Reset of the board: wall time is lost unless kept."""
        if not self.kept:
            self.known = False

    def board_ms(self, true_s):
        """Milliseconds the board's ticks count in a span of true seconds."""
        return int(true_s * 1000.0 * self.rate)

    def true_s(self, board_ms):
        """True seconds that pass while the board's ticks count board_ms."""
        return board_ms / 1000.0 / self.rate


class Electronics:
    """Dry or wet. Wet electronics read nonsense for `mad_s`, then nothing.

    height_mm: lowest live part above the tray's floor. Wetted electronics
    stay wet until somebody dries them.
    """

    def __init__(self, height_mm, rng):
        self.height_mm = height_mm
        self._rng = rng
        self.wet_since_s = None
        self.wettings = 0
        self.mad_s = MAD_S

    def wet(self, now_s, mad_s=MAD_S):
        """Water reaches the electronics."""
        if self.wet_since_s is None:
            self.wet_since_s = now_s
            self.wettings += 1
            self.mad_s = mad_s

    def dry(self):
        """Somebody dries them."""
        self.wet_since_s = None

    def state(self, now_s):
        """Return "dry", "mad" or "silent"."""
        if self.wet_since_s is None:
            return "dry"
        return "mad" if now_s - self.wet_since_s < self.mad_s else "silent"

    def nonsense(self, sense):
        """Overwrite a Sense with what wet electronics say."""
        rnd = self._rng.randrange
        for burst in sense.probe_raw:
            for i in range(len(burst)):
                burst[i] = rnd(65536)
        if sense.temp_cdeg is not None and rnd(2):
            sense.temp_cdeg, sense.rh_pm = rnd(-4000, 8500), rnd(1001)
        else:
            sense.temp_cdeg = sense.rh_pm = None
        sense.lx = rnd(54_613) if sense.lx >= 0 and rnd(2) else -1
        sense.battery_mv = rnd(8000)
        sense.button = rnd(2)

    def silence(self, sense):
        """Overwrite a Sense with silence."""
        for burst in sense.probe_raw:
            for i in range(len(burst)):
                burst[i] = 0
        sense.temp_cdeg = sense.rh_pm = None
        sense.lx = -1
        sense.battery_mv = 0
        sense.button = 0
