"""Every kind of mishap has a test, many at once leave nothing behind, and the schedule reads as it should."""

from pathlib import Path

import pytest
from potreeve_tools.world.faults.kinds import FLAGS, KINDS, make_fault, parse_faults
from small_rigs import world
from struck import median


def test_every_kind_is_tried_here():
    """A kind added to the list without a test of its own fails this one."""
    here = Path(__file__).parent
    files = [*here.glob("test_faults_of_*.py"), here / "test_tray_sensor_feels.py", here / "test_display_in_a_rig.py"]
    files.append(here / "test_soil_thermometer.py")
    text = "".join(path.read_text(encoding="utf-8") for path in files)
    missing = [kind for kind in KINDS if f'"{kind}"' not in text and kind not in FLAGS]
    assert missing == []


def test_overlapping_mishaps_leave_nothing_behind():
    spans = {
        "siphon": (100, 900),
        "inlet_buried": (200, 1200),
        "tube_clogged": (300, 1500),
        "pump_weak": (150, 1000),
        "tube_off": (120, 800),
        "pump_stuck_on": (50, 2000),
        "no_drainage": (10, 1100),
    }
    faults = [make_fault(kind, *span, channel=0) for kind, span in spans.items()]
    faults += [
        make_fault("battery_old", 10, 500),
        make_fault("battery_old", 20, 700),
        make_fault("battery_sagging", 30, 600),
        make_fault("battery_cold", 40, 650),
        make_fault("siphon", 500, 1400, channel=1),
    ]
    one, plain = world(faults), world()
    one.advance(3000)
    line, was = one.channels[0].line, plain.channels[0].line
    for name in ("left", "weak", "valve", "air_hole", "buried", "welded", "siphon_fault", "drop_mm", "faults"):
        assert getattr(line, name) == getattr(was, name), name
    assert one.reservoir.base_mm == plain.reservoir.base_mm
    assert one.channels[0].tube_off is None and one.channels[0].pot.spec.drainage_hole
    battery, same = one.battery, plain.battery
    assert (battery.capacity_mah, battery.chill_c) == (same.capacity_mah, same.chill_c)
    assert battery.resistance_times == pytest.approx(same.resistance_times)


def test_a_schedule_from_tables():
    entries = [
        {"kind": "tube_off", "channel": 1, "start_h": 2.0, "end_h": 3.5, "where": "floor"},
        {"kind": "radio_down", "start_s": 10},
    ]
    faults, wrong = parse_faults(entries, 3, "x.toml")
    assert wrong == []
    assert (faults[0].start_s, faults[0].end_s, faults[0].channel) == (7200.0, 12_600.0, 1)
    assert faults[0].params == {"where": "floor", "drop_mm": 5.0}
    assert faults[1].end_s == float("inf")


def test_faults_end_in_the_midst_of_a_long_sleep():
    one = world([make_fault("probe_shorted", 5000, 9000, channel=0)])
    one.advance(20_000)
    assert not one.faults[0].active and one.faults[0].bit == 0 and median(one) > 10_000
