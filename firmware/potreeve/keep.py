"""What the board keeps: settings and their last good copy, ledger, log.

`store` is hal's: whole-file read, write, atomic replace, append. Three stores, each
with one writer, all here.
"""

import json

from potreeve.logic import errors, ledger, reasons, segments
from potreeve.logic.state import fresh

SETTINGS = "settings.json"
LAST_GOOD = "settings.good.json"

# Modules that only judge settings, in potreeve.logic: once these are read, an application can let them go.
JUDGES = ("settings", "starving", "radio_keys", "extra_keys", "tub_keys")

# What OSError says when the file system is full.
NO_ROOM = 28

# First byte of a byte order mark in UTF-8.
_MARK = b"\xef"

# A memory lost just now: see state.RIG_NAMES.
LOST = 2


def load_settings(store, channels):
    """(settings or None, error bits) from the file, else from its last good
    copy. A new file that passes becomes the last good copy.

    channels: how many the board has; settings for more never run.
    """
    new, data = _read_settings(store, SETTINGS, channels)
    if new:
        return new, 0 if _promote(store, data) else errors.SETTINGS
    good, data = _read_settings(store, LAST_GOOD, channels)
    return good, errors.SETTINGS


def _promote(store, data):
    """Make data the last good copy; True when it is."""
    try:
        if store.read(LAST_GOOD) != data:
            store.replace(LAST_GOOD, data)
        return True
    except Exception:
        return False


def _read_settings(store, name, channels):
    try:
        # Loaded where it is needed, see JUDGES.
        from potreeve.logic import settings

        data = store.read(name)
        if data is None:
            return None, None
        if 0 in data or data[:1] == _MARK:
            # UTF-16 or a byte order mark: some readers of JSON take them, some don't.
            return None, None
        checked, _ = settings.check(json.loads(data))
    except Exception:
        # Not JSON, not text, nested beyond the stack: all mean "not settings".
        return None, None
    if checked and len(checked["channels"]) > channels:
        return None, None
    return checked, data


def code_whole(code):
    """True when every installed file matches the manifest, or there is none.

    code: hal's view of the installed files; a board set up by hand has no
    manifest and is not checked.
    """
    try:
        manifest = code.manifest()
        if manifest is None:
            return True
        if not isinstance(manifest, dict):
            return False
        for path in manifest:
            if code.crc(path) != manifest[path]:
                return False
        return True
    except Exception:
        # What can't be checked is not whole.
        return False


def _fit(state, wired):
    """The state with room for extras where the board has any, and without where it has none."""
    if wired:
        from potreeve import extras

        return extras.fit(state)
    if state.extra and reasons.WET_TRAY <= state.rig.hold <= reasons.TUB_EMPTY:
        # Held by a sensor that was taken away.
        state.rig.hold = reasons.NONE
    state.extra = None
    return state


class Ledger:
    """The state on flash, in two slots.

    damaged: True when the last load found a slot that is there but can't be
    read, or is spoilt.
    """

    def __init__(self, store):
        self.store = store
        self.number = 1
        self.slot = 0
        self.damaged = False
        self._astray = False

    def load(self, channels, extras=False):
        """The newest whole state for so many channels, or a fresh one; extras: whether the board has any.

        The file system never leaves half a slot, so a damaged one may have
        been the newest, and what the other says of the day's water too little:
        its memory counts as lost. So it does where a witness knows of a newer one.
        """
        self.damaged = False
        slots = [self._read(name) for name in ledger.SLOTS]
        state, self.number, self.slot = ledger.choose(slots[0], slots[1])
        self._astray = state is None and self.damaged
        if state is None or state.rig.channels != channels:
            return _fit(fresh(channels), extras)
        if ledger.rolled_back(self._witness(), (self.number - 1) & 0xFFFFFFFF):
            self.damaged = True
        if self.damaged:
            state.rig.memory = LOST
        return _fit(state, extras)

    def planned_s(self):
        """The sleep that was planned when it was last written, 0 where nothing is known."""
        state = ledger.choose(*[self._read(name) for name in ledger.SLOTS])[0]
        return state.rig.planned_s if state else 0

    def save(self, state):
        """Write the older slot; True when it is safely stored."""
        try:
            if self._astray:
                self._clear()
            self.store.write(ledger.SLOTS[self.slot], ledger.encode(self.number, state))
            # Only afterwards: it must never know of more than there is.
            self.store.write(ledger.WITNESS, ledger.testimony(self.number))
        except OSError:
            return False
        self.number = (self.number + 1) & 0xFFFFFFFF
        self.slot = 1 - self.slot
        return True

    def _witness(self):
        try:
            return self.store.read(ledger.WITNESS)
        except OSError:
            return None

    def _read(self, name):
        """A slot's bytes, None if it was never whole; notes damage."""
        try:
            data = self.store.read(name)
        except OSError:
            self.damaged = True
            return None
        if data and ledger.decode(data) is None:
            self.damaged = True
        return data

    def _clear(self):
        """Counting begins anew: what could not be read must not pass for newer."""
        names = self.store.names()
        for name in ledger.SLOTS:
            if name in names:
                self.store.remove(name)
        self._astray = False


