"""`bench alive`: rigs that are drawn once, counted honestly, and settings from the product's own commissioning."""

import ast
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from potreeve.logic import reasons, signals
from potreeve.logic.state import HELD, RATIONED, TENDED
from potreeve_tools.bench import alive, alivedraw, aliveloop, alivereport, alivewatch
from potreeve_tools.commands.bench import command
from potreeve_tools.mishaps import calls
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.plants import PLANTS
from potreeve_tools.world.rigfile import check_rig, footprint_cm2
from potreeve_tools.world.world import World

DRAWS = [alivedraw.draw(seed) for seed in range(10_001, 10_201)]
DAY_S = 86400


def test_a_rig_is_drawn_the_same_again_and_passes_its_own_file():
    assert alivedraw.draw(10_001) == DRAWS[0]
    for drawn in DRAWS:
        check_rig(drawn.data, "drawn")


def test_what_is_drawn_is_what_an_owner_might_build():
    pots = [(drawn, pot) for drawn in DRAWS for pot in drawn.data["pot"]]
    litres = [alivedraw._ml(pot) / 1000 for _, pot in pots]
    assert min(litres) < 0.4 and max(litres) > 7.0 and all(0.29 < litre < 8.2 for litre in litres)
    assert {pot["plant"] for _, pot in pots} == set(PLANTS)
    assert {pot["substrate"] for _, pot in pots} == {"peat_mix", "coir", "bark_mix", "loam_mix"}
    assert {drawn.board for drawn in DRAWS} == {"esp32", "latched", "rp2040_wifi", "rp2350_wifi"}
    assert {drawn.data["battery"]["chemistry"] for drawn in DRAWS} == {"lithium", "alkaline", "nimh"}
    for drawn, pot in pots:
        assert 0.9 <= pot["pump_ml_s"] <= 33.0
        assert 2.0 <= pot["probe_depth_cm"] < 0.8 * pot["height_cm"]
        tray = drawn.data["tray"]
        times = tray["area_cm2"] / sum(footprint_cm2(one) for one in drawn.data["pot"])
        assert 1.19 <= times <= 2.51 and 15 <= tray["wall_mm"] <= 50
        assert not drawn.data.get("fault")


def test_a_part_that_draws_more_shifts_no_other(monkeypatch):
    before = alivedraw.draw(10_007)
    plain = alivedraw._tray

    def greedy(rng, footprint_cm2):
        tray = plain(rng, footprint_cm2)
        rng.random()
        return tray

    monkeypatch.setattr(alivedraw, "_tray", greedy)
    assert alivedraw.draw(10_007) == before


def test_settings_come_from_the_products_commissioning_alone(monkeypatch):
    """And from one draw: whatever commissioning says is what runs, and what it refuses does not."""
    asked = []

    def refuse(rig, board, seed):
        asked.append((rig.name, board["name"], seed))
        raise BadInput(["rig 10001 [tray]: too small for it; use a larger one"])

    monkeypatch.setattr(alive.commission, "make_settings", refuse)
    result = alive.one(10_001, days=1)
    assert asked == [("drawn 10001", DRAWS[0].board, 10_001)]
    assert result.refused and not result.pots and not result.loop
    found = alivereport.report([result])
    assert found["refused"] == {"rigs": 1, "seeds": [10_001], "reasons": {"too small for it; use a larger one": 1}}
    assert any("refused" in line for line in found["missed"])


@pytest.mark.parametrize("on_feet", [False, True])
def test_pots_on_feet_are_commissioned_as_such(monkeypatch, on_feet):
    make, made = alive.commission.make_settings, []
    monkeypatch.setattr(alive.commission, "make_settings", lambda *told: made.append(make(*told)) or made[-1])
    result = alive.one(10_009, days=1, on_feet=on_feet)
    assert result.pots and [one["pots_in_tray"] for one in made] == [not on_feet]
    assert alivereport.report([result], on_feet=on_feet)["on_feet"] is on_feet


