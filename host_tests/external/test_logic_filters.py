"""The probe's filters and the learned averages against the standard library and scipy."""

import random
import statistics
from fractions import Fraction

import numpy as np
import pytest
from potreeve.logic import moisture, units
from scipy import signal

NOISES = {
    "calm": lambda rng: 30000 + round(rng.gauss(0, 30)),
    "noisy": lambda rng: min(65535, max(0, 30000 + round(rng.gauss(0, 3000)))),
    "rails": lambda rng: rng.choice((0, 65535)),
    "flat": lambda rng: 12345,
    "any": lambda rng: rng.randrange(65536),
}


@pytest.mark.parametrize("kind", NOISES)
def test_burst_against_statistics_and_a_trimmed_range(kind):
    """Median: statistics.median of nine samples. Spread: range without the lowest and highest sample, which is
    what scipy.stats.mstats.trim would leave."""
    rng = random.Random("burst " + kind)
    for _ in range(300):
        samples = [NOISES[kind](rng) for _ in range(9)]
        median, spread = moisture.burst(list(samples))
        assert median == statistics.median(samples)
        kept = sorted(samples)[1:-1]
        assert spread == np.ptp(kept)


def test_burst_against_scipy_median_filter():
    """scipy.signal.medfilt of width 9 gives, at the middle of nine samples, the same median."""
    rng = random.Random("medfilt")
    samples = [rng.randrange(65536) for _ in range(400)]
    theirs = signal.medfilt(np.array(samples, dtype=float), 9)
    for at in range(4, len(samples) - 4):
        assert moisture.burst(samples[at - 4 : at + 5])[0] == theirs[at]


@pytest.mark.parametrize("weight", [2, 3, 4, 8])
def test_smoothing_against_an_exponential_average_of_scipy(weight):
    """scipy.signal.lfilter([1/w], [1, 1/w - 1]) is the exponential average; ours counts sixteenths and floors each
    step, so it may lie below by at most one sixteenth per step that is not yet forgotten: w - 1 + 1 sixteenths."""
    rng = random.Random(f"smooth {weight}")
    raws = [30000]
    for _ in range(500):
        raws.append(min(65535, max(1, raws[-1] + rng.randrange(-400, 401))))
    alpha = 1.0 / weight
    start = [raws[0] * (1.0 - alpha)]
    theirs, _ = signal.lfilter([alpha], [1.0, alpha - 1.0], np.array(raws, dtype=float), zi=start)
    ours = 0
    for raw, expected in zip(raws, theirs):
        ours = moisture.smooth(ours, raw, weight)
        below = expected * 16 - ours
        assert -1e-6 <= below <= weight + 1e-6


def test_smoothing_of_one_is_no_smoothing():
    for raw in (1, 500, 65535):
        assert moisture.smooth(77777, raw, 1) == raw * 16


@pytest.mark.parametrize("weight", [4, 5, 8])
def test_learning_against_exact_fractions(weight):
    """ease() is the exponential average in whole numbers that never stalls: within one of the exact fraction step,
    always towards the goal, and there after a finite time."""
    rng = random.Random(f"ease {weight}")
    for _ in range(2000):
        old, new = rng.randrange(-(10**6), 10**6), rng.randrange(-(10**6), 10**6)
        exact = old + Fraction(new - old, weight)
        ours = units.ease(old, new, weight)
        assert abs(ours - exact) <= 1
        assert min(old, new) <= ours <= max(old, new)
        assert ours != old or old == new
    value, steps = 0, 0
    while value != 1000:
        value = units.ease(value, 1000, weight)
        steps += 1
        assert steps < 200


def test_curves_against_numpy_interp():
    """to_pm between its points is numpy.interp, rounded to the nearest whole per mille."""
    curve = [(52000, 0), (45000, 180), (33000, 520), (22000, 1000)]
    xs, ys = zip(*sorted(curve))
    for raw in range(22000, 52001, 37):
        exact = np.interp(raw, xs, ys)
        assert abs(moisture.to_pm(raw, curve) - exact) <= 0.5 + 1e-9


def test_rounding_against_the_fractions_module():
    rng = random.Random("round")
    for _ in range(3000):
        value, divisor = rng.randrange(-(10**12), 10**12), rng.randrange(1, 10**6)
        exact = Fraction(value, divisor)
        assert units.div_up(value, divisor) == -((-exact.numerator) // exact.denominator)
        near = units.div_near(value, divisor)
        assert abs(near - exact) <= Fraction(1, 2)
        assert near - exact != Fraction(-1, 2), "halves go up"
