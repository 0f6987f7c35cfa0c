"""The swarm: seeds that can be drawn again, a judge that can say no, a shrink that keeps the fault."""

import math
import random
import tomllib

import pytest
from potreeve.logic import limits
from potreeve_tools.bench import alivedraw, swarm, swarmdraw, swarmshrink
from potreeve_tools.boards import boardfile
from potreeve_tools.mishaps import scenario
from potreeve_tools.mishaps.findings import Death, Finding
from potreeve_tools.world.faults.kinds import KINDS, parse_faults

RIG = swarm.rig_mapping()
BROKEN = Finding("W2", "over_day", 0, "mint", 3600.0, {"ml": 210.0, "cap_ml": 200})


def test_a_seed_draws_the_same_scenario_again_and_another_seed_another():
    assert swarmdraw.draw(7, RIG) == swarmdraw.draw(7, RIG)
    assert swarmdraw.draw(7, RIG) != swarmdraw.draw(8, RIG)


def test_what_is_drawn_varies_in_every_respect():
    drawn = [swarmdraw.draw(seed, RIG) for seed in range(40)]
    assert {data["pots"] for data in drawn} == {1, 2, 3}
    assert {data["board"] for data in drawn} == set(boardfile.DRAWN)
    assert {data["rig"]["site.data"] for data in drawn} == {"greensboro", "sand-point"}
    assert {data["rig"]["battery.chemistry"] for data in drawn} == {pack[0] for pack in alivedraw.PACKS}
    assert {len(data["fault"]) for data in drawn} == {1, 2, 3}
    assert len({fault["kind"] for data in drawn for fault in data["fault"]}) > 20
    assert any(data["person"] for data in drawn)


def test_settings_are_the_products_own_unless_an_owner_edits_them():
    """A plant that starves under figures which nobody but the draw chose says nothing of the product."""
    for seed in range(12):
        plain, edited = swarmdraw.draw(seed, RIG), swarmdraw.draw(seed, RIG, edited=True)
        assert plain["settings"] == {} and {**edited, "settings": {}} == plain
    assert any(swarmdraw.draw(seed, RIG, edited=True)["settings"] for seed in range(3))


def test_the_rig_is_one_that_bench_alive_might_draw():
    data = swarmdraw.draw(7, RIG)
    rig = scenario.the_rig(scenario.check(data, data["name"] + ".toml"), RIG, "the swarm's rig")
    drawn = [alivedraw.draw(f"swarm 7.{attempt}").data for attempt in range(20)]
    (same,) = [one for one in drawn if one["rig"]["name"] == rig.rig["name"]]
    for table in ("window", "tray", "reservoir", "battery", "electronics"):
        assert {key: getattr(rig, table)[key] for key in same[table]} == same[table], table
    for pot, told in zip(rig.pots, same["pot"], strict=True):
        assert {key: pot[key] for key in told} == told


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_of_mishap_can_be_drawn(kind):
    drawn = [swarmdraw._faults(random.Random(seed), 3, (kind,)) for seed in range(20)]
    tables = [table for tables in drawn for table in tables]
    faults, wrong = parse_faults(tables, 3, "drawn")
    assert wrong == [] and {fault.kind for fault in faults} == {kind}
    assert KINDS[kind].instant or any(fault.end_s < math.inf for fault in faults)


def test_a_scenario_written_down_is_the_one_that_ran(tmp_path):
    data = swarmdraw.draw(12, RIG)
    path = tmp_path / "swarm_12.toml"
    path.write_text(swarmshrink.to_toml(data, 12, [BROKEN]), encoding="utf-8")
    written = tomllib.loads(path.read_text(encoding="utf-8"))
    assert {key: value for key, value in written.items() if value} == {
        key: value for key, value in {**data, "seed": 12}.items() if value
    }
    assert scenario.load(path).seeds([1, 2, 3]) == (12,), "it shows only as chance had it then"


def thirsty():
    """Twelve days of the reading room, with a sip of water a day allowed."""
    return {
        "name": "swarm_0",
        "title": "for this test",
        "about": "One pot, two mishaps that change nothing.",
        "days": 12,
        "start": "2026-06-01",
        "board": "rp2040_wifi",
        "pots": 1,
        "rig": {"pot.0.start_pm": 600, "tray.wall_mm": 16},
        "settings": {"rig_day_ml": 30, "channels.0.pulse_ml": 20, "insist": True},
        "fault": [
            {"kind": "daylight_saving", "start_h": 30.0},
            {"kind": "light_silent", "start_h": 40.0, "end_h": 50.0},
        ],
        "person": [{"kind": "button", "start_h": 60.0, "hold_ms": 300.0}],
        "expects": {},
    }


def test_a_firmware_that_ignores_a_cap_is_broken_and_shrinks_to_little(monkeypatch):
    whole = swarm.run_data(thirsty(), 1)
    assert "W2" not in {finding.law for finding in whole.broken} and whole.pulses > 3
    monkeypatch.setattr(limits, "room_ul", lambda rig, pots, index, settings: (10**7, limits.POT_DAY))
    said = []
    result = swarm.run_data(thirsty(), 1)
    floods = [finding for finding in result.broken if finding.law == "W2"]
    assert floods
    small, broken = swarmshrink.shrink(thirsty(), 1, floods, said.append, runs=16)
    assert "W2" in {finding.law for finding in broken}
    assert len(small["fault"]) == 1 and small["person"] == [] and small["days"] < 12
    assert len(small["settings"]) + len(small["rig"]) < 4
    assert said


def test_a_report_adds_up():
    died = [Death(0, "mint", 9e5, "probe", 4e5), Death(1, "basil", 9e5, "probe", None)]
    results = [
        swarm.Result(1, [], {"siphon": 2}, 86400.0, 0.5, 48, 3, excused=[Finding("", "flooded")], pots=2),
        swarm.Result(2, [BROKEN, BROKEN], {"siphon": 0}, 86400.0, 0.5, 48, 3, died=died, pots=3),
    ]
    found = swarm.report(results, 1.5)
    assert found["seeds"] == 2 and found["simulated_days"] == 2.0
    assert found["time_compression_per_core"] == 172800
    (one,) = found["broken"]
    assert one["seed"] == 2 and one["rerun"] == "potreeve bench swarm --seed 2"
    assert one["what"] == ["W2: d1 01:00 mint: 210 ml within 24 h, cap 200 ml"] * 2
    assert one["findings"][0]["code"] == "over_day" and one["deaths"][1]["announced"] is False
    assert found["mishaps"] == {"siphon": {"drawn": 2, "made_a_difference": 1}}
    assert (found["pots"], found["pots_dead"], found["unannounced_deaths"]) == (5, 2, 1)
    assert found["deaths"] == {"probe": {"announced": 1, "unannounced": 1}}
    assert found["laws_broken"] == {"W2": 1} and found["excused"] == {"flooded": 1}
