"""Letters are told where and when they may be, and tried again where they are refused."""

from datetime import datetime, timedelta

from house_kit import BERLIN, DAY, HOUR, House
from potreeve.logic import reasons, state
from potreeve_tools.station import alarms, book, config
from station_kit import line, pieces, report


def test_what_can_wait_waits_for_the_morning_also_when_clocks_change():
    quiet = config.Config(BERLIN, ((22, 0), (7, 0)))
    for day in (datetime(2027, 3, 28), datetime(2027, 10, 31), datetime(2027, 7, 1)):
        for minute in range(-180, 600, 7):
            here = (day + timedelta(minutes=minute)).replace(tzinfo=BERLIN)
            until = datetime.fromtimestamp(quiet.quiet_until(here.timestamp()), BERLIN)
            if here.hour >= 22 or here.hour < 7:
                assert (until.hour, until.minute) == (7, 0) and timedelta(0) < until - here <= timedelta(hours=10), here
            else:
                assert until == here.replace(microsecond=0)
    assert config.Config(BERLIN).quiet_until(5.0) == 5.0
    noon = config.Config(BERLIN, ((12, 0), (14, 0)))
    assert (
        datetime.fromtimestamp(noon.quiet_until(datetime(2027, 5, 1, 13, tzinfo=BERLIN).timestamp()), BERLIN).hour == 14
    )


def test_notes_wait_and_calls_do_not(clock, tmp_path):
    clock.wall = datetime(2027, 1, 4, 23, tzinfo=BERLIN).timestamp()
    house = House(clock, tmp_path / "s.db", quiet=((22, 0), (7, 0)))
    house.hear("log", pieces([line(1, memory=1, pots=((700, state.HELD, reasons.NO_RISE),))])[0])
    now = int(clock.wall)
    assert [one["title"].split(":")[0] for one in book.due_letters(house.kept, now)] == ["channel 1 (sill)"]
    assert len(book.due_letters(house.kept, now + 8 * HOUR)) == 2
    house.kept.close()


def test_routes_take_what_they_are_meant_for():
    held = {"rig": "sill", "kind": "held", "level": alarms.CALL}
    assert config.Route("a", "", alarms.CALL).takes(held)
    assert not config.Route("a", "", alarms.CALL).takes({**held, "level": alarms.NOTE})
    assert not config.Route("a", "", kinds=["water"]).takes(held) and not config.Route("a", "", rigs=["other"]).takes(
        held
    )
    assert config.Route("a", "", rigs=["other"]).takes({"rig": "", "kind": "station", "level": alarms.CALL})


def test_an_alarm_somebody_has_seen_is_not_told_again(house, clock):
    house.hear("report", report(due_s=600))
    clock.pass_(700)
    raised, _, _ = house.watch.look()
    assert book.note_seen(house.kept, raised[0]["alarm"], int(clock.wall))
    assert not book.note_seen(house.kept, raised[0]["alarm"], int(clock.wall))
    clock.pass_(3 * DAY)
    assert house.watch.look() == ([], [], [])
    assert [one["kind"] for one in house.hear("report", report(seq=2))[1]] == ["silent"]


def test_letters_that_are_refused_are_tried_again_and_said_to_be_stuck(house, clock):
    house.hear("report", report(due_s=600))
    clock.pass_(700)
    house.watch.look()
    for _ in range(4):
        for one in book.due_letters(house.kept, int(clock.wall)):
            book.sent(house.kept, one, int(clock.wall), False)
        clock.pass_(400)
    assert book.stuck_letters(house.kept, int(clock.wall)) == 1
    book.sent(house.kept, book.due_letters(house.kept, int(clock.wall))[0], int(clock.wall), True)
    assert book.due_letters(house.kept, int(clock.wall) + DAY) == [] and book.stuck_letters(house.kept, 0) == 0
