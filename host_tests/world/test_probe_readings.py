"""Probes: falling curve, noise, temperature, converter."""

import random
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st
from potreeve_tools.world.probe import AIR_THETA, JUMPS, Probe, converter_table, spread_u16


def probe(kind="analogue", seed=3, **more):
    return Probe(kind, random.Random(seed), **more)


@given(st.integers(0, 4095))
def test_sixteen_bits_as_read_u16_makes_them(raw):
    u16 = spread_u16(raw)
    assert 0 <= u16 <= 65_535 and u16 >> 4 == raw


def test_only_4096_codes_and_the_published_jumps():
    """Differential non-linearity of 8.9 LSB at 512, 1536, 2560, 3584 (pico-adc.markomo.me; erratum RP2040-E11)."""
    table = converter_table(12, True)
    assert table == sorted(table) and table[0] == 0 and table[-1] == 65_535
    codes = [value >> 4 for value in table]
    wide = {code for code in set(codes) if codes.count(code) >= 8}
    assert wide == set(JUMPS)
    worst = max(abs(code - step) for step, code in enumerate(codes[:-1]))
    assert 7 <= worst <= 9.5  # integral non-linearity measured there: 7.85 LSB
    assert [value >> 4 for value in converter_table(12, False)][:-1] == list(range(4096))


@pytest.mark.parametrize("kind", ["analogue", "pulses"])
@pytest.mark.parametrize("seed", range(5))
def test_the_raw_value_falls_as_moisture_rises(kind, seed):
    values = [probe(kind, seed).reading_at(theta / 100) for theta in range(0, 90, 5)]
    assert all(a > b for a, b in zip(values, values[1:]))
    assert probe(kind, seed).reading_at(AIR_THETA) > values[0]
    assert values[0] - values[-1] > 10_000


def test_the_inverse_of_the_voltage_is_linear_in_water_content():
    """Hrisko 2020, technical note: 1/V about linear in volumetric water content."""
    one = probe(table=[spread_u16(min(4095, i)) for i in range(4097)])
    points = [(theta / 100, 1 / (one.reading_at(theta / 100) >> 4)) for theta in range(0, 80, 5)]
    assert statistics.correlation(*zip(*points)) > 0.9999


def test_warmth_reads_as_water():
    """+0.0022 m3/m3 per degC in soilless substrate (Nemali et al. 2007); ours varies by probe."""
    shifts = []
    for seed in range(20):
        one = probe(seed=seed)
        slope = one.reading_at(0.40) - one.reading_at(0.44)
        shifts.append(0.04 * (one.reading_at(0.40, 20) - one.reading_at(0.40, 40)) / slope / 20)
    assert statistics.mean(shifts) == pytest.approx(0.0022, rel=0.25)


@pytest.mark.parametrize("kind", ["analogue", "pulses"])
def test_a_burst_is_nine_noisy_samples_about_the_reading(kind):
    one = probe(kind, drift_vwc_month=0.0)
    samples = [x for _ in range(60) for x in one.burst(0.4, 20.0, 0.0)]
    assert len(samples) == 540 and all(isinstance(x, int) and 0 <= x <= 65_535 for x in samples)
    assert len(set(samples)) > 3
    assert statistics.mean(samples) == pytest.approx(one.reading_at(0.4), abs=0.01 * one.reading_at(0.4))


def test_a_noisier_probe_is_noisier():
    quiet, loud = probe(noise_mv=1.0), probe(noise_mv=30.0)
    spread = [statistics.pstdev(x for _ in range(50) for x in one.burst(0.4, 20.0, 0.0)) for one in (quiet, loud)]
    assert spread[1] > 8 * spread[0]
    wild = probe(noise_mv=190.0)
    for theta in (-0.03, 0.0, 0.9):
        for _ in range(200):
            assert all(0 <= x <= 65_535 for x in wild.burst(theta, 20.0, 0.0, 50.0))


def test_drift_is_slow():
    one = probe(drift_vwc_month=0.02)
    now, later, month = (one.apparent_theta(0.4, 20, day * 86_400) for day in (0, 1, 30))
    assert abs(later - now) < 0.002
    assert 0.005 < abs(month - now) < 0.06


def test_probes_differ_but_one_seed_is_one_probe():
    assert len({probe(seed=seed).reading_at(0.4) for seed in range(10)}) > 7
    assert probe(seed=4).burst(0.4, 21.0, 5.0) == probe(seed=4).burst(0.4, 21.0, 5.0)
