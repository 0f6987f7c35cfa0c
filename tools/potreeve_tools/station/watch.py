"""The look around: every few seconds what is known is judged, and the book of alarms brought up to date."""

import threading

from potreeve.logic import record

from potreeve_tools.station import alarms, book, hostclock, sight
from potreeve_tools.station.hearing import Hearing

LOOK_S = 5
# A rig that says nothing new is judged again so often, for what only time brings.
ANEW_S = 600
# The broker may be away for so long before it is an alarm.
BROKER_AWAY_S = 120
# Gaps and contradictions are told of for so long.
REMEMBERED_S = 3 * 86400
# What other stations heard is in the shared store by then.
COMMIT_S = 60


class Watch:
    """Holds what was last seen of every rig. To be used by one thread but for `taken`, which any may call.

    troubles(): lines about the station itself that are alarms. on_change(rigs): after a look that changed something.
    shared: others store, too, so the store itself is asked what is new.
    """

    def __init__(self, store, config, ingest=None, troubles=lambda: [], on_change=lambda rigs: None, shared=False):
        self.store, self.config, self.ingest = store, config, ingest
        self.hearing = Hearing()
        self.sights = {}
        self.findings = {}
        self._troubles, self._on_change = troubles, on_change
        self._changed, self._lock = set(), threading.Lock()
        self._judged, self._silent = {}, set()
        self._connected = False
        self._shared, self._asked_s = shared, 0

    def start(self):
        """Take up what the store knows: ages are counted by the wall clock once, here."""
        now, wall = hostclock.even_s(), hostclock.wall_s()
        for one in sight.all_rigs(self.store, int(wall) - REMEMBERED_S):
            self.sights[one.rig] = one
            self._changed.add(one.rig)
            if one.due_s:
                # A clock set back since then would put the promise into the future.
                self.hearing.promise(one.rig, now - max(0.0, wall - one.promised_s), one.due_s)
        self._silent = {one["rig"] for one in book.open_alarms(self.store) if one["kind"] == "silent"}

    def taken(self, taken):
        """Something was stored (called by the writer)."""
        with self._lock:
            self._changed |= taken.rigs

    def look(self):
        """Judge all that may have changed; returns (raised, cleared, repeated)."""
        now, wall = hostclock.even_s(), hostclock.wall_s()
        self._follow(now)
        with self._lock:
            changed, self._changed = self._changed, set()
        since = int(wall) - REMEMBERED_S
        if self._shared:
            # A commit may be a while after what it says was heard.
            news = self.store.rows("SELECT rig FROM rigs WHERE heard_s >= ?", (self._asked_s - COMMIT_S,))
            changed |= {rig for (rig,) in news}
            self._asked_s = int(wall)
        for rig in changed:
            found = sight.one_rig(self.store, rig, since)
            if found is None:
                continue
            self._promises(found, now, wall)
            self.sights[rig] = found
        silent = {rig: over for rig in self.hearing.promises if (over := self.hearing.overdue_s(rig, now)) is not None}
        # Only a new promise ends a silence: not an outage of the broker, nor the station's own start.
        self._silent |= set(silent)
        for rig, one in self.sights.items():
            over = silent.get(rig, 0.0 if rig in self._silent else None)
            if rig in changed or (over is None) != (one.overdue_s is None) or now - self._judged.get(rig, 0) > ANEW_S:
                one.overdue_s = over
                self._judged[rig] = now
                self.findings[rig] = alarms.rig_findings(one, int(wall), self.tub_days(one, self.store))
                changed.add(rig)
        own = self._own(now)
        all_findings = [*own, *[finding for some in self.findings.values() for finding in some]]
        done = book.settle(self.store, all_findings, int(wall), self.config)
        if changed or any(done):
            self._on_change(changed)
        return done

    def _follow(self, now):
        """Hear of the broker's coming and going."""
        if self.ingest is None:
            return
        if self.ingest.connected != self._connected:
            self._connected = self.ingest.connected
            (self.hearing.connected if self._connected else self.hearing.disconnected)(self.ingest.since_s)

    def _promises(self, found, now, wall):
        known = self.sights.get(found.rig)
        if found.due_s and (known is None or (found.promised_s, found.due_s) != (known.promised_s, known.due_s)):
            self._silent.discard(found.rig)
            # It was heard a moment ago, whatever the wall clock has done since.
            self.hearing.promise(found.rig, now - min(max(0.0, wall - found.promised_s), 60.0), found.due_s)

    def _own(self, now):
        """Findings about the station itself."""
        found = []
        ingest = self.ingest
        if ingest is not None and not ingest.connected and now - ingest.since_s > BROKER_AWAY_S:
            said = f" ({ingest.refused})" if ingest.refused else ""
            found.append(
                (f"the broker can't be reached{said}: no rig can be heard", "see that the broker runs, and the network")
            )
        if ingest is not None and ingest.trouble:
            found.append(
                (f"nothing can be stored ({ingest.trouble}); rigs keep what they have", "free some room on the disk")
            )
        found += self._troubles()
        return (
            [alarms.Finding("", "", "station", alarms.CALL, "; ".join(what for what, _ in found), found[0][1])]
            if found
            else []
        )

    def tub_days(self, one, store):
        """Days of water left in a rig's tub: its own word where it has floats, else at the most that its pumps may
        have taken; None where nobody told its size."""
        if one.head and one.head["tub_days"] != record.NO_TUB_DAYS:
            return one.head["tub_days"]
        size_ml = self.config.tubs.get(one.rig)
        if not size_ml or not one.newest_s:
            return None
        filled_s = (one.tub or {}).get("filled_s", one.first_s)
        given, _ = sight.given_ul(store, one.rig, filled_s)
        week, _ = sight.given_ul(store, one.rig, one.newest_s - 7 * 86400)
        if not week:
            return None
        return max(0.0, size_ml - given / 1000) / (week / 7000)
