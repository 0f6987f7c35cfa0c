"""Every mishap once, in CPython: what its file promises must come of it.

The full command, in real MicroPython and with more seeds: `potreeve mishaps`.
"""

import tomllib
from functools import cache

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.mishaps import judge, run, scenario, trial, wording
from potreeve_tools.world.rigfile import DEFAULT_RIG

SCENARIOS = scenario.load_all()
NAMES = [one.name for one in SCENARIOS]

# The blueprint's list, in its own words, and the files that show each.
BLUEPRINT = {
    "probe pulled out": ("probe_out", "probe_out_for_a_month", "probe_out_thirstiest"),
    "probe leaning or with an air gap": ("probe_leaning", "probe_gap_small"),
    "probe wire broken or shorted": ("probe_broken", "probe_floating", "probe_shorted"),
    "probe noise and temperature drift": ("probe_noisy", "probe_temp_drift"),
    "tube popped off": ("tube_off_tray", "tube_off_floor", "button_with_tube_off"),
    "tube kinked or clogged": ("tube_clogged", "tube_narrow"),
    "tubes crossed between two pots": ("tubes_crossed", "tubes_crossed_for_good"),
    "inlet below the soil's surface": ("inlet_buried",),
    "reservoir empty": ("reservoir_empty",),
    "siphon after the pump stops": ("siphon", "siphon_lasting", "siphon_refilled"),
    "pump stuck on (hardware)": ("pump_stuck_on",),
    "pump weak or dry": ("pump_weak", "pump_very_weak", "pump_dry"),
    "dry substrate that sheds water at first": ("dry_substrate", "dry_substrate_all"),
    "swelling coir or peat pellet": ("swelling_pellet",),
    "pot without drainage": ("no_drainage",),
    "tray filling up": ("tray_filling_up", "tray_poured"),
    "water on the electronics": ("water_on_electronics", "electronics_mad"),
    "battery old, cold or sagging": ("battery_old", "battery_cold", "battery_sagging", "battery_low", "battery_mended"),
    "brown-out in mid-pulse": ("brown_out", "brown_out_lasting"),
    "reset loop": ("reset_loop", "reset_slow"),
    "clock lost": ("clock_lost",),
    "clock leaping": ("clock_leaping",),
    "daylight saving": ("daylight_saving",),
    "flash full": ("flash_full",),
    "flash worn": ("flash_worn", "flash_dead"),
    "settings half-written": ("settings_half_written", "settings_bad"),
    "radio down for weeks": ("radio_down",),
    "broker back with a queue": ("broker_back",),
    "button pressed in the middle of anything": ("button_in_the_midst", "button_long_in_the_midst", "button_leant_on"),
    "plant grows fourfold": ("plant_grown",),
    "plant repotted": ("repotted", "repotted_untold", "repotted_smaller"),
    "plant swapped": ("swapped", "swapped_untold"),
}

# Shown, and not held yet, with what the judge says. Strict: a name that holds must go from here.
NOT_YET = {}

# Each goes on long enough to kill if nothing is done.
LONG = (
    "caps_cut",
    "caps_insisted",
    "caps_too_low",
    "coating_slow",
    "coating_steady",
    "converter_drifts_dry",
    "converter_drifts_wet",
    "pump_wearing",
    "sick_beside_healthy",
    "tray_weeping",
    "tub_empty_a_week",
    "tube_straightened",
)


@cache
def bench():
    rig = tomllib.loads(DEFAULT_RIG.read_text(encoding="utf-8"))
    return trial.Bench(rig, "reading_room.toml", boards.load("rp2040_wifi").device_dict(), interpreter="cpython")


@pytest.mark.parametrize(
    "one",
    [
        pytest.param(
            one,
            id=one.name,
            marks=[pytest.mark.xfail(strict=True, reason=NOT_YET[one.name])] if one.name in NOT_YET else [],
        )
        for one in SCENARIOS
    ],
)
def test_a_mishap(one):
    verdict = run.one(one, bench(), seed=one.seeds([1])[0])
    promised = judge.NOT_SHOWN if one.expects["not_shown"] else judge.HOLDS
    assert [wording.say(finding) for finding in verdict.broken] == []
    assert verdict.verdict == promised, verdict


def test_long_mishaps_last_for_seventy_days_and_more():
    lasting = {one.name: one.days - min(fault.start_s for fault in one.faults) / 86400 for one in SCENARIOS}
    assert {name: lasting[name] for name in LONG if lasting[name] < 60} == {}
    assert all(one.days >= 70 for one in SCENARIOS if one.name in LONG)


def test_what_is_not_held_yet_is_here():
    assert set(NOT_YET) <= set(NAMES)


def test_all_mishaps_of_the_blueprint_are_here():
    missing = [name for names in BLUEPRINT.values() for name in names if name not in NAMES]
    assert missing == []


def test_nothing_is_left_unshown():
    assert [one.name for one in SCENARIOS if one.expects["not_shown"]] == []


def test_whatever_may_die_is_explained():
    assert [
        one.name
        for one in SCENARIOS
        if (one.expects["may_die"] or one.expects["wet_by_itself"] or one.expects["runs_by_itself_ml"])
        and not one.expects["why"]
    ] == []
