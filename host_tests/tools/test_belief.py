"""`potreeve bench belief`: the filter against closed forms, doses that came and did not, and the report."""

import json
import math

import pytest
from click.testing import CliRunner
from potreeve.logic import record
from potreeve_tools.bench import belief, beliefrun
from potreeve_tools.commands import bench
from potreeve_tools.commands.benches import belief as command

CHANNEL = {
    "holds_ml": 500,
    "ration_ml": 25,
    "pump_ul_s": 4000,
    "pump_cal_mv": 0,
    "prime_ms": 500,
    "tube_full_h": 48,
    "pump_spread_pm": 200,
}
HALF_HOUR_S = 1800
THREE = {19: 6250, 21: 6250, 23: 6250}


def rows(readings, pulses=(), ladder=0):
    """Records every half hour: (time, head, [pot]); pulses: {number of the record: ms}."""
    head = {"temp_cdeg": 2000, "rh_pm": 500, "lx": 100, "battery_mv": 3900}
    pulses = dict(pulses)
    return [
        (number * HALF_HOUR_S, head, [{"pm": pm, "ladder": ladder, "pulse_ms": pulses.get(number, 0)}])
        for number, pm in enumerate(readings)
    ]


def test_a_filter_that_waits_long_is_as_unsure_as_the_closed_form():
    # A random walk read with an error: the variance before a reading tends to q/2 + sqrt(q^2/4 + q r).
    one = belief.Belief(500, 1e-6)
    for _ in range(500):
        one.read(500)
        one.pass_time(HALF_HOUR_S, 0)
    walk, error = belief.WANDERS_PM**2 / 2, belief.READS_PM**2
    assert one.spread[0][0] == pytest.approx(walk / 2 + math.sqrt(walk**2 / 4 + walk * error), rel=1e-3)
    assert one.at[0] == pytest.approx(500)


def test_water_reaches_the_probe_in_part_and_none_is_lost():
    one = belief.Belief(500, 1e-6)
    one.water(100)
    one.pass_time(belief.SPREADS_S, 0)
    assert one.at[0] == pytest.approx(500 + 100 * (1 - math.exp(-1)))
    assert one.at[0] + one.at[1] == pytest.approx(600)
    assert one.spread[0][1] == pytest.approx(one.spread[1][0])


def test_a_dose_that_lifts_its_pot_came_and_one_that_does_not_did_not():
    # 25 ml of 500 are 50 pm. A probe may see so little of one pulse that it alone condemns nothing.
    before = [700] * 20
    came = belief.doses(rows([*before, *[745] * 40], {19: 6250}), 0, CHANNEL)
    vain = belief.doses(rows([*before, *[698] * 40], THREE), 0, CHANNEL)
    assert [dose.verdict for dose in came] == [True]
    assert [dose.verdict for dose in vain] == [False]
    assert came[0].ended_s < vain[0].ended_s < 20 * HALF_HOUR_S + 12 * 3600
    assert [dose.verdict for dose in belief.doses(rows([*before, *[698] * 40], {19: 6250}), 0, CHANNEL)] == [None]


def test_one_reading_alone_condemns_no_dose_and_none_is_weighed_under_a_ration():
    before = [700] * 20
    assert belief.doses(rows([*before, 700], {19: 6250}), 0, CHANNEL)[0].verdict is None
    rationed = belief.doses(rows([*before, *[745] * 40], {19: 6250}, ladder=1), 0, CHANNEL)
    assert [dose.verdict for dose in rationed] == [None]


def test_without_a_climate_reading_demand_is_what_the_firmware_takes():
    head = {"temp_cdeg": record.NO_TEMP, "rh_pm": 500, "lx": 100, "battery_mv": 3900}
    assert belief._rate(head) == 60


def test_what_is_told_of_a_pot_is_counted_from_its_first_pulse_in_vain():
    readings = [*[700] * 20, *[698] * 40]
    told = beliefrun.told(1, "mint", rows(readings, THREE), 0, CHANNEL, 15 * HALF_HOUR_S, True)
    assert told.struck and 0 < told.vain_h < 12 and told.held_h is None
    assert (told.doses, told.condemned, told.believed, told.held) == (0, 0, 0, False)
    sound = beliefrun.told(1, "mint", rows([*[700] * 20, *[745] * 40], {19: 6250}), 0, CHANNEL, None, False)
    assert not sound.struck and sound.vain_h is None and (sound.doses, sound.condemned) == (1, 0)
    lied = beliefrun.told(1, "mint", rows([*[700] * 20, *[745] * 40], {19: 6250}), 0, CHANNEL, 15 * HALF_HOUR_S, True)
    assert lied.believed == 1


def test_the_report_counts_pots_and_leaves_refused_rigs_out():
    pots = [
        beliefrun.PotTold(1, "a", True, vain_h=2.0, held_h=30.0, doses=9),
        beliefrun.PotTold(1, "b", False, doses=5, condemned=1, held=True),
        beliefrun.PotTold(2, "c", True, vain_h=4.0, held_h=None, believed=1),
    ]
    found = beliefrun.report([pots[:2], None, pots[2:]], "clogged")
    assert (found["rigs"], found["refused"], found["pots"], found["stopped"]) == (3, 1, 3, 2)
    assert found["belief_h"] == {"never": 0, "median": 3.0, "p90": 3.8}
    assert found["firmware_h"] == {"never": 1, "median": 30.0, "p90": 30.0}
    assert (found["doses"], found["condemned"], found["pots_condemned"], found["pots_held"]) == (14, 1, 1, 1)
    assert found["believed"] == 1
    assert beliefrun.report([pots[:2]], "dry")["stopped"] == 0
    assert beliefrun.report([None], "clogged")["belief_h"] == {"never": 0}


def test_a_drawn_rig_is_told_of_by_both_and_the_command_prints_it():
    assert command.TROUBLES == tuple(beliefrun.TROUBLES)
    shown = CliRunner().invoke(bench.command, ["belief", "--rigs", "1", "--seed", "7002", "--no-color"])
    assert shown.exit_code == 0 and "hours until told, median" in shown.stdout, shown.output
    as_json = CliRunner().invoke(
        bench.command, ["belief", "--rigs", "1", "--seed", "7002", "--trouble", "none", "--json"]
    )
    found = json.loads(as_json.stdout)
    assert found["schema"] == beliefrun.SCHEMA and found["stopped"] == 0 and found["doses"] > 10
