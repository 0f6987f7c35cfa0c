"""A station for one household: its clock, the ears that letters reach, and rigs that report."""

import zoneinfo
from datetime import UTC, datetime

from potreeve_tools.station import book, config, hostclock, intake, store, watch
from potreeve_tools.station.messages import Message

HOUR, DAY = 3600, 86400
BERLIN = zoneinfo.ZoneInfo("Europe/Berlin")


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
