"""`potreeve status` and `potreeve logs` against a virtual board."""

import csv
import json
from pathlib import Path

import board_files
import pytest
from potreeve.logic import ledger, record, segments, state
from potreeve_tools.link import logs_pull
from potreeve_tools.terminal import exits


def test_a_calm_rig(plug, potreeve):
    board = plug(board_files.lived(wakes=120, pm=800))
    code, out, err = potreeve("status", board.port)
    assert code == 0, out + err
    assert "mint (mint): tended, moisture" in out and "Nothing is wrong with the rig." in out
    assert "Water left today:" in out and "Battery: 3.90 V" in out and "Next wake: 30 min" in out
    view = json.loads(potreeve("status --json", board.port)[1])
    assert [pot["rung"] for pot in view["pots"]] == ["tended"] * 3
    assert view["caps_left"]["rig_today_ml"] <= 400 and view["faults"] == []
    assert view["time_utc"].startswith("2026-11-")


def with_state(change):
    """Files in which the newer ledger slot holds a changed state."""
    files = board_files.lived(wakes=60)
    now, number, slot = ledger.choose(files["ledger.a"], files["ledger.b"])
    change(now)
    files[ledger.SLOTS[slot]] = ledger.encode(number, now)
    return files


@pytest.mark.parametrize(
    "reason, words", [(20, "did not raise the moisture"), (22, "tubes are crossed"), (21, "rises with nothing given")]
)
def test_a_held_pot_says_why_and_what_to_do(plug, potreeve, reason, words):
    def hold(now):
        now.pots[1].ladder, now.pots[1].reason = state.HELD, reason

    board = plug(with_state(hold))
    code, out, _ = potreeve("status", board.port)
    assert code == exits.FAILED and "strawberry (strawberry): held" in out and words in out and "do:" in out


def test_water_is_said_to_be_due_where_the_board_gives_it(plug, potreeve):
    """The refill point was said instead, which lies far below it while a plant drinks much."""

    def drinks(now):
        now.rig.typical_um = 3000
        now.pots[0].use_ul_mm = 200_000

    board = plug(with_state(drinks))
    out = potreeve("status", board.port)[1]
    pot = json.loads(potreeve("status --json", board.port)[1])["pots"][0]
    assert pot["due_pm"] > pot["refill_pm"] + 50
    assert f"water due at {pot['due_pm']} ‰" in out


def test_a_held_rig_a_lost_memory_and_errors(plug, potreeve):
    def harm(now):
        now.rig.hold, now.rig.memory, now.rig.rest_mv = 51, 1, 0

    board = plug(with_state(harm))
    code, out, _ = potreeve("status", board.port)
    assert code == exits.FAILED
    assert "started over too often" in out and "memory of what it gave is lost" in out and "voltage not known" in out


def test_wall_time_that_is_not_known(plug, potreeve):
    board = plug(board_files.lived(wakes=20, utc_s=0))
    _, out, _ = potreeve("status", board.port)
    assert "wall time not known, 9 h 30 min of proven time" in out
    assert json.loads(potreeve("status --json", board.port)[1])["time_utc"] is None


@pytest.mark.parametrize("files", [{}, {"settings.json": b"{"}, {"ledger.a": b"torn"}, {"log.000001": b"torn"}])
def test_a_board_with_little_or_nothing(plug, potreeve, files):
    board = plug(files)
    code, out, err = potreeve("status", board.port)
    assert code == exits.FAILED and "no settings that pass" in out, err


def test_a_torn_ledger(plug, potreeve):
    board = plug({**board_files.lived(wakes=20), "ledger.a": b"torn", "ledger.b": b""})
    code, out, _ = potreeve("status", board.port)
    assert code == exits.FAILED and "neither slot of the ledger is whole" in out.lower()


