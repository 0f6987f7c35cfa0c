"""Three weeks in which the board's radio finds nobody, and the station as it is: ingest, store, watch and book of
alarms. Then the radio works again. Nothing is lost or doubled, every record has its time, the silence was an alarm and
is over; and what a small flash could not keep is declared, to the record."""

import pytest
from potreeve.logic import recorded, segments
from potreeve_tools.rehearsal.rehearse import run
from potreeve_tools.station import book, broker, config, hearing, hostclock, store, watch
from potreeve_tools.station.ingest import Ingest
from potreeve_tools.world.faults.kinds import make_fault
from real_rig import made
from station_kit import until

DAY_S = 86400
LEFT_S, BACK_S = 2 * DAY_S, 23 * DAY_S
DAYS = 26
# By then the alarm must have been raised: a promise is of some three hours here.
CLOSE_S = LEFT_S + 6 * 3600
MINUTE_S = 60


class House:
    """A station whose clocks are the rehearsal's. It looks before each wake, and each minute of the hours in which the
    promise is broken. told: (second, "new" | "still" | "over", kind); broken_s: when the promise was that an alarm
    speaks of."""

    def __init__(self, port, path, session):
        self.session, self._air_ms = session, 0
        self.begin_s, self.now_s = session.world.clock.start_utc_s, 0.0
        self.ingest = Ingest(broker.Address("127.0.0.1", port), lambda: store.open_store(path), self._taken)
        self.kept = store.open_store(path)
        self.watch = watch.Watch(self.kept, config.Config(None), self.ingest)
        self.told, self.broken_s = [], []

    def _taken(self, taken):
        self.watch.taken(taken)

    def start(self):
        self.ingest.start()
        assert until(lambda: self.ingest.connected)
        self.watch.start()

    def on_wake(self, now_s):
        """The board slept until now; meanwhile the station looked around."""
        self._hear()
        # What was heard in the wake before is judged in its minute, as a station does within seconds.
        self._look()
        while LEFT_S < now_s < CLOSE_S and self.now_s + MINUTE_S < now_s:
            self.now_s += MINUTE_S
            self._look()
        self.now_s = now_s
        self._look()

    def _hear(self):
        """A connection's last message may be under way yet when the board sleeps; hours of ours must not pass in it."""
        if self.session.air_ms != self._air_ms:
            told_s = recorded.decode(self.session.records[-1])[0]["up_s"]
            until(lambda: self.kept.rows("SELECT 1 FROM rigs WHERE anchor_up_s = ?", (told_s,)), 5)
        self._air_ms = self.session.air_ms

    def _look(self):
        for phase, some in zip(("new", "over", "still"), self.watch.look(), strict=True):
            self.told += [(self.now_s, phase, one["kind"]) for one in some]
            if phase == "new" and any(one["kind"] == "silent" for one in some):
                ((heard_s, due_s),) = self.kept.rows("SELECT promise_heard_s, due_s FROM rigs")
                self.broken_s.append(heard_s + due_s - self.begin_s)

    def stop(self):
        self._hear()
        self.ingest.stop()
        self._look()


@pytest.fixture
def rehearse(mosquitto, tmp_path, monkeypatch):
    """rehearse(...): (session, house) after the three weeks and three days; see real_rig.made."""
    open_now = []

    def go(**more):
        down = make_fault("radio_down", LEFT_S, BACK_S)
        session = made(mosquitto.port, DAYS, air={"scale": 20}, faults=[down], **more)
        house = House(mosquitto.port, tmp_path / "s.db", session)
        open_now.append(house)
        monkeypatch.setattr(hostclock, "even_s", lambda: 1000.0 + house.now_s)
        monkeypatch.setattr(hostclock, "wall_s", lambda: house.begin_s + house.now_s)
        session.on_wake = house.on_wake
        house.start()
        run(session)
        house.stop()
        assert down.bit or session.world.flags == {}
        return session, house

    yield go
    for house in open_now:
        house.kept.close()


