"""logic.light and logic.diode: more light never reads as less; their vectors are run in test_sensor_vectors.py."""

from hypothesis import given
from hypothesis import strategies as st
from potreeve.logic import diode, light

MV = st.integers(0, 5000)
SLOPE = st.integers(0, 200000)


@given(MV, MV, SLOPE, MV, SLOPE)
def test_photodiode_never_falls_as_the_voltage_rises(mv, dark_mv, lx_per_v, knee_mv, upper_lx_per_v):
    lower = diode.lux(mv, dark_mv, lx_per_v, knee_mv, upper_lx_per_v)
    higher = diode.lux(mv + 1, dark_mv, lx_per_v, knee_mv, upper_lx_per_v)
    assert 0 <= lower <= higher <= 200000


@given(st.integers(0, 65534), st.integers(31, 254), st.integers(0, 1))
def test_bh1750_never_falls_as_the_count_rises(counts, mtreg, fine):
    assert 0 <= light.bh1750_lx(counts, mtreg, fine) <= light.bh1750_lx(counts + 1, mtreg, fine)
