"""All pots calibrated in one sitting, by a person who takes as long as the instructions say, and whose cable may be
pulled."""

import contextlib
import json
import re
import shutil
import tempfile
import time

import board_files
import click
import pytest
from potreeve_tools.image import compiled
from potreeve_tools.image.places import FIRMWARE
from potreeve_tools.link import awake, calibrate_todo, talking
from potreeve_tools.owner import commission
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits, screen
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.hands import Hands
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

AWAKE = 10.0
"""Simulated seconds per real second."""
SERVICE_S = 25
"""So long service lasts on these boards when nobody talks; 15 minutes on others, and a person needs more than an
hour."""
SLOW_S = 4.5 * SERVICE_S


@pytest.fixture(scope="module")
def bare():
    """Files of a board whose settings were pushed, and nothing calibrated."""
    made = commission.make_settings(load_rig(DEFAULT_RIG), board_files.figures(), 1)
    channels = [{**table, "curve": (), "pump_ul_s": 0, "pump_cal_mv": 0, "prime_ms": 500} for table in made["channels"]]
    return {"settings.json": settingsfile.to_json({**made, "channels": channels})}


@pytest.fixture(scope="module")
def impatient(bare, tmp_path_factory):
    """Files of such a board whose service ends sooner than others'."""
    firmware = tmp_path_factory.mktemp("impatient") / "firmware"
    shutil.copytree(FIRMWARE, firmware, ignore=shutil.ignore_patterns("__pycache__"))
    path = firmware / "potreeve" / "logic" / "servicing.py"
    text = path.read_text()
    assert text.count("IDLE_S = ") == 2
    path.write_text(re.sub(r"IDLE_S = \d+", f"IDLE_S = {SERVICE_S}", text))
    # All modules: constants stand in place in those that use them.
    return {**bare, **{f"/{name}": data for name, data in compiled.files(firmware).items()}}


class Person:
    """Somebody at the rig who does what is asked and takes their time. `asked`: the questions, in their order."""

    def __init__(self, board, takes_s):
        self.board, self.takes_s, self.hands, self.asked = board, takes_s, Hands(board), []
        self.after = lambda person, question: None

    def answer(self, question):
        """Do it, slowly, then say yes."""
        self.asked.append(question)
        pots = [channel.name for channel in self.board.world.channels]
        named = next((index for index, name in enumerate(pots) if name in question), None)
        if "in the air" in question:
            self.hands.lift(named)
        elif "Soaked" in question:
            for index in range(len(pots)):
                self.hands.soak(index)
            self.take_time()
        elif "run back" in question:
            return self.hands.runs_back(named)
        elif "run " in question or "Try again" in question:
            self.hands.take_cup()
            self.board.press(300)
        self.after(self, question)
        return True

    def amount(self, question):
        self.asked.append(question)
        return f"{sum(self.hands.cup_ml()):.0f} g"

    def take_time(self):
        time.sleep(self.takes_s / AWAKE)


@pytest.fixture
def person(monkeypatch):
    """person(board, takes_s) -> somebody who sits at the terminal."""

    def sit_down(board, takes_s=0):
        one = Person(board, takes_s)
        monkeypatch.setattr(screen, "is_terminal", lambda stream: hasattr(stream, "read"))
        monkeypatch.setattr(click, "confirm", lambda question, **options: one.answer(question))
        monkeypatch.setattr(click, "prompt", lambda question, **options: one.amount(question))
        monkeypatch.setattr(awake, "EVERY_S", 0.25)
        monkeypatch.setattr(talking, "TOUCH_S", 0.0)
        return one

    return sit_down


def held(board):
    """{name: bytes} of the data folder of a board that goes on running."""
    with tempfile.TemporaryDirectory() as folder:
        place = shutil.copy(board.image, f"{folder}/copy.img")
        with imagefile.Image(place, board.board["flash"]) as image:
            return {name.removeprefix("data/"): data for name, data in image.files().items()}


def settings_on(board):
    return json.loads(held(board)["settings.json"])["channels"]


def test_a_board_stays_in_service_while_a_person_soaks_a_pot(plug, potreeve, person, impatient):
    board = plug(impatient, awake=AWAKE)
    slow = person(board, SLOW_S)
    code, out, err = potreeve("calibrate probe --channel mint", board.port)
    assert code == exits.OK, out + err
    assert len(settings_on(board)[0]["curve"]) == 6
    assert any("Soaked" in question for question in slow.asked)


@pytest.mark.slow
def test_without_that_it_would_not(plug, potreeve, person, impatient, monkeypatch):
    board = plug(impatient, awake=AWAKE)
    person(board, SLOW_S)
    monkeypatch.setattr(awake, "kept", lambda link: contextlib.nullcontext())
    code, _, err = potreeve("calibrate probe --channel mint", board.port)
    assert code == exits.NO_ANSWER, err


def test_both_ends_of_all_pots_and_their_pumps_in_one_sitting(plug, potreeve, person, bare):
    board = plug(bare, awake=AWAKE)
    owner = person(board)
    code, out, err = potreeve("calibrate", board.port)
    assert code == exits.OK, out + err
    tables = settings_on(board)
    assert all(len(table["curve"]) == 6 and table["pump_ul_s"] > 1000 for table in tables)
    air = [at for at, question in enumerate(owner.asked) if "in the air" in question]
    soaked = [at for at, question in enumerate(owner.asked) if "Soaked" in question]
    assert len(air) == 3 and len(soaked) == 1 and max(air) < soaked[0]
    # The pots drain for an hour: meanwhile the pumps are measured.
    cups = [at for at, question in enumerate(owner.asked) if "run " in question]
    assert max(air) < min(cups) and max(cups) < soaked[0]
    # A second call has nothing to do but the first drop.
    before = len(owner.asked)
    code, out, err = potreeve("calibrate", board.port)
    assert code == exits.OK and len(owner.asked) == before
    assert "to do" not in out and "calibrate drop" in out, out


