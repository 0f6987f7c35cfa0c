"""Alarms: silence within a minute of the broken promise and never else, raised once, cleared once, told where and when
they may be."""

import random
import zoneinfo
from datetime import UTC, datetime, timedelta

import pytest
from potreeve.logic import errors, reasons, state
from potreeve_tools.station import alarms, book, config, hearing, hostclock, intake, sight, store, watch
from potreeve_tools.station.messages import Message
from station_kit import line, pieces, report

HOUR, DAY = 3600, 86400
BERLIN = zoneinfo.ZoneInfo("Europe/Berlin")


# ---- silence ----------------------------------------------------------------------------------


def test_a_year_with_jitter_outages_and_restarts_has_no_false_alarm():
    """Every minute of a year: rigs that keep their promise as a board can, a broker that goes, a station that is
    restarted."""
    rng = random.Random(11)
    heard = hearing.Hearing()
    heard.connected(0)
    outages = []
    at = 0
    while at < 365 * DAY:
        at += rng.randint(2 * HOUR, 9 * DAY)
        outages.append((at, at + rng.choice((20, 50, 90, 600, 4 * HOUR, 30 * HOUR))))
        at = outages[-1][1]
    due = 3 * HOUR + 600
    next_at = {f"rig-{n}": rng.randint(0, HOUR) for n in range(3)}
    tries = dict.fromkeys(next_at, 0)
    coming = [(start, heard.disconnected) for start, _ in outages] + [(end, heard.connected) for _, end in outages]
    coming.sort(key=lambda one: one[0])
    reports = 0
    for minute in range(365 * 24 * 60):
        now = minute * 60
        while coming and coming[0][0] <= now:
            when, what = coming.pop(0)
            what(when)
        for rig, when in next_at.items():
            if when > now:
                continue
            if heard.deaf_since is None:
                heard.promise(rig, when, due)
                reports += 1
                tries[rig] = 0
                # A report an hour, each a little late; now and then two tries fail.
                lost = rng.random() < 0.05
                next_at[rig] = when + HOUR * (3 if lost else 1) + rng.randint(0, 300)
            else:
                tries[rig] += 1
                next_at[rig] = when + min(3 * HOUR, 900 * 2 ** tries[rig])
        for rig in next_at:
            assert heard.overdue_s(rig, now) is None, (rig, now, outages)
    assert reports > 20_000


@pytest.mark.parametrize("seed", range(20))
def test_a_rig_that_falls_silent_is_noticed_within_a_minute(seed):
    rng = random.Random(seed)
    heard = hearing.Hearing()
    heard.connected(0)
    last, due = rng.randint(0, 5 * DAY), rng.choice((60, 600, HOUR, DAY))
    heard.promise("sill", last, due)
    noticed = next(
        now for now in range(last, last + due + 600, watch.LOOK_S) if heard.overdue_s("sill", now) is not None
    )
    assert 0 < noticed - (last + due) <= 60


def test_silence_in_an_outage_is_judged_after_it_and_only_once_more():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.promise("sill", 1000, HOUR)
    heard.disconnected(2000)
    assert heard.overdue_s("sill", 9000) is None
    heard.connected(9000)
    assert heard.overdue_s("sill", 9000 + HOUR - 1) is None
    assert heard.overdue_s("sill", 9000 + HOUR + 31) is not None


def test_a_line_that_breaks_all_the_time_does_not_put_the_alarm_off_for_ever():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.promise("sill", 0, 2 * HOUR)
    now = 0
    while heard.overdue_s("sill", now) is None:
        now += 1500
        heard.disconnected(now)
        now += 100
        heard.connected(now)
        assert now < 5 * HOUR
    assert now > 2 * HOUR


def test_a_blip_gives_nobody_more_time():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.promise("sill", 0, HOUR)
    heard.disconnected(3500)
    heard.connected(3530)
    assert heard.overdue_s("sill", 3640) is not None


def test_the_outage_of_long_ago_gives_nobody_more_time():
    heard = hearing.Hearing()
    heard.connected(0)
    heard.disconnected(100)
    heard.connected(900)
    heard.promise("sill", 1000, HOUR)
    assert heard.overdue_s("sill", 1000 + HOUR + 31) is not None


# ---- the whole way, from message to letter ----------------------------------------------------------


class Clock:
    """The host's clock in the test's hand."""

    def __init__(self, monkeypatch, wall=datetime(2027, 1, 4, 12, tzinfo=UTC)):
        self.even, self.wall = 5000.0, wall.timestamp()
        monkeypatch.setattr(hostclock, "even_s", lambda: self.even)
        monkeypatch.setattr(hostclock, "wall_s", lambda: self.wall)

    def pass_(self, seconds):
        self.even += seconds
        self.wall += seconds


class Ears:
    """Stands for the Ingest."""

    trouble = refused = ""

    def __init__(self, clock):
        self.clock = clock
        self.connected, self.since_s = True, clock.even

    def turn(self, connected):
        self.connected, self.since_s = connected, self.clock.even


class House:
    """A station without a network: messages go straight in."""

    def __init__(self, clock, path, **more):
        self.clock, self.path = clock, path
        self.config = config.Config(more.pop("zone", BERLIN), routes=[config.Route("all", "json://x")], **more)
        self.kept = store.open_store(path)
        self.ears = Ears(clock)
        self.start()

    def start(self):
        self.watch = watch.Watch(self.kept, self.config, self.ears)
        self.watch.start()
        self.watch.look()

    def restart(self):
        self.kept.close()
        self.kept = store.open_store(self.path)
        self.ears.turn(True)
        self.start()

    def hear(self, kind, body, rig="sill"):
        self.watch.taken(intake.take(self.kept, [(int(self.clock.wall), Message(rig, kind, body), False)]))
        return self.watch.look()

    def letters(self, now=None):
        return [(title, made) for title, made in self.kept.rows("SELECT title, made_s FROM outbox ORDER BY made_s")]

    def open(self):
        return [(one["pot"], one["kind"]) for one in book.open_alarms(self.kept)]


@pytest.fixture
def clock(monkeypatch):
    return Clock(monkeypatch)


@pytest.fixture
def house(clock, tmp_path):
    made = House(clock, tmp_path / "station.db")
    yield made
    made.kept.close()


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


# ---- when and whither ------------------------------------------------------------------------------


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
