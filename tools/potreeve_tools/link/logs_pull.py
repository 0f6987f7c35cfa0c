"""Fetches from a board what of its log is not on the desktop yet.

One round trip lists the segments; then whole batches of BATCH_BYTES come, each
with its checksum, whatever records they hold. What has arrived is kept at once,
so a pull that breaks off goes on where it stopped.

A segment that reads otherwise on the board than it stands here is fetched whole
and compared, see logs_merge: either side may have gone bad, and the board may
have been set back to an earlier state. Nothing whole is ever overwritten.
"""

import ast
import binascii
from typing import NamedTuple

from potreeve.logic import segments

from potreeve_tools.link import logs_merge, logs_store
from potreeve_tools.link.device import program
from potreeve_tools.terminal import exits

BATCH_BYTES = 16384
TRIES = 3


class Pulled(NamedTuple):
    """What a pull did: its folder, segments and bytes fetched, round trips, segments unreadable on the board."""

    folder: object
    segments: int
    bytes: int
    trips: int
    unreadable: list


def pull(run, board_id, progress=None):
    """Fetch what is new; returns Pulled, its folder None where the board has no log.

    run(code) -> text the board printed. progress(bytes so far, of all), or None.
    Raises exits.Stop when a batch does not arrive whole after TRIES tries.
    """
    folders = logs_store.memories(board_id)
    here = logs_store.local(folders[-1]) if folders else {}
    listed = ast.literal_eval(run(f"{program('log_pieces')}_segments({here!r})"))
    unreadable = [number for number, size, _ in listed if size < 0]
    listed = sorted(entry for entry in listed if entry[1] >= 0)
    if not listed:
        return Pulled(folders[-1] if folders else None, 0, 0, 1, unreadable)
    work = _Work(run, board_id, progress)
    work.settle(folders[-1] if folders else None, here, listed)
    work.fetch_rest(listed)
    return Pulled(work.folder, len(work.touched), work.got, 1 + work.trips, unreadable + sorted(work.cut_short))


class _Work:
    """One pull: where it goes (folder, here: bytes of each segment there) and what has been done."""

    def __init__(self, run, board_id, progress):
        self.run, self.board_id, self.progress = run, board_id, progress
        self.folder, self.here = None, {}
        self.trips = self.got = 0
        self.touched, self.cut_short, self.compared = set(), set(), set()

    def settle(self, folder, here, listed):
        """Find the folder whose log the board's goes on from; make a new one where there is none.

        Segments that differ are mended here, as far as their check sums tell how.
        """
        shared = [entry for entry in listed if entry[0] in here]
        if folder is None or (here and not shared and listed[0][0] < max(here)):
            self.folder = logs_store.new_memory(self.board_id)
            return
        self.folder, self.here = folder, here
        differing = [
            (number, size)
            for number, size, prefix in shared
            if prefix != logs_store.prefix_hash(folder, number, min(size, here[number]))
        ]
        for number, size in differing:
            theirs = self._fetch_whole(number, size)
            ours = logs_store.read_segment(folder, number)
            if logs_merge.clash(ours, theirs):
                self._begin_anew(listed, [entry[0] for entry in differing], number, theirs)
                return
            merged = logs_merge.merge(ours, theirs)
            if merged != ours:
                logs_store.replace(folder, number, merged)
                self.touched.add(number)
            self.here[number] = len(merged)
            self.compared.add(number)

    def _begin_anew(self, listed, differing, number, theirs):
        """The board writes another history than the newest here: a new folder, with what both share."""
        old, old_here = self.folder, self.here
        self.folder, self.here = logs_store.new_memory(self.board_id), {}
        self.compared.clear()
        for shared, size, _ in listed:
            if shared in old_here and shared not in differing:
                data = logs_store.read_segment(old, shared)[:size]
                logs_store.replace(self.folder, shared, data)
                self.here[shared] = len(data)
        logs_store.replace(self.folder, number, theirs)
        self.here[number] = len(theirs)
        self.touched.add(number)

    def _fetch_whole(self, number, size):
        parts = []
        for batch in _batches([(number, 0, size)]):
            pieces, trips = _fetch(self.run, batch)
            self.trips += trips
            parts += pieces
        data = b"".join(parts)
        self.got += len(data)
        if len(data) < size:
            self.cut_short.add(number)
        return data

    def fetch_rest(self, listed):
        """Append what is not here yet."""
        wanted = [
            (number, self.here.get(number, 0), size)
            for number, size, _ in listed
            if number not in self.compared and number not in self.cut_short and self.here.get(number, 0) < size
        ]
        total = self.got + sum(size - at for _, at, size in wanted)
        for batch in _batches(wanted):
            pieces, trips = _fetch(self.run, batch)
            self.trips += trips
            for (number, at, count), data in zip(batch, pieces, strict=True):
                if number in self.cut_short:
                    continue
                if len(data) < count:
                    # The board failed to read on; what came is right as far as it goes.
                    self.cut_short.add(number)
                if data:
                    logs_store.append(self.folder, number, at, data)
                    self.got += len(data)
                    self.touched.add(number)
            if self.progress:
                self.progress(self.got, total)


def _batches(wanted):
    """Lists of (number, at, bytes) that sum to BATCH_BYTES or less."""
    batch, room = [], BATCH_BYTES
    for number, at, size in wanted:
        while at < size:
            take = min(size - at, room)
            batch.append((number, at, take))
            at += take
            room -= take
            if room == 0:
                yield batch
                batch, room = [], BATCH_BYTES
    if batch:
        yield batch


def _fetch(run, batch):
    """([data of each piece], round trips it took) of one batch, checked."""
    asked = [(segments.name(number), at, count) for number, at, count in batch]
    for attempt in range(1, TRIES + 1):
        pieces = _parse(run(f"{program('log_pieces')}_pieces({asked!r})"), len(batch))
        if pieces is not None:
            return pieces, attempt
    raise exits.Stop(
        exits.NOT_VERIFIED,
        [
            f"a part of the log (segment {batch[0][0]}) did not arrive whole in {TRIES} tries; "
            "check the cable and pull again: what has arrived is kept"
        ],
    )


def _parse(text, count):
    """The batch's pieces, or None when the checksum says it is damaged."""
    pieces, data, crc = [], bytearray(), 0
    try:
        *lines, told = text.split()
        skip = False
        for line in lines:
            if skip:
                skip = False
            elif line == "!":
                skip = True
            elif line == "-":
                pieces.append(bytes(data))
                data = bytearray()
            else:
                part = binascii.a2b_base64(line)
                crc = binascii.crc32(part, crc)
                data += part
        whole = int(told) == crc and len(pieces) == count
    except (ValueError, binascii.Error):
        return None
    return pieces if whole else None