class Log:
    """The newest segment, how many older ones may stay, and what a broker has yet to take."""

    def __init__(self, store, flash):
        self.store = store
        self.most = segments.most(flash["blocks"] * flash["block_bytes"], flash["block_bytes"])
        # None until the segments have been listed.
        self.numbers = None
        self.size = 0
        # None until it has been read.
        self.mark = None

    def append(self, line, before):
        """Add a record; `before` is the state it was decided from. True when
        it is stored. On a full file system older segments make room."""
        end = None
        for _ in range(2):
            try:
                if self.numbers is None:
                    self._look()
                end = self._end(len(line), segments.head_bytes(before))
                self._append(line, before)
                return True
            except OSError as fault:
                if not self._after(fault):
                    return False
                if self.numbers and (self.numbers[-1], self.size) == end:
                    # The call complained, but only after its work was done.
                    return True
        return False

    def look(self):
        """Know the segments, the size of the newest, and the mark. Raises OSError."""
        if self.numbers is None:
            self._look()
        if self.mark is None:
            try:
                self.mark = segments.decode_mark(self.store.read(segments.MARK))
            except OSError:
                # It will be written anew.
                self.mark = 0, 0

    def unsent(self):
        """Whole records that no broker has acknowledged, oldest first: a piece out of
        one segment, nothing where none wait. Raises OSError."""
        self.look()
        while self.numbers:
            number, at = segments.waiting(self.mark, self.numbers)
            at = at or segments.begins(self.store.read_part(segments.name(number), 0, 4))
            data = self.store.read_part(segments.name(number), at, segments.PIECE_BYTES)
            self.mark = number, at
            data = data[: len(data) - len(data) % segments.RECORD_BYTES]
            if data[:2] != b"RP":
                # No record of ours (its magic comes first), as after a firmware with another state.
                data = b""
            if data or number == self.numbers[-1]:
                return data
            # Its end: the next segment's turn.
            self.mark = number + 1, 0
        return b""

    def acknowledge(self, count, size):
        """Note that `count` records of the `size` bytes given last were taken.
        True when that was all of them. Raises OSError."""
        taken = segments.taken_bytes(count, size)
        if taken:
            self.move((self.mark[0], self.mark[1] + taken))
        return taken == size

    def move(self, mark):
        """Set the mark (segment, byte). Raises OSError."""
        self.mark = mark
        self.store.write(segments.MARK, segments.encode_mark(mark))

    def _end(self, size, head):
        """Where the next record will end: (segment, byte). head: bytes of a head now."""
        if self.numbers and segments.goes_on(self.size, head):
            return self.numbers[-1], self.size + size
        return (self.numbers[-1] + 1 if self.numbers else 1), head + size

    def _look(self):
        """Find the segments, and how far the newest really goes."""
        numbers = segments.numbers(self.store.names())
        self.size = self.store.size(segments.name(numbers[-1])) if numbers else 0
        self.numbers = numbers

    def _after(self, fault):
        """Look what reached the files; drop the oldest where room is short.
        True when another try makes sense."""
        self.numbers = None
        try:
            self._look()
        except OSError:
            return False
        if fault.args[0] != NO_ROOM:
            return True
        return len(self.numbers) > 1 and self._drop_oldest()

    def _append(self, line, before):
        if not self.numbers or not segments.goes_on(self.size, segments.head_bytes(before)):
            number = self.numbers[-1] + 1 if self.numbers else 1
            head = segments.encode_head(number, before)
            self.store.replace(segments.name(number), head + line)
            self.numbers.append(number)
            self.size = len(head) + len(line)
            while len(self.numbers) > self.most and self._drop_oldest():
                pass
            return
        self.store.append(segments.name(self.numbers[-1]), line)
        self.size += len(line)

    def _drop_oldest(self):
        try:
            self.store.remove(segments.name(self.numbers[0]))
        except OSError:
            return False
        self.numbers.pop(0)
        return True
