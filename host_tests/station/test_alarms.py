"""Alarms, the whole way from message to letter: raised once, cleared once, with what to do."""

import pytest
from house_kit import DAY, HOUR, House
from potreeve.logic import errors, reasons, state
from potreeve_tools.station import alarms, book, sight
from station_kit import line, pieces, report


def test_silence_is_raised_once_repeated_daily_and_cleared_once(house, clock):
    house.hear("report", report(due_s=7200))
    clock.pass_(7200 + 29)
    assert house.watch.look() == ([], [], [])
    clock.pass_(10)
    raised, _, _ = house.watch.look()
    assert [(one["kind"], one["level"]) for one in raised] == [("silent", alarms.CALL)]
    assert "7" not in raised[0]["rig"] and "2 h" in raised[0]["what"] and raised[0]["todo"]
    for _ in range(50):
        clock.pass_(60)
        assert house.watch.look() == ([], [], [])
    house.restart()
    assert house.open() == [("", "silent")]
    clock.pass_(7200 + 60)
    assert house.watch.look()[0] == []
    clock.pass_(DAY)
    assert len(house.watch.look()[2]) == 1
    clock.pass_(60)
    house.hear("log", pieces([line(1), line(2)])[0])
    _, cleared, _ = house.hear("report", report(seq=2))
    assert [one["kind"] for one in cleared] == ["silent"] and house.open() == []
    assert [title.split(":")[0] for title, _ in house.letters()] == ["sill", "Still", "Over"]


def test_a_will_says_that_the_last_connection_broke_off(house, clock):
    """A hint, no alarm of its own: the promise stands, and is kept where the rig comes again."""
    house.hear("report", report(due_s=3600))
    clock.pass_(20)
    gone = {"v": 1, "rig": "sill", "boot": 17}
    assert house.hear("lost", gone) == ([], [], []) and sight.one_rig(house.kept, "sill").broke_off
    house.hear("report", report(seq=2, due_s=3600))
    assert not sight.one_rig(house.kept, "sill").broke_off
    clock.pass_(5)
    house.hear("lost", gone)
    clock.pass_(3700)
    (raised,), _, _ = house.watch.look()
    assert raised["kind"] == "silent" and raised["what"].endswith("its last connection broke off in the middle")


def test_a_restart_after_a_night_off_raises_nothing_before_rigs_had_their_turn(house, clock):
    house.hear("report", report(due_s=3600))
    clock.pass_(10 * HOUR)
    house.restart()
    clock.pass_(3500)
    assert house.watch.look()[0] == []
    clock.pass_(200)
    assert [one["kind"] for one in house.watch.look()[0]] == ["silent"]


@pytest.mark.parametrize("step", [-40 * DAY, -3600, 3600, 400 * DAY])
def test_a_clock_that_leaps_makes_no_alarm_and_mutes_none(house, clock, step):
    house.hear("report", report(due_s=3600))
    clock.wall += step
    clock.pass_(600)
    assert house.watch.look()[0] == []
    clock.pass_(3100)
    assert [one["kind"] for one in house.watch.look()[0]] == ["silent"]


def test_a_clock_set_back_over_a_restart_mutes_nothing(house, clock):
    house.hear("report", report(due_s=3600))
    clock.wall -= 300 * DAY
    house.restart()
    clock.pass_(3700)
    assert [one["kind"] for one in house.watch.look()[0]] == ["silent"]


def test_a_broker_that_is_gone_is_one_alarm_and_not_one_a_rig(house, clock):
    for n in range(30):
        house.hear("report", report(rig=f"rig-{n}", due_s=600), f"rig-{n}")
    house.ears.turn(False)
    clock.pass_(5000)
    raised, _, _ = house.watch.look()
    assert [(one["rig"], one["kind"]) for one in raised] == [("", "station")]
    house.ears.turn(True)
    _, cleared, _ = house.watch.look()
    assert [one["kind"] for one in cleared] == ["station"]
    clock.pass_(700)
    raised, _, _ = house.watch.look()
    assert len(raised) == 30
    assert len(house.letters()) == 3 and "and 29 more" in house.letters()[-1][0]


POTS = [
    ((700, state.HELD, reasons.NO_RISE), "held"),
    ((700, state.TENDED, reasons.TRAY), "tray"),
    ((700, state.RATIONED, reasons.BROKEN), "probe"),
    ((1010, state.HELD, reasons.TOO_WET), "water"),
    ((700, state.HELD, reasons.RUNS_ON), "water"),
    ((300, state.TENDED, reasons.DRY), "dry"),
    ((700, state.TENDED, reasons.DRIFTS), "probe"),
    ((1010, state.TENDED, reasons.KEPT_FULL), "water"),
    ((700, state.TENDED, reasons.RUNS_THROUGH), "water"),
    ((700, state.TENDED, reasons.WAITS), "dry"),
    ((700, state.TENDED, reasons.BATTERY), "battery"),
]
RIGS = [
    ({"hold": reasons.RISING}, "water"),
    ({"hold": reasons.WET_TRAY}, "water"),
    ({"hold": reasons.WET_DENIED}, "water"),
    ({"hold": reasons.OWNER}, "held"),
    ({"hold": reasons.DAMAGED}, "firmware"),
    ({"memory": 1}, "firmware"),
    ({"days_left": 5}, "battery"),
    ({"errors": errors.LEDGER}, "firmware"),
    ({"errors": errors.CLIMATE}, "firmware"),
]


