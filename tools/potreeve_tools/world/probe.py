"""Moisture probes: from the water next to the probe to raw samples.

Analogue (capacitive) probe: 1/V is close to linear in volumetric water
content and the raw value falls as moisture rises (Hrisko 2020, technical
note); +0.0022 m3/m3 per degC (Nemali et al. 2007). Pulse-counting probe: the
period is linear in water content, the frequency falls. Voltages, noise and
tolerances are ours: invented, but within what cheap probes are said to do
(from memory: dry 2.3-3.0 V, in water 1.0-1.5 V, noise 5-20 mV peak to peak).

The converter is modelled on RP2040 measurements: noise about 1 LSB rms,
differential non-linearity of 8.9 LSB at the codes 512, 1536, 2560 and 3584
(pico-adc.markomo.me; erratum RP2040-E11). The sample is spread to 16 bits as
MicroPython's read_u16 does: raw << 4 | raw >> 8.
"""

import math

AIR_THETA = -0.03
"""Apparent water content of a probe in open air (permittivity 1, below dry mix's 3-8)."""

BURST = 9
JUMPS = (512, 1536, 2560, 3584)
JUMP_LSB = 8.9
TEMP_VWC_PER_DEGC = 0.0022
TEMP_REF_C = 20.0
_RING = 2048


def spread_u16(raw):
    """Spread a 12-bit code to 16 bits as MicroPython's read_u16 does."""
    return raw << 4 | raw >> 8


def converter_table(bits, jumps):
    """Return a list: ideal code (0..2**bits, as an integer step) -> u16 sample.

    jumps: whether the RP2040's wide codes are there. Between two jumps the
    scale runs a little fast, so that the ends of the range stay where they are.
    """
    top = 1 << bits
    table = []
    for step in range(top + 1):
        code = step
        if jumps and bits == 12:
            code = _with_jumps(step)
        code = min(top - 1, max(0, code))
        raw12 = code >> (bits - 12) if bits >= 12 else code << (12 - bits)
        table.append(spread_u16(raw12))
    return table


def _with_jumps(step):
    """Return the code a converter with wide codes gives for an ideal step of 0..4096."""
    for jump in JUMPS:
        if jump <= step < jump + JUMP_LSB:
            return jump
    below = [j for j in JUMPS if j + JUMP_LSB <= step]
    start = below[-1] if below else 0
    nexts = [j for j in JUMPS if j > step]
    end = nexts[0] if nexts else 4096
    if not below:
        return step
    # after a wide code the output lags by 8.9 LSB and catches up until the next
    run = (step - start - JUMP_LSB) / (end - start - JUMP_LSB)
    return int(start + 1 + run * (end - start - 1))


class Probe:
    """One probe. `burst(theta, temp_c, t_s)` returns 9 raw integers.

    kind: "analogue" or "pulses". rng: its own random.Random.
    window_s: counting window of a pulse-counting probe.
    noise_mv: rms of probe and wiring, millivolts. drift_vwc_month: slow drift,
    m3/m3 per 30 days. vref_mv, table: the board's converter.
    """

    def __init__(
        self,
        kind,
        rng,
        noise_mv=2.5,
        drift_vwc_month=0.004,
        tolerance=1.0,
        vref_mv=3300,
        bits=12,
        table=None,
        window_s=0.2,
    ):
        self.kind = kind
        self._rng = rng
        gauss = rng.gauss
        dry_v = 2.65 * (1 + 0.03 * tolerance * _clip(gauss(0, 1)))
        water_v = 1.20 * (1 + 0.04 * tolerance * _clip(gauss(0, 1)))
        self._inverse_dry = 1 / dry_v
        self._inverse_slope = 1 / water_v - 1 / dry_v
        dry_hz = 480.0 * (1 + 0.05 * tolerance * _clip(gauss(0, 1)))
        water_hz = 120.0 * (1 + 0.05 * tolerance * _clip(gauss(0, 1)))
        self._period_dry = 1 / dry_hz
        self._period_slope = 1 / water_hz - 1 / dry_hz
        self._drift_sign = 1 if rng.random() < 0.5 else -1
        self._drift_per_s = drift_vwc_month / (30 * 86400.0)
        self._wander_phase = rng.random() * 2 * math.pi
        self._wander_vwc = 0.5 * drift_vwc_month
        self._temp_vwc = TEMP_VWC_PER_DEGC * (1 + 0.2 * _clip(gauss(0, 1)))
        self._table = table or converter_table(bits, True)
        self._codes_per_v = (1 << bits) / (vref_mv / 1000.0)
        self._top = 1 << bits
        self._window_s = window_s
        self._centihertz_per_count = int(100 / window_s)
        noise_lsb = math.hypot(noise_mv / 1000.0 * self._codes_per_v, 0.97)
        self._margin = 6 * noise_lsb
        self._noise = [gauss(0, noise_lsb) for _ in range(_RING + BURST)]
        self._jitter = [rng.random() for _ in range(_RING + BURST)]

    def apparent_theta(self, theta, temp_c, t_s):
        """Water content the probe seems to see: temperature and slow drift added, m3/m3."""
        drift = self._drift_sign * self._drift_per_s * t_s
        wander = self._wander_vwc * math.sin(t_s * 7.27e-7 + self._wander_phase)
        return theta + self._temp_vwc * (temp_c - TEMP_REF_C) + drift + wander

    def _ideal(self, apparent):
        """Ideal converter step (analogue) or hertz (pulses) at an apparent water content."""
        if self.kind == "pulses":
            return 1 / max(1e-4, self._period_dry + self._period_slope * apparent)
        return self._codes_per_v / max(0.05, self._inverse_dry + self._inverse_slope * apparent)

    def reading_at(self, theta, temp_c=TEMP_REF_C):
        """Noise-free raw value (0..65535) when new, at a water content in m3/m3 and a temperature."""
        ideal = self._ideal(theta + self._temp_vwc * (temp_c - TEMP_REF_C))
        if self.kind == "pulses":
            return min(65535, int(ideal * 100))
        return self._table[min(self._top, max(0, int(ideal)))]

    def burst(self, theta, temp_c, t_s, noise_times=1.0):
        """Return 9 raw samples: u16 for analogue probes, centihertz for pulse-counting ones."""
        ideal = self._ideal(self.apparent_theta(theta, temp_c, t_s))
        at = int(self._rng.random() * _RING)
        if self.kind == "pulses":
            per_window = ideal * self._window_s
            scale = self._centihertz_per_count
            wobble = 0.002 * per_window * noise_times
            return [
                min(65535, max(0, int(per_window + self._noise[at + i] * wobble + self._jitter[at + i])) * scale)
                for i in range(BURST)
            ]
        table, top = self._table, self._top
        if noise_times == 1.0:
            steps = [int(ideal + n) for n in self._noise[at : at + BURST]]
        else:
            steps = [int(ideal + n * noise_times) for n in self._noise[at : at + BURST]]
        if self._margin < ideal < top - self._margin and noise_times == 1.0:
            return [table[step] for step in steps]
        return [table[min(top, max(0, step))] for step in steps]


def _clip(z):
    """Keep a tolerance within two standard deviations: a shop sorts out worse."""
    return max(-2.0, min(2.0, z))
