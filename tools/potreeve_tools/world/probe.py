"""Moisture probes: from the water next to the probe to raw samples.

Analogue (capacitive) probe: 1/V follows the water content along a curve of its
own mix, contact and make (response.py), and the raw value falls as moisture
rises. Pulsing probe: its period does; the board times its edges. No two probes are alike; `tolerance` scales what
differs, 0 gives the middle of every range.

    what                    range here                          source
    volts in open air       2.65 +- 0.13 (sd), 2.39 to 2.91     2.3-3.0 V from memory; 2.3 V, EE Stack Exchange 522956,
    V volts in water          1.20 +- 0.12 (sd), 0.96 to 1.44     1.0-1.5 V from memory; 0.7 V there, V: the spread is
    ours bend, ends              by mix                              response.py
    warmth, m3/m3 per degC  -.0020 to +.0022                    +.0022 in substrate (Nemali et al. 2007, V-abs); -.0020
    and
                                                                -.0015 in sand (MethodsX 2024, 103100, V-abs): no common
                                                                sign
    drift                   the rig file's, either sign         a probe whose coating lets water in reads wet: a mishap
    settling                +-.01 m3/m3 (sd) over some 12 days  10-14 d after installing, V-abs, size ours

Noise is ours, within what cheap probes are said to have (5-20 mV peak to peak, from memory).

The converter is modelled on RP2040 measurements: noise about 1 LSB rms,
differential non-linearity of 8.9 LSB at the codes 512, 1536, 2560 and 3584
(pico-adc.markomo.me; erratum RP2040-E11). The sample is spread to 16 bits as
MicroPython's read_u16 does: raw << 4 | raw >> 8.
"""

import math

from potreeve_tools.world.response import AIR_THETA, Response

__all__ = ["AIR_THETA", "BURST", "Probe", "converter_table", "spread_u16"]

BURST = 9
JUMPS = (512, 1536, 2560, 3584)
JUMP_LSB = 8.9
WARMTH_MIDDLE, WARMTH_HALF = 0.0001, 0.0021  # m3/m3 per degC
SETTLING_VWC, SETTLING_S = 0.01, 4.0 * 86400.0
TEMP_REF_C = 20.0
# Of a pulsing probe's frequency, rms: 0.2 % at the usual 2.5 mV; ours (common practice, no source).
WOBBLE_PER_MV = 0.002 / 2.5
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

    kind: "analogue" or "pulses". rng: its own random.Random, for noise; build: the same for what it
    was born with (None: rng). substrate: the mix it sits in. window_s: counting window of a
    pulse-counting probe. noise_mv: rms of probe and wiring, millivolts. drift_vwc_month: slow drift,
    m3/m3 per 30 days. tolerance: how much probes differ. vref_mv, table: the board's converter.
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
        substrate="peat_mix",
        build=None,
    ):
        self.kind = kind
        self._rng = rng
        build = build or rng

        # One draw after another, in this order for ever: what comes new is drawn last.
        def scatter():
            return tolerance * _clip(build.gauss(0, 1))

        air_v, water_v = 2.65 * (1 + 0.05 * scatter()), 1.20 * (1 + 0.10 * scatter())
        air_hz, water_hz = 480.0 * (1 + 0.05 * scatter()), 120.0 * (1 + 0.05 * scatter())
        self._warmth_vwc = WARMTH_MIDDLE + WARMTH_HALF * tolerance * (2 * build.random() - 1)
        self._drift_sign = 1 if build.random() < 0.5 else -1
        self._wander_phase = build.random() * 2 * math.pi
        self._settling_vwc = SETTLING_VWC * scatter()
        self._response = Response(
            substrate, (_clip(build.gauss(0, 1)), _clip(build.gauss(0, 1)), build.random()), tolerance
        )
        self._inverse_air, self._inverse_span = 1 / air_v, 1 / water_v - 1 / air_v
        self._period_air, self._period_span = 1 / air_hz, 1 / water_hz - 1 / air_hz
        gauss = rng.gauss
        self._drift_per_s = drift_vwc_month / (30 * 86400.0)
        self._wander_vwc = 0.5 * drift_vwc_month
        self._table = table or converter_table(bits, True)
        self._codes_per_v = (1 << bits) / (vref_mv / 1000.0)
        self._top = 1 << bits
        self._window_us = window_s * 1e6
        noise_lsb = math.hypot(noise_mv / 1000.0 * self._codes_per_v, 0.97)
        self._margin = 6 * noise_lsb
        # A window's frequency wanders with the same noise; the ring is drawn in converter steps.
        self._wobble = WOBBLE_PER_MV * noise_mv / noise_lsb
        self._noise = [gauss(0, noise_lsb) for _ in range(_RING + BURST)]
        self._jitter = [rng.random() for _ in range(_RING + BURST)]

    def offset_vwc(self, temp_c, t_s):
        """What the probe adds to the water content: warmth, slow drift, settling in its hole, m3/m3."""
        drift = self._drift_sign * self._drift_per_s * t_s
        wander = self._wander_vwc * math.sin(t_s * 7.27e-7 + self._wander_phase)
        settled = self._settling_vwc * (1.0 - math.exp(-t_s / SETTLING_S))
        return self._warmth_vwc * (temp_c - TEMP_REF_C) + drift + wander + settled

    def _ideal(self, theta, offset_vwc):
        """Ideal converter step (analogue) or hertz (pulses)."""
        response = self._response
        share = response.share(theta) + response.per_theta * offset_vwc
        if self.kind == "pulses":
            return 1 / max(1e-4, self._period_air + self._period_span * share)
        return self._codes_per_v / max(0.05, self._inverse_air + self._inverse_span * share)

    def reading_at(self, theta, temp_c=TEMP_REF_C):
        """Noise-free raw value (0..65535) when new, at a water content in m3/m3 and a temperature."""
        ideal = self._ideal(theta, self._warmth_vwc * (temp_c - TEMP_REF_C))
        if self.kind == "pulses":
            return min(65535, int(ideal * 100))
        return self._table[min(self._top, max(0, int(ideal)))]

    def burst(self, theta, temp_c, t_s, noise_times=1.0):
        """Return 9 raw samples: u16 for analogue probes, centihertz for pulse-counting ones."""
        ideal = self._ideal(theta, self.offset_vwc(temp_c, t_s))
        at = int(self._rng.random() * _RING)
        if self.kind == "pulses":
            wobble = self._wobble * noise_times
            return [
                _timed(ideal * (1 + self._noise[at + i] * wobble), self._window_us, self._jitter[at + i])
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


def _timed(hertz, window_us, phase):
    """Hundredths of hertz as a board's driver has them: from the first edge of a window to its last. phase 0..1."""
    count = int(hertz * window_us / 1e6 + phase)
    if count < 2:
        return max(0, count) * 100_000_000 // int(window_us)
    span_us = int((count - 1) * 1e6 / hertz)
    return min(65535, (count - 1) * 1_000_000 // max(1, span_us // 100))


def _clip(z):
    """Keep a tolerance within two standard deviations: a shop sorts out worse."""
    return max(-2.0, min(2.0, z))
