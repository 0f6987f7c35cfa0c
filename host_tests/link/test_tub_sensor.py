"""Floats in the tub of a virtual board: its pins, `calibrate tub`, selftest and status, by the real firmware."""

import json
import random
from types import SimpleNamespace

import board_files
import made
import pytest
from potreeve.logic import extra, ledger, reasons, state
from potreeve.logic.tub_marks import marks
from potreeve_tools.link import selftest_tub
from potreeve_tools.owner import calibrate_talk
from potreeve_tools.owner import filler as jug
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.virtual.hands import PRESS_MS
from potreeve_tools.world.faults.kinds import make_fault

FULL = "rp2040_full"
TWO = {"mark1_ml": 450, "mark2_ml": 7500, "mark3_ml": 0, "mark4_ml": 0, "full_ml": 8500, "strip": ()}
TUB = {"mark1_ml": 450, "mark2_ml": 3900, "mark3_ml": 7500, "mark4_ml": 0, "full_ml": 8500}


@pytest.fixture
def roomy(tmp_path):
    """A board file like rp2040_wifi with two floats: its memory takes the logic's vectors, too."""
    return board_files.with_extras(tmp_path, "rp2040_wifi", 'tub_kind = "floats"\ntub_pins = [2, 3]')


@pytest.fixture
def owner(monkeypatch):
    """owner(board): somebody with a jug, who does what is asked."""
    confirm = calibrate_talk.Talk.confirm

    def hire(board):
        filler = jug.Filler(board.world, random.Random(1), scale=True)

        def oblige(self, name, question):
            board.do(filler.confirm, name, question)
            if name == "ready":
                board.press(PRESS_MS)
            return confirm(self, name, question)

        monkeypatch.setattr(calibrate_talk.Talk, "confirm", oblige)
        for name in ("litres", "amount_ul"):
            monkeypatch.setattr(
                calibrate_talk.Talk,
                name,
                lambda self, asked, question, how=getattr(filler, name): board.do(how, asked, question),
            )

    return hire


def files(**changes):
    return {"settings.json": settingsfile.to_json(made.settings(**changes))}


def test_it_is_measured_jug_by_jug_and_kept(plug, potreeve, owner):
    board = plug(files(), board=FULL, awake=5.0)
    owner(board)
    code, out, err = potreeve("calibrate tub --yes", board.port)
    assert code == 0, out + err
    assert "jug by jug" in out and "Done and read back" in err
    true = board.do(lambda: board.world.floats.marks_ml(board.world.reservoir))
    found = json.loads(board_files.on_flash(board)["settings.json"])["tub"]
    assert marks(found) == pytest.approx(true, rel=0.06, abs=60) and found["open_cm2"] == 0
    # Each pump ran once from little water and once from the full tub; the higher it lifts, the less came.
    assert len(board.wiring.pulses) == 6 and 0 < found["share_low_pm"] < found["share_full_pm"]


def test_a_strip_is_measured_mark_by_mark_and_read_as_it_was(plug, potreeve, owner, tmp_path):
    path = board_files.with_extras(tmp_path, "rp2040_wifi", 'tub_kind = "strip"\ntub_pins = [28]')
    board = plug(files(), board=path, awake=5.0)
    owner(board)
    code, out, err = potreeve("calibrate tub --yes", board.port)
    assert code == 0, out + err
    found = json.loads(board_files.on_flash(board)["settings.json"])["tub"]
    assert [number for _, number in found["strip"]] == [0, 1, 2, 3, 4] and len(marks(found)) == 4
    raws = [raw for raw, _ in found["strip"]]
    assert raws == sorted(raws, reverse=True)
    # Measured at the brim it stands above its highest mark; the same board says so.
    again = plug({**files(), "settings.json": board_files.on_flash(board)["settings.json"]}, board=path, awake=5.0)
    again.do(lambda: setattr(again.world.reservoir, "water_ml", 0.9 * again.world.reservoir.capacity_ml))
    told = again.do(lambda: again.world.tub_mark({"tub": found}))
    assert told == 5


def test_who_does_not_want_pumps_to_run_is_not_asked_again(plug, potreeve, owner, tmp_path):
    board = plug(files(), board=FULL, awake=5.0)
    owner(board)
    answers = tmp_path / "tub.toml"
    answers.write_text("shares = false\n")
    code, out, err = potreeve(f"calibrate tub --yes --answers '{answers}'", board.port)
    assert code == 0, out + err
    found = json.loads(board_files.on_flash(board)["settings.json"])["tub"]
    assert board.wiring.pulses == [] and (found["share_full_pm"], found["share_low_pm"]) == (1000, 0)


def test_a_float_that_sticks_or_too_little_water_changes_nothing(plug, potreeve, owner):
    board = plug(files(), board=FULL, awake=5.0, faults=(make_fault("float_stuck_down", 0.0, place=1),))
    owner(board)
    code, _, err = potreeve("calibrate tub --yes", board.port)
    assert code == exits.FAILED and "that 1 of 3 is up" in err and "sticks down" in err and "Nothing was changed" in err


def test_a_board_without_one_says_so(plug, potreeve):
    board = plug(files())
    code, _, err = potreeve("calibrate tub --yes", board.port)
    assert code == exits.FAILED and "tub_pins" in err


def test_answers_from_a_file_are_checked(plug, potreeve, tmp_path):
    board = plug(files(), board=FULL, awake=5.0)
    board.do(jug.Filler(board.world, random.Random(1)).confirm, "empty", "")
    answers = tmp_path / "tub.toml"
    answers.write_text('empty = true\npoured_ml = "a lot"\n')
    code, _, err = potreeve(f"calibrate tub --answers '{answers}'", board.port)
    assert code == exits.BAD_INPUT and "poured_ml = 'a lot'" in err and "1.5 l" in err


@pytest.mark.parametrize(
    ("table", "told", "verdict", "seen"),
    [
        (TWO, 3, "good", "the lowest first: up up"),
        (TWO, 2, "bad", "down up: that can't be"),
        (None, 3, "note", "never measured"),
        (TUB, 3, "bad", "the settings know 3 of them"),
        (TWO, ["!", "OSError(5)"], "bad", "can't be read: OSError(5)"),
    ],
)
def test_selftest_names_it(table, told, verdict, seen):
    """What selftest makes of what the board read."""
    board = {"extras": {"tub_kind": "floats", "tub_pins": [2, 3]}}
    facts = SimpleNamespace(settings={"tub": table} if table else {}, board=board)
    found = []
    selftest_tub.check({"tub": told}, facts, lambda name, *more: found.append(more))
    assert found[0][0] == verdict and seen in found[0][1]
    selftest_tub.check({}, facts, lambda name, *more: found.append(more))
    assert len(found) == 1


def test_status_tells_how_long_it_lasts_and_what_is_wrong(plug, potreeve, roomy):
    now = state.fresh(3)
    now.rig.memory = 0
    now.extra = extra.fresh()
    now.extra.tub_mark = now.extra.tub_seen = 2
    now.extra.tub_days, now.extra.tub_note = 5, reasons.TUB_LOW
    board = plug({**files(), ledger.SLOTS[0]: ledger.encode(7, now)}, board=roomy)
    code, out, err = potreeve("status", board.port)
    assert code == exits.FAILED, out + err  # something needs a person
    assert "Tub: water for 4 days, 1 mark reached." in out and "a week or less" in out
    code, out, _ = potreeve("status --json", board.port)
    found = json.loads(out)["tub"]
    assert (found["mark"], found["left_d"], found["note"], found["do"]) == (2, 4, "tub_low", "fill the tub")