@pytest.mark.parametrize("pot,kind", POTS)
def test_every_trouble_of_a_pot_is_an_alarm_with_what_to_do(house, clock, pot, kind):
    some = pieces([line(1), line(2, pots=(pot,)), line(3)])
    house.hear("report", report())
    clock.pass_(60)
    for piece in pieces([line(1), line(2, pots=(pot,))]):
        raised, _, _ = house.hear("log", piece)
    assert [(one["pot"], one["kind"]) for one in raised] == [("mint", kind)] and raised[0]["todo"]
    for piece in pieces([line(3)], mark=some[-1].end - 116, start=2):
        assert house.hear("log", piece)[1] == []
    clock.pass_(book.USUAL_LINGER_S + 1)
    assert [one["kind"] for one in house.watch.look()[1]] == [kind]


@pytest.mark.parametrize("more,kind", RIGS)
def test_every_trouble_of_a_rig_is_an_alarm(house, clock, more, kind):
    raised, _, _ = house.hear("log", pieces([line(1, **more)])[0])
    assert [(one["pot"], one["kind"]) for one in raised] == [("", kind)] and raised[0]["todo"]


def test_a_calm_rig_raises_nothing(house, clock):
    for n, piece in enumerate(pieces([line(n + 1, pots=((700, 0, reasons.WATERED), (800, 0, 0))) for n in range(200)])):
        assert house.hear("log", piece) == ([], [], []), n


def test_a_plant_below_its_stress_point_whatever_the_board_says(house, clock):
    about = {
        "v": 1,
        "rig": "sill",
        "boot": 17,
        "name": "reading room",
        "firmware": "0.1.0",
        "pots": [{"pot": "mint", "plant": "mint", "refill_pm": 690, "stress_pm": 500}],
    }
    house.hear("about", about)
    lines = [line(n + 1, pots=((480, state.HELD, reasons.NO_RISE),)) for n in range(14)]
    some = pieces(lines, size=1)
    for piece in some[:12]:
        house.hear("log", piece)
    assert house.open() == [("mint", "held")]
    for piece in some[12:]:
        house.hear("log", piece)
    assert sorted(house.open()) == [("mint", "dry"), ("mint", "held")]


def test_missing_and_contradicting_records_are_told(house, clock):
    house.hear("log", pieces([line(1), line(2)])[0])
    raised, _, _ = house.hear("log", pieces([line(9)], mark=pieces([line(1), line(2)])[0].end, start=7)[0])
    assert [one["kind"] for one in raised] == ["log"] and "missing" in raised[0]["what"]
    house.hear("log", pieces([line(1, battery_mv=3)])[0])
    assert "differ" in book.open_alarms(house.kept)[0]["what"]


def test_reports_without_a_log_are_noticed(house, clock):
    for n in range(30):
        raised, _, _ = house.hear("report", report(seq=n + 10, due_s=2 * HOUR))
        clock.pass_(HOUR)
    assert house.open() == [("", "log")]


def test_a_clock_of_a_board_that_is_off(house, clock):
    raised, _, _ = house.hear("report", report(time_s=int(clock.wall) - 3 * HOUR))
    assert [one["kind"] for one in raised] == ["clock"] and "3 h 0 min behind" in raised[0]["what"]


def test_the_tub_by_what_the_pumps_took(clock, tmp_path):
    house = House(clock, tmp_path / "s.db", tubs={"sill": 5000})
    house.hear("report", report(proven_s=1800, due_s=604800))
    now = int(clock.wall)
    from potreeve.logic import record

    made = []
    for day in range(8):
        names = record.HEAD_NAMES[2:]
        head = dict.fromkeys(names, 0)
        head.update(channels=1, seq=day + 1, up_s=day * DAY, utc_s=now + day * DAY, days_left=60, soc_pm=900)
        made.append(record.encode(tuple(head[name] for name in names), [(1, 1, 0, 0, 700, 0, 0, 4000, 5000)]))
    for piece in pieces(made, size=1):
        clock.wall = now + (piece.place - pieces(made)[0].place) // 116 * DAY
        house.hear("log", piece)
    assert ("", "tub") in house.open()
    tub = next(one for one in book.open_alarms(house.kept) if one["kind"] == "tub")
    assert "holds water for" in tub["what"]
    house.kept.close()
