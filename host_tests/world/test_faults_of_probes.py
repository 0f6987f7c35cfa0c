"""Mishaps of probes and other sensors bite, are counted when they bite, and are undone at their end."""

import statistics

import pytest
from small_rigs import board
from struck import dry_raw, given, median, over, struck


def test_probe_out_reads_drier_than_dry():
    one, fault = struck("probe_out")
    assert median(one) > dry_raw(one) and fault.bit == 1
    assert median(one, 1) < dry_raw(one, 1)
    assert median(over(one)) < dry_raw(one) - 5000


def test_probe_leaning_reads_drier():
    one, fault = struck("probe_leaning", gap=0.5)
    leaning = median(one)
    assert fault.bit == 1 and leaning < dry_raw(one)
    assert median(over(one)) < leaning - 2000


@pytest.mark.parametrize("reads, value", [("high", 65_535), ("low", 0)])
def test_probe_broken_reads_a_rail(reads, value):
    one, fault = struck("probe_broken", reads=reads)
    assert one.sense().probe_raw[0] == [value] * 9 and fault.bit == 1
    assert 10_000 < median(over(one)) < 50_000


def test_probe_broken_floating_wanders():
    one, fault = struck("probe_broken", reads="floating")
    seen = []
    for _ in range(10):
        seen.append(median(one))
        one.advance(1200)
    assert max(seen) - min(seen) > 5_000 and fault.bit == 10


def test_probe_broken_is_silence_when_pulses_are_counted():
    one, _ = struck("probe_broken", the_board=board(probe_kind="pulses"))
    assert one.sense().probe_raw[0] == [0] * 9


def test_probe_shorted_reads_nothing():
    one, fault = struck("probe_shorted")
    assert one.sense().probe_raw[0] == [0] * 9 and fault.bit == 1
    assert median(over(one)) > 10_000


def test_probe_stuck_never_changes():
    one, fault = struck("probe_stuck")
    first = one.sense().probe_raw[0]
    given(one, 0, 20_000)
    one.advance(3000)
    assert one.sense().probe_raw[0] == first and len(set(first)) == 1 and fault.bit == 2
    assert len(set(over(one).sense().probe_raw[0])) > 1


def test_probe_noisy_spreads():
    one, fault = struck("probe_noisy", times=40.0)
    wild = statistics.pstdev(x for _ in range(10) for x in one.sense().probe_raw[0])
    calm = statistics.pstdev(x for _ in range(10) for x in over(one).sense().probe_raw[0])
    assert wild > 15 * calm and fault.bit == 10


def test_probe_temp_drift_and_coating_read_wetter():
    warm, fault = struck("probe_temp_drift", vwc_per_degc=0.02)
    assert warm.truth()["temp_c"] > 20 and fault.bit == 0
    drifted = median(warm)
    assert fault.bit == 1 and median(over(warm)) > drifted + 300
    coated, fault = struck("probe_coating", vwc_per_day=0.3)
    coated.advance(40_000)
    wet = median(coated)
    assert fault.bit == 1 and median(over(coated)) > wet + 2000


def test_probes_crossed_tell_of_the_other_pot():
    def unlike(data):
        data["pot"][0]["start_pm"], data["pot"][1]["start_pm"] = 950, 150

    one, fault = struck("probes_crossed", other=1, change=unlike)
    crossed = median(one), median(one, 1)
    assert crossed[0] > crossed[1] and fault.bit > 0
    over(one)
    assert median(one) < median(one, 1)


def test_converter_drift_moves_all_probes():
    one, fault = struck("adc_drift", pm_per_day=200.0)
    one.advance(40_000)
    drifted = [median(one, i) for i in range(3)]
    assert fault.bit > 0
    over(one)
    assert all(d > 1.05 * median(one, i) for i, d in enumerate(drifted))


def test_silent_sensors():
    one, fault = struck("climate_silent")
    sense = one.sense()
    assert sense.temp_cdeg is None and sense.rh_pm is None and fault.bit == 1
    assert over(one).sense().temp_cdeg is not None
    one, fault = struck("light_silent")
    assert one.sense().lx == -1 and fault.bit == 1
    assert over(one).sense().lx > 0