def test_no_second_way_of_drawing_or_commissioning():
    """The bench imports the product's commissioning, and nothing that makes settings or curves by itself."""
    folder = Path(alive.__file__).parent
    for path in folder.glob("alive*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) for alias in node.names}
        assert not names & {"make_curve", "settings_logic", "swarmdraw", "settings"}, path.name
        called = {
            node.func.attr for node in ast.walk(tree) if isinstance(node, ast.Call) and hasattr(node.func, "attr")
        }
        assert not called & {"calibrate", "make_curve", "check"}, path.name
        assert ("make_settings" in called) == (path.name == "alive.py")


def a_world(seed=10_001, **more):
    drawn = alivedraw.draw(seed)
    for pot in drawn.data["pot"]:
        pot.update(more)
    return World(check_rig(drawn.data, "drawn"), {"name": "test", "mcu": "rp2040"}, seed)


def test_an_unwatered_pot_is_counted_dry_and_then_dead():
    world = a_world(plant="strawberry", leaf_area_cm2=900.0, start_pm=600.0)
    watch = alivewatch.Watch(world, lambda: (None, False))
    world.advance(80 * DAY_S)
    hours, pot = watch.pots[0], world.channels[0].pot
    assert not pot.alive and hours.died_s and hours.why == "dried out"
    assert hours.hours == 80 * 24 and hours.dry > 48
    assert hours.in_band + hours.dry <= hours.died_s / 3600 and hours.over == hours.soaked == 0


def test_a_drowned_pot_is_over_its_band():
    world = a_world(start_pm=1000.0)
    watch = alivewatch.Watch(world, lambda: (None, False))
    for channel in world.channels:
        channel.pot.spec = channel.pot.spec.__class__(**{**vars(channel.pot.spec), "drainage_hole": False})
        channel.pot.add_water(5000.0)
    world.advance(DAY_S)
    assert all(pot.over >= 20 and pot.soaked >= 20 and pot.in_band <= 4 for pot in watch.pots)


def test_the_caretaker_fills_the_tub_and_changes_the_battery_when_told():
    world = a_world()
    told = [(30, False)]
    watch = alivewatch.Watch(world, lambda: told[0])
    world.removed_ml += world.reservoir.take(1000.0)
    world.battery.left_mah = 10.0
    world.advance(DAY_S)
    assert world.reservoir.water_ml == pytest.approx(0.9 * world.reservoir.capacity_ml, rel=0.01)
    assert watch.batteries == 0 and abs(world.balance_error_ml()) < 0.01
    for told[0] in ((7, False), (300, True)):
        world.battery.left_mah = 10.0
        world.advance(DAY_S)
        assert world.battery.left_mah > 1000.0 and world.board_events.popleft()[1] == "reset"
    assert watch.batteries == 2


def row(t_d, ladder=TENDED, reason=reasons.NONE, alarm=signals.CALM, hold=0, days_left=99):
    head = {
        "tub_note": 0,
        "tub_days": 0,
        "hold": hold,
        "alarm": alarm,
        "memory": 0,
        "errors": 0,
        "days_left": days_left,
    }
    return t_d * DAY_S, head, [{"ladder": ladder, "reason": reason}]


def test_a_death_is_announced_by_a_call_three_days_before_that_goes_on():
    calling = {"ladder": HELD, "alarm": signals.CALL}
    long = [row(day / 4, **calling) for day in range(0, 17)]
    assert alive.announced(0, long, 4.0 * DAY_S)
    assert not alive.announced(0, long[8:], 4.0 * DAY_S)  # two days
    silent = [row(4.25 + day / 4) for day in range(5)]
    assert not alive.announced(0, long + silent, 5.5 * DAY_S)
    assert not alive.announced(
        0, [row(day / 4, **{**calling, "alarm": signals.NOTE}) for day in range(17)], 4.0 * DAY_S
    )
    broken = long[:6] + [row(day / 4) for day in range(6, 12)] + long[12:]  # a gap of a day and a half
    assert not alive.announced(0, broken, 4.0 * DAY_S)
    flashes = [row(day / 4, **(calling if day % 4 == 0 else {})) for day in range(17)]  # six hours of each day
    assert not alive.announced(0, flashes, 4.0 * DAY_S)
    assert not alive.announced(0, [], 4.0 * DAY_S)


def test_a_call_for_another_pot_does_not_count_for_this_one():
    head = row(1, alarm=signals.CALL)[1]
    assert not calls.names_pot((0.0, head, [{"ladder": TENDED, "reason": reasons.NONE}]), 0)
    assert calls.names_pot((0.0, head, [{"ladder": TENDED, "reason": reasons.DRY}]), 0)
    assert calls.names_pot((0.0, head, [{"ladder": RATIONED, "reason": reasons.STILL}]), 0)
    assert calls.names_pot((0.0, {**head, "days_left": 3}, [{"ladder": TENDED, "reason": reasons.NONE}]), 0)


def test_hours_on_the_lower_rungs_and_their_longest_run():
    rows = [row(hour / 24, HELD if 10 <= hour < 40 else RATIONED if hour < 5 else TENDED) for hour in range(60)]
    pot = alive.PotResult("a", "mint", "coir", 1000, 99.0, 0, 0, 0)
    alive._rungs(pot, 0, rows, 60 * 3600.0)
    assert (pot.held_h, pot.rationed_h, pot.longest_h) == (30.0, 5.0, 30.0)
    whole = [row(hour / 24, hold=reasons.OWNER) for hour in range(10)]
    alive._rungs(pot, 0, whole, 12 * 3600.0)
    assert (pot.held_h, pot.longest_h) == (12.0, 12.0)


def test_percentiles_lie_on_the_line_between():
    assert alivereport.percentile([0.0, 10.0], 5) == 0.5 and alivereport.percentile([7.0], 5) == 7.0


def result(**more):
    pot = {"in_band_pct": 99.0, "dry_h": 0, "over_h": 0, "soaked_h": 0, **more}
    return alive.RigResult(1, "esp32", pots=[alive.PotResult("a", "mint", "coir", 900, **pot)])


def test_targets_can_be_missed_each_for_itself():
    assert alivereport.report([result()])["missed"] == []
    for more, word in (
        ({"died_d": 9.0, "why": "dried out"}, "deaths"),
        ({"longest_h": 24.5}, "holds_over_a_day"),
        ({"in_band_pct": 97.0}, "median"),
        ({"in_band_pct": 80.0}, "p5"),
    ):
        found = alivereport.report([result(**more)])
        assert any(word in line for line in found["missed"]), word
    flooded = result()
    flooded.floods, flooded.spilled_ml = 1, 12.0
    assert any("floods" in line for line in alivereport.report([flooded])["missed"])
    broke = alive.RigResult(2, "esp32", broke="ValueError: x")
    assert any("broke off" in line for line in alivereport.report([result(), broke])["missed"])


def test_the_loop_waters_below_its_refill_point_and_never_stops():
    drawn = alivedraw.draw(10_001)
    rig = check_rig(drawn.data, "drawn")
    channel = {
        "wilting_pm": 200,
        "depletion_pm": 300,
        "pulse_ml": 5,
        "pump_ul_s": 4000,
        "prime_ms": 0,
        "tube_full_h": 0,
    }
    board = {"name": "test", "mcu": "rp2040"}
    for curve, pulses in (([[60000, 0], [100, 50]], 48), ([[60000, 900], [100, 990]], 0)):
        settings = {"channels": [{**channel, "curve": curve} for _ in rig.pots], "wake_s": 1800}
        _, world = aliveloop.run(rig, board, 10_001, settings, 1)
        assert {c.pulses for c in world.channels} <= {pulses, pulses - 1}, curve


def test_the_command_counts_and_says_no():
    done = CliRunner().invoke(command, ["alive", "--rig-seed", "10001", "--days", "2", "--json"])
    found = json.loads(done.stdout)
    assert found["schema"] == "potreeve-alive/1" and found["rigs"] == 1
    assert set(found) >= {
        "refused", "pots", "deaths", "unannounced_deaths", "holds_over_a_day", "in_band_pct_median", "in_band_pct_p5",
        "floods", "rival", "worst",
    }  # fmt: skip
    assert set(found["rival"]) >= {"pots", "deaths", "in_band_pct_median", "in_band_pct_p5", "floods"}
    assert done.exit_code == (1 if found["missed"] else 0)
    again = CliRunner().invoke(command, ["alive", "--rig-seed", "10001", "--days", "2", "--json", "--pots"])
    assert json.loads(again.stdout)["in_band_pct_median"] == found["in_band_pct_median"]
    assert json.loads(again.stdout)["detail"][0]["seed"] == 10001