def test_thirty_days_of_log_over_the_wire(plug, potreeve, tmp_path):
    """48 wakes a day, the default interval: trips follow bytes."""
    wakes = 30 * 48
    board = plug(board_files.lived(wakes=wakes))
    code, out, err = potreeve("logs pull --json", board.port)
    assert code == 0, err
    told = json.loads(out)
    assert told["wakes"] == wakes and told["gaps"] == []
    assert told["fetched_bytes"] > wakes * record.RECORD_BYTES
    assert told["round_trips"] == 1 + -(-told["fetched_bytes"] // logs_pull.BATCH_BYTES)
    print(f"30 days: {told['fetched_bytes']} bytes, {told['round_trips']} round trips, {told['seconds']} s")
    again = json.loads(potreeve("logs pull --json", board.port)[1])
    assert (again["fetched_bytes"], again["round_trips"]) == (0, 1)
    path = tmp_path / "all.csv"
    assert potreeve(f"logs export '{path}'")[0] == 0
    with open(path, newline="") as file:
        assert sum(1 for _ in csv.DictReader(file)) == 3 * wakes
    code, out, _ = potreeve("logs show --last 3")
    assert code == 0 and f"3 of {wakes} wakes." in out and "No gaps" in out


def test_a_gap_on_the_board_is_told_once(plug, potreeve):
    files = board_files.lived(wakes=300)
    data = bytearray(files[segments.name(1)])
    data[segments.HEAD_BYTES + 3 * record.RECORD_BYTES + 9] ^= 4
    del files[segments.name(2)]
    board = plug({**files, segments.name(1): bytes(data)})
    code, out, _ = potreeve("logs pull", board.port)
    assert code == exits.FAILED
    assert "wrong checksum (no. 4)" in out and "segment 2 missing" in out
    assert potreeve("logs pull", board.port)[0] == exits.OK


def test_export_needs_a_known_ending_and_something_to_export(potreeve, plug, tmp_path):
    code, _, err = potreeve("logs export x.csv")
    assert code == exits.FAILED and "logs pull" in err
    board = plug(board_files.lived(wakes=5))
    assert potreeve("logs pull", board.port)[0] == 0
    code, _, err = potreeve("logs export x.xls")
    assert code == exits.BAD_INPUT and ".parquet" in err
    code, out, _ = potreeve("logs export - --format jsonl")
    assert code == 0 and len(out.splitlines()) == 15
    code, _, err = potreeve(f"logs export '{tmp_path}/no/such/x.csv'")
    assert code == exits.BAD_INPUT and "no folder" in err


# ---- the last water: from the record, and only as far as it goes


def dosed(**changes):
    """(files of a board that has just given a dose by itself, its state)."""
    files = board_files.lived(wakes=60, pm=700)
    now, number, slot = ledger.choose(files["ledger.a"], files["ledger.b"])
    assert any(pot.pulsed for pot in now.pots)
    return files, now, number, slot


def pots_told(plug, potreeve, files):
    board = plug(files)
    _, out, _ = potreeve("status", board.port)
    return out, json.loads(potreeve("status --json", board.port)[1])["pots"]


def test_an_automatic_pulse_is_not_said_to_be_on_command(plug, potreeve):
    """It was inferred from a sum that is nought once the dose is proven."""
    files, now, number, slot = dosed()
    for pot in now.pots:
        pot.pulse_ul = 0
    files[ledger.SLOTS[slot]] = ledger.encode(number, now)
    out, pots = pots_told(plug, potreeve, files)
    assert "on command" not in out and "last pulse" in out
    assert all(pot["last_pulse_by"] in ("board", None) for pot in pots)
    assert "last pulse (a refill)" in out, out
    assert {pot["last_pulse_for"] for pot in pots if pot["last_pulse_by"]} == {"a refill"}


def test_the_sum_of_unproven_pulses_is_not_the_last_one(plug, potreeve):
    files, now, number, slot = dosed()
    for pot in now.pots:
        pot.pulse_ul = 123_000
    files[ledger.SLOTS[slot]] = ledger.encode(number, now)
    out, pots = pots_told(plug, potreeve, files)
    assert "123 ml" not in out
    assert all(pot["last_pulse_ul"] is None or pot["last_pulse_ul"] < 60_000 for pot in pots)


def test_a_pulse_on_command_is_told_with_its_own_amount(plug, potreeve):
    files, now, number, slot = dosed()
    pot = now.pots[1]
    # As service leaves it: 7.5 s of 4 ml/s, after the last wake.
    pot.pulsed, pot.pulse_s, pot.done_ms, pot.dosing = 1, now.rig.up_s, 7500, 0
    files[ledger.SLOTS[slot]] = ledger.encode(number, now)
    out, pots = pots_told(plug, potreeve, files)
    assert (pots[1]["last_pulse_ul"], pots[1]["last_pulse_by"]) == (30_000, "person")
    assert "last pulse on command about 30 ml" in out


def test_a_pulse_no_record_tells_of_has_no_amount(plug, potreeve):
    files, now, number, slot = dosed()
    files = {name: data for name, data in files.items() if not name.startswith("log.")}
    out, pots = pots_told(plug, potreeve, files)
    given = [pot for pot in pots if pot["last_pulse_ago_s"] is not None]
    assert given and all(pot["last_pulse_ul"] is None for pot in given if pot["last_pulse_ran_ms"] is None)
    assert "last pulse, " in out


def test_after_a_restore_nothing_may_be_given(plug, potreeve):
    """The day counts as given and the tray as full, but status said that it could take 960 ml."""
    from potreeve_tools.link import settings_restore

    files, now, number, slot = dosed()
    files["ledger.a"] = ledger.encode(number, settings_restore.carry.carry(now))
    files["ledger.b"] = b""
    board = plug(files)
    _, out, _ = potreeve("status", board.port)
    assert "Water left today: 0 ml for all pots; the tray can take 0 ml." in out


def test_a_pulse_of_days_ago_is_found_in_older_records(plug, potreeve):
    """Of two segments, as far as they go; further back nothing is said of its amount."""
    import tempfile

    import made
    from potreeve_tools.settings import settingsfile

    with tempfile.TemporaryDirectory() as folder:
        life = made.Life(Path(folder) / "data", 3, 1795600000, pm=700)
        life.state.rig.memory = 0
        life.wake(60)
        # So wet that none is due again for a while.
        life.pms = [1040, 1040, 1040]
        life.wake(150)
        assert all(life.state.rig.up_s - pot.pulse_s > 86400 for pot in life.state.pots if pot.pulsed)
        files = {name: life.store.read(name) for name in life.store.names()}
        data = settingsfile.to_json(life.settings)
    out, pots = pots_told(plug, potreeve, {**files, "settings.json": data, "settings.good.json": data})
    given = [pot for pot in pots if pot["last_pulse_ago_s"] is not None]
    assert given and any(pot["last_pulse_by"] == "board" and pot["last_pulse_ul"] > 5000 for pot in given), pots
