"""There is one way from a person's hands to settings: `settings new`, then `calibrate`. A second one makes these
fail."""

import ast
from pathlib import Path

import pytest
from potreeve.logic import settings as logic
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import calibrate_probe, calibrate_pump, commission, recipe
from potreeve_tools.world.rigfile import load_rig

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "tools" / "potreeve_tools"
KEYS = {row[0] for row in logic.CHANNEL_KEYS} - {"name", "plant"}

# Where a channel's settings may be written down: the recipe and what a calibration found.
MAKERS = {"owner/recipe.py", "owner/calibrate_probe.py", "owner/calibrate_pump.py"}
# Rigs of proofs, in round numbers: nobody's pots, never rehearsed.
PROOFS = {"bench/plainrig.py", "bench/mutantwalk.py"}
# Those that take away what can't be kept: of a copy for another board, of a tour that begins uncalibrated.
CHANGERS = {"link/settings_restore.py", "pictures/tour.py"}


def keys_written(tree):
    """Channel keys that a module writes: in dict displays, as keyword arguments of dict() or update(), by subscript."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Dict):
            found |= {key.value for key in node.keys if isinstance(key, ast.Constant)}
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in (
            "dict",
            "update",
        ):
            found |= {word.arg for word in node.keywords}
        elif isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Subscript) and isinstance(target.slice, ast.Constant):
                    found.add(target.slice.value)
    return found & KEYS


def modules():
    return {path.relative_to(PACKAGE).as_posix(): path for path in sorted(PACKAGE.rglob("*.py"))}


def test_nobody_else_writes_a_channels_settings():
    for name, path in modules().items():
        written = keys_written(ast.parse(path.read_text(encoding="utf-8")))
        if name not in MAKERS | PROOFS | CHANGERS:
            assert len(written) < 2, f"{name} writes {sorted(written)}: let owner.recipe or owner.calibrate_* do it"


def test_nobody_else_makes_a_curve():
    """Only owner.calibration knows the law of a probe; only calibrate_probe calls it."""
    for name, path in modules().items():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        calls = {
            node.func.attr
            for node in ast.walk(tree)
            if isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and getattr(node.func.value, "id", "") == "calibration"
        }
        makes = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
        if name != "owner/calibrate_probe.py":
            assert not calls & {"ends", "curve", "add_point", "air_pm"}, name
        if name != "owner/calibration.py":
            assert not makes & {"make_curve", "curve", "law_raw", "_cup", "_low_cup"}, name


def test_these_tests_can_fail():
    second = "table = {'holds_ml': 500, 'wilting_pm': 280, 'curve': [[50000, 0], [20000, 1000]]}"
    assert keys_written(ast.parse(second)) == {"holds_ml", "wilting_pm", "curve"}
    assert keys_written(ast.parse("t.update(curve=(), pump_ul_s=4)")) == {"curve", "pump_ul_s"}
    assert keys_written(ast.parse("t['pulse_ml'] = 4")) == {"pulse_ml"}


def test_the_rehearsals_owner_goes_through_the_commands_own_code(monkeypatch):
    """What recipe, calibrate_probe and calibrate_pump say is what the settings hold, for every pot."""
    said = []

    def overhear(where, name):
        own = getattr(where, name)

        def heard(*args, **more):
            found = own(*args, **more)
            said.append((name, found))
            return found

        monkeypatch.setattr(where, name, heard)

    for where, name in (
        (recipe, "make"),
        (calibrate_probe, "anchors"),
        (calibrate_pump, "run"),
        (calibrate_probe, "point"),
    ):
        overhear(where, name)
    board = boards.load("rp2040_wifi").device_dict()
    weighed = 0
    for seed in range(6):
        said.clear()
        settings = commission.make_settings(load_rig(), board, seed)
        assert [name for name, _ in said][:7] == ["make"] + ["anchors", "run"] * 3
        new, points = said[0][1], [found[0] for name, found in said[7:]]
        weighed += len(points)
        for index, table in enumerate(settings["channels"]):
            found = {**new["channels"][index], **said[1 + 2 * index][1][0], **said[2 + 2 * index][1][0]}
            for curve in [found["curve"], *(point["curve"] for point in points)]:
                if list(table["curve"]) == list(curve):
                    found["curve"] = curve
            clean, _ = logic.check({**new, "channels": [found]})
            assert table == clean["channels"][0]
    assert weighed >= 3, "some owners have a kitchen scale"


@pytest.mark.parametrize("seed", range(3))
def test_an_owner_sees_the_pot_only_through_ruler_bag_scale_and_cup(monkeypatch, seed):
    """Whatever a pot truly holds, and what its plant truly stands, stays unknown: the settings do not change with
    it."""
    from potreeve_tools.world.pot import Pot

    rig = load_rig()
    board = boards.load("rp2040_wifi").device_dict()
    known = commission.make_settings(rig, board, seed)
    for hidden in ("wilting_pm", "refill_pm", "allowed_depletion", "theta_wilting"):
        monkeypatch.setattr(Pot, hidden, property(lambda pot: 1 / 0))
    assert commission.make_settings(rig, board, seed) == known