def rows(house):
    return house.kept.rows("SELECT seq, at_s, sure, body FROM records ORDER BY boot, place")


def silence(house):
    return [(at, phase) for at, phase, kind in house.told if kind == "silent"]


def judge_silence(house):
    """Raised once, within a minute of the promise's end; told again daily; cleared once, when it was heard again."""
    told = silence(house)
    phases = [phase for _, phase in told]
    assert phases[0] == "new" and phases[-1] == "over" and phases.count("new") == phases.count("over") == 1
    again = [at for at, phase in told if phase == "still"]
    steps = [b - a for a, b in zip(again, again[1:], strict=False)]
    # A look comes with each wake, so a letter may be that much late.
    assert 18 <= len(again) <= 20 and all(DAY_S <= step < DAY_S + 3 * 3600 for step in steps)
    raised_s, over_s = told[0][0], told[-1][0]
    assert 0 < raised_s - house.broken_s[0] <= hearing.GRACE_S + MINUTE_S and raised_s > LEFT_S
    # Six hours is the longest a board waits between two tries that fail, and then it wakes.
    assert BACK_S < over_s < BACK_S + 8 * 3600


def others_told(house, kinds):
    """Besides silence, and a memory that is new on the first day, alarms of these kinds alone."""
    assert {kind for at, _, kind in house.told if at > DAY_S} == {"silent", *kinds}
    assert {kind for at, _, kind in house.told if at <= DAY_S} == {"firmware"}


def judge_times(session, found, clock_set):
    """found: rows(house). record_s is the end of a record's wake, true seconds. A crystal drifts; a board that knows no
    time has its records reckoned by proven seconds from a report before or after, and these leave out up to two of
    each wake between."""
    true_s = dict(zip(session.records, session.record_s, strict=True))
    off = [at_s - session.world.clock.start_utc_s - true_s[bytes(body)] for _, at_s, _, body in found]
    print(f"times are off by {min(off):.0f} to {max(off):.0f} s")
    assert max(map(abs, off)) < (120 if clock_set else 2 * len(session.records))
    assert {sure for _, _, sure, _ in found} == {int(clock_set)}
    assert [at for _, at, _, _ in found] == sorted(at for _, at, _, _ in found)


def test_three_weeks_out_of_reach(rehearse):
    session, house = rehearse()
    found = rows(house)
    assert len(session.records) > 1000 and len(session.records) - len(found) <= 3
    assert [bytes(body) for *_, body in found] == session.records[: len(found)]
    for table in ("gaps", "others", "spans", "aside"):
        assert house.kept.rows(f"SELECT * FROM {table}") == []
    assert len(house.kept.rows("SELECT DISTINCT boot FROM records")) == 1
    judge_times(session, found, clock_set=True)
    judge_silence(house)
    others_told(house, set())


def test_a_flash_too_small_for_three_weeks_declares_what_it_dropped(rehearse):
    """On a board that knows no time, too."""
    session, house = rehearse(blocks=24, clock_set=False)
    judge_times(session, rows(house), clock_set=False)
    found = [bytes(body) for *_, body in rows(house)]
    there = set(found)
    # What was heard before, and what the flash still held at the end: in order, nothing twice, nothing else.
    assert len(found) == len(there) and [line for line in session.records if line in there] == found
    # What was written after the last connection waits for the next.
    told = session.records[: session.records.index(found[-1]) + 1]
    assert len(session.records) - len(told) <= 3
    lost = [recorded.decode(line)[0]["seq"] for line in told if line not in there]
    assert len(lost) > 2 * segments.RECORDS
    gaps = house.kept.rows("SELECT from_seq, to_seq, missing FROM gaps ORDER BY place")
    assert [seq for before, after, _ in gaps for seq in range(before + 1, after)] == lost
    assert sum(missing for *_, missing in gaps) == len(lost)
    judge_silence(house)
    others_told(house, {"log"})
    (told,) = [one["what"] for one in book.open_alarms(house.kept) if one["kind"] == "log"]
    assert told.startswith(f"{len(lost)} records are missing for good")
