"""The power goes at every write of a wake that reports: around the mark, the try, the name of the log. Nothing lost,
nothing doubled."""

import json

import airwaves
import pytest
from ends import PowerCut
from listener import Listener
from network import keys_for
from potreeve import app, keep, owed
from potreeve.logic import outbox, record, segments
from rig import Rig
from stores import MemoryStore

QUICK = {"scale": 50}


class Sill(Rig):
    """A rig whose store survives it, with a radio of its own. cut: at which write of the store the power goes;
    before: 1 for
    just before it, 0 for just after."""

    def __init__(self, files, board, cut=-1, before=0):
        store = MemoryStore([])
        store.files = files
        super().__init__(board, store, 3, cause=2, keeps_ram=0)
        self.now_ms = 5000
        self.left, self.before = cut, before
        self.writes = []
        for name in ("write", "append", "replace", "remove"):
            setattr(store, name, self._cutting(name, getattr(store, name)))

    def _cutting(self, kind, call):
        def cutting(name, *args):
            self.writes.append((kind, name))
            self.left -= 1
            if self.left == -1 and self.before:
                raise PowerCut
            call(name, *args)
            if self.left == -1:
                raise PowerCut

        return cutting

    def burst(self, channel, buf):
        buf[:] = [30000] * len(buf)
        return len(buf)

    def wifi(self):
        return airwaves.Wifi(self, QUICK)

    def sleep(self, seconds):
        return seconds * 1000, 0


@pytest.fixture(scope="module")
def board(room):
    from potreeve_tools.boards import boardfile

    return boardfile.load("esp32").device_dict()


def fresh(room, port):
    settings = {**room.settings("esp32"), "radio": keys_for(port, send_s=600)}
    return {keep.SETTINGS: json.dumps(settings).encode(), keep.LAST_GOOD: json.dumps(settings).encode()}


def wake(files, board, cut=-1, before=0):
    """One start, wake and end of it; the writes there were."""
    rig = Sill(files, board, cut, before)
    try:
        session = app.Session(rig)
        session.sleep(session.wake())
    except PowerCut:
        pass
    return rig.writes


def on_flash(files):
    found = []
    for number in segments.numbers(files):
        data = files[segments.name(number)][segments.HEAD_BYTES :]
        found += [data[at : at + record.RECORD_BYTES] for at in range(0, len(data), record.RECORD_BYTES)]
    return found


@pytest.mark.parametrize("first", [True, False], ids=["the first report of all", "a later one"])
@pytest.mark.parametrize("before", [1, 0], ids=["before", "after"])
def test_the_power_goes_at_every_write(room, broker, board, first, before):
    begin = fresh(room, broker.port)
    with Listener(broker.port) as listener:
        if not first:
            for _ in range(2):
                wake(begin, board)
            assert segments.MARK in begin and listener.reports
        writes = wake(dict(begin), board)
        names = {name for _, name in writes}
        assert {outbox.NAME, segments.MARK, owed.AIR} <= names and (outbox.BOOT in names) == first
        for cut in range(len(writes)):
            files = dict(begin)
            listener.rows.clear()
            listener.ends.clear()
            if not first:
                # What is retained is of another future of this log.
                boot = outbox.boot_of(begin[outbox.BOOT])
                listener.ends[boot] = segments.decode_mark(begin[segments.MARK])
                listener.acknowledge(boot)
            wake(files, board, cut, before)
            for _ in range(2):
                # A try that the power ended waits half a day of proven time; here that is over at once.
                past = outbox.decode(files.get(outbox.NAME))
                past.wait_s = 0
                files[outbox.NAME] = outbox.encode(past)
                wake(files, board)
            said = (cut, writes[cut])
            rows = [row for _, row in sorted(listener.rows.items())]
            kept = on_flash(files)
            mark = segments.decode_mark(files[segments.MARK])
            waiting = (segments.HEAD_BYTES + len(kept) * record.RECORD_BYTES - mark[1]) // record.RECORD_BYTES
            assert mark[0] == 1 and waiting == 0, said
            # Everything since the station's store was emptied, once under each name of the log; the newest name has
            # it all.
            (*_, boot) = dict.fromkeys(boot for boot, _, _ in listener.rows)
            newest = [row for (one, _, _), row in sorted(listener.rows.items()) if one == boot]
            assert newest == kept[len(kept) - len(newest) :] and len(newest) >= 2, said
            assert listener.other == 0 and (first or len(newest) == len(rows)), said