def test_what_is_still_to_do_is_shown_and_nothing_is_asked_where_nobody_is(plug, potreeve, bare):
    board = plug(bare, awake=AWAKE, settle=False)
    code, out, err = potreeve("calibrate", board.port)
    assert code == exits.OK and err == ""
    assert out.count("to do") == 9 and "cherry tomato" in out
    code, out, _ = potreeve("calibrate --json", board.port)
    told = json.loads(out)
    assert [row["name"] for row in told["pots"]] == ["mint", "strawberry", "cherry tomato"]
    assert told["pots"][0] == {"name": "mint", "dry": None, "wet": None, "pump": None}
    assert told["next"] == "dry"


def test_it_goes_on_where_the_cable_was_pulled(plug, potreeve, person, bare):
    board = plug(bare, awake=AWAKE)
    owner = person(board)

    def pull(one, question):
        if "cherry tomato" in question:
            one.board.unplug()

    owner.after = pull
    code, out, err = potreeve("calibrate", board.port)
    assert code == exits.NO_ANSWER and "repeat the command: it goes on where it stopped" in err, out + err
    assert [table["curve"] for table in settings_on(board)] == [[], [], []]
    board.plug()
    owner.after, owner.asked = lambda one, question: None, []
    code, out, err = potreeve("calibrate", board.port)
    assert code == exits.OK, out + err
    air = [question for question in owner.asked if "in the air" in question]
    assert len(air) == 1 and "cherry tomato" in air[0], "the other two dry ends were kept"
    assert all(table["curve"] for table in settings_on(board))


def test_a_person_is_told_at_once_that_the_board_has_gone(plug, potreeve, person, bare, monkeypatch):
    """Not only after an hour's draining."""
    board = plug(bare, awake=AWAKE)
    owner = person(board)
    told, before_the_answer = [], []
    monkeypatch.setattr(awake, "tell", told.append)

    def pull(one, question):
        if "Soaked" in question:
            one.board.unplug()
            until = time.monotonic() + 10
            while not told and time.monotonic() < until:
                time.sleep(0.05)
            before_the_answer.extend(told)

    owner.after = pull
    code, _, err = potreeve("calibrate probe", board.port)
    assert code == exits.NO_ANSWER and "the cable was pulled" in err
    assert len(before_the_answer) == 1 and "the board is gone" in before_the_answer[0]


@pytest.mark.parametrize("part", ["--dry", "--wet"])
def test_one_end_alone(plug, potreeve, person, bare, part):
    board = plug(bare, awake=AWAKE)
    owner = person(board)
    code, out, err = potreeve(f"calibrate probe --channel mint {part}", board.port)
    if part == "--wet":
        assert code == exits.FAILED and "dry end first" in err, out + err
        return
    assert code == exits.OK and "kept" in out + err
    notes = json.loads(held(board)["calibration.json"])
    assert [note["kind"] for note in notes] == ["air"] and settings_on(board)[0]["curve"] == []
    code, out, err = potreeve("calibrate probe --channel mint --wet", board.port)
    assert code == exits.OK, out + err
    assert len(settings_on(board)[0]["curve"]) == 6 and sum("in the air" in one for one in owner.asked) == 1


def test_a_dry_end_is_used_once(bare):
    settings = json.loads(bare["settings.json"])
    air = {"date": "2026-01-01T00:00:00Z", "kind": "air", "pot": "mint", "set": {}, "air": [57000, 120, 3]}
    probe = {"date": "2026-01-02T00:00:00Z", "kind": "probe", "pot": "mint", "set": {"curve": []}}
    assert calibrate_todo.air_of([air], "mint") == (57000, 120, 3)
    assert calibrate_todo.air_of([air], "strawberry") is None
    assert calibrate_todo.air_of([air, probe], "mint") is None
    assert calibrate_todo.air_of([probe, air], "mint") == (57000, 120, 3)
    rows = calibrate_todo.rows(settings, [air])
    assert rows[0]["dry"] == "2026-01-01" and rows[0]["wet"] is None and rows[1]["dry"] is None
    assert calibrate_todo.next_step(rows) == "dry"


def test_two_ends_that_replace_a_curve_with_points_between_say_so(plug, potreeve, person, bare):
    board = plug(bare, awake=AWAKE)
    person(board)
    assert potreeve("calibrate probe --channel mint", board.port)[0] == exits.OK
    files = held(board)
    notes = json.loads(files["calibration.json"])
    notes[-1]["measured"] = [*notes[-1]["measured"][:1], [40000, 300], [34000, 650], *notes[-1]["measured"][1:]]
    again = plug({"settings.json": files["settings.json"], "calibration.json": json.dumps(notes).encode()}, awake=AWAKE)
    person(again)
    code, out, err = potreeve("calibrate probe --channel mint", again.port)
    assert code == exits.OK and "2 measured points" in out and "one of 4" in out, out


def test_the_pot_as_a_bare_word_gets_a_hint(potreeve):
    for words, hint in (
        ("calibrate probe mint", "potreeve calibrate probe --channel mint"),
        ("calibrate pump cherry tomato", 'potreeve calibrate pump --channel "cherry tomato"'),
    ):
        code, _, err = potreeve(words)
        assert code == exits.BAD_INPUT and hint in err, err
