"""The day on which a board began: it says why it gives no water and until when, and gives a witnessed first drop."""

import json

import board_files
import made
import pytest
from potreeve.logic import ledger, limits, state
from potreeve_tools.link import water_wait
from potreeve_tools.owner import commission
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.virtual.hands import Hands
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

AWAKE = 5.0
NOW_S = 1795600000


@pytest.fixture(scope="module")
def commissioned():
    return commission.make_settings(load_rig(DEFAULT_RIG), board_files.figures(), 1)


def begun(settings, memory=0):
    """Files of a board that began an hour ago, and whose tray was then seen to be empty."""
    now = state.fresh(len(settings["channels"]))
    limits.fill_day(now.pots, settings)
    now.rig.memory, now.rig.tray_ul, now.rig.up_s, now.rig.utc_s = memory, 0, 3600, NOW_S
    if memory:
        now.rig.tray_ul = settings["tray_headroom_ml"] * 1000
    return now


def files_of(settings, now):
    return {"settings.json": settingsfile.to_json(settings), "ledger.a": ledger.encode(1, now)}


def test_how_long_the_day_counts_as_given():
    settings = made.settings()
    now = begun(settings)
    wait_s = water_wait.wait_s(settings, now, 0)
    # Twelve full buckets after the one in which it began; the accounts of the firmware itself say when.
    assert wait_s == limits.BUCKETS * limits.BUCKET_S - 3600 and 24 * 3600 <= wait_s + 3600 < 27 * 3600
    for later_s, room in ((wait_s - 1, False), (wait_s, True)):
        later = state.copy(now)
        later.rig.bucket_s = limits.roll(later.pots, later.rig.bucket_s, later.rig.up_s + later_s)
        assert (limits.room_ul(later.rig, later.pots, 0, settings)[0] >= limits.LEAST_PULSE_UL) is room
    assert water_wait.only_counted(settings, now, 0)
    why, until = water_wait.sentence(settings, now, 0, NOW_S + 1800)
    assert "without a memory" in why and until.startswith("in about 25 h (")


def test_water_that_was_really_given_is_told_so():
    settings = made.settings()
    now = state.fresh(3)
    now.rig.memory = 0
    limits.spend(now.pots[0], settings["channels"][0]["day_ml"] * 1000)
    now.pots[0].total_ul = 180_000
    assert not water_wait.only_counted(settings, now, 0)
    assert water_wait.sentence(settings, now, 0, NOW_S)[0] == "its water for 24 hours is given"
    assert water_wait.sentence(settings, now, 1, NOW_S) is None and water_wait.wait_s(settings, now, 1) == 0


def test_status_says_why_and_until_when(plug, potreeve, commissioned):
    board = plug(files_of(commissioned, begun(commissioned)))
    _, out, _ = potreeve("status", board.port)
    assert out.count("the board began without a memory") == 3 and "by itself again in about " in out
    assert "potreeve calibrate drop" in out
    told = json.loads(potreeve("status --json", board.port)[1])["pots"][0]["no_water"]
    assert told["only_counted"] is True and 80000 < told["wait_s"] < 100000


def test_the_wiring_check_blames_no_tube_for_it(plug, potreeve, commissioned):
    board = plug(files_of(commissioned, begun(commissioned)))
    code, out, err = potreeve("calibrate wiring --yes --soak 1", board.port)
    assert code == exits.FAILED and board.wiring.pulses == []
    assert "without a memory" in err and "It may be again in about " in err and "potreeve calibrate drop" in err
    assert "no probe answers" not in out + err and "reservoir" not in out + err


@pytest.fixture
def watcher(monkeypatch):
    """watcher(board, presses) -> questions asked of somebody who presses the button (or not), and sees the water
    come (or not)."""
    from potreeve_tools.owner import calibrate_talk

    def stand_by(board, presses=True, comes=True):
        asked, hands = [], Hands(board)

        def confirm(self, name, question):
            asked.append((name, question))
            if name == "drop" and presses:
                board.press(300)
                board.wait(lambda: not board.wiring.is_pressed())
            return comes if name == "came" else True

        monkeypatch.setattr(calibrate_talk.Talk, "confirm", confirm)
        return asked, hands

    return stand_by


def test_a_first_drop_on_the_first_evening(plug, potreeve, commissioned, watcher):
    board = plug(files_of(commissioned, begun(commissioned)), awake=AWAKE)
    asked, hands = watcher(board)
    code, out, err = potreeve("calibrate drop", board.port)
    assert code == exits.OK, out + err
    cups = hands.cup_ml()
    assert all(1 < ml < 16 for ml in cups), cups
    assert [name for name, _ in asked] == ["drop", "came"] * 3
    assert "By itself the board waters them in about " in out
    files = board_files.on_flash(board)
    now = ledger.choose(files["ledger.a"], files["ledger.b"])[0]
    assert now.rig.tray_ul >= sum(cups) * 1000, "all of it is on the tray's account"
    assert sum(map(limits.spent_ul, now.pots)) > sum(table["day_ml"] for table in commissioned["channels"]) * 1000


def test_without_a_press_there_is_none(plug, potreeve, commissioned, watcher):
    board = plug(files_of(commissioned, begun(commissioned)), awake=AWAKE)
    watcher(board, presses=False)
    code, out, err = potreeve("calibrate drop --channel mint", board.port)
    assert code == exits.FAILED and "saw no press" in out and board.wiring.pulses == []


def test_before_the_tray_was_seen_to_be_empty_there_is_none(plug, potreeve, commissioned, watcher):
    board = plug(files_of(commissioned, begun(commissioned, memory=1)), awake=AWAKE)
    watcher(board)
    code, out, err = potreeve("calibrate drop", board.port)
    assert code == exits.FAILED and "hold the button for two seconds, twice" in err and board.wiring.pulses == []


def test_a_drop_that_did_not_come_out_is_no_success(plug, potreeve, commissioned, watcher):
    board = plug(files_of(commissioned, begun(commissioned)), awake=AWAKE)
    watcher(board, comes=False)
    code, out, err = potreeve("calibrate drop --channel mint", board.port)
    assert code == exits.FAILED and "Not right yet: mint" in err and "reservoir" in out


def test_an_unmeasured_pump_gives_none(plug, potreeve, commissioned, watcher):
    bare = {**commissioned, "channels": [{**table, "pump_ul_s": 0} for table in commissioned["channels"]]}
    board = plug(files_of(bare, begun(bare)), awake=AWAKE)
    watcher(board)
    code, _, err = potreeve("calibrate drop --channel mint", board.port)
    assert code == exits.FAILED and "never measured" in err and board.wiring.pulses == []
