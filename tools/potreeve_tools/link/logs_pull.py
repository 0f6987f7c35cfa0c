"""Fetches from a board what of its log is not on the desktop yet.

One round trip lists the segments; then whole batches of BATCH_BYTES come, each
with its checksum, whatever records they hold. What has arrived is kept at once,
so a pull that breaks off goes on where it stopped.
"""

import ast
import binascii
from typing import NamedTuple

from potreeve.logic import segments

from potreeve_tools.link import logs_store
from potreeve_tools.terminal import exits

BATCH_BYTES = 16384
TRIES = 3

# What runs on the board. `known`: {segment: bytes here}; says of each segment its size, the
# checksum of its head, and that of as many bytes as are here.
LIST = """
import os
from binascii import crc32
known=%r
def crc(path,n):
    c=0
    with open(path,'rb') as f:
        while n>0:
            d=f.read(512 if n>512 else n)
            if not d: break
            n-=len(d)
            c=crc32(d,c)
    return c&0xffffffff
found=[]
try: names=os.listdir('/data')
except OSError: names=[]
for name in names:
    if name[:4]=='log.' and len(name)==10 and name[4:].isdigit():
        p='/data/'+name
        try:
            size=os.stat(p)[6]
            n=known.get(int(name[4:]),0)
            found.append((int(name[4:]),size,crc(p,%d),crc(p,n) if n else 0))
        except OSError as e: found.append((int(name[4:]),-1,e.args[0],0))
print(found)
"""

FETCH = """
from binascii import crc32,b2a_base64
c=0
for name,at,n in %r:
    try:
        with open('/data/'+name,'rb') as f:
            f.seek(at)
            while n>0:
                d=f.read(510 if n>510 else n)
                if not d: break
                n-=len(d)
                c=crc32(d,c)
                print(b2a_base64(d).decode().strip())
    except OSError as e: print('!',e.args[0])
    print('-')
print(c&0xffffffff)
"""


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
    listed = ast.literal_eval(run(LIST % (here, segments.HEAD_BYTES)))
    unreadable = [number for number, size, _, _ in listed if size < 0]
    listed = sorted(entry for entry in listed if entry[1] >= 0)
    if not listed:
        return Pulled(folders[-1] if folders else None, 0, 0, 1, unreadable)
    folder = folders[-1] if folders and _same_memory(folders[-1], here, listed) else None
    if folder is None:
        folder, here = logs_store.new_memory(board_id), {}
    wanted = _wanted(folder, here, listed)
    trips, got, total = 1, 0, sum(size - at for _, at, size in wanted)
    touched = set()
    for batch in _batches(wanted):
        for number, at, data, more in _fetch(run, batch):
            trips += more
            logs_store.append(folder, number, at, data)
            got += len(data)
            touched.add(number)
        if progress:
            progress(got, total)
    return Pulled(folder, len(touched), got, trips, unreadable)


def _same_memory(folder, here, listed):
    """True when the board's segments go on from those in `folder`."""
    shared = [entry for entry in listed if entry[0] in here]
    for number, size, head, _ in shared:
        if size < here[number] or head != logs_store.head_crc(folder, number) and here[number] >= segments.HEAD_BYTES:
            return False
    if shared or not here:
        return True
    return listed[0][0] > max(here)


def _wanted(folder, here, listed):
    """(number, first byte missing, size) of every segment that is not whole here."""
    wanted = []
    for number, size, _, prefix in listed:
        at = here.get(number, 0)
        if at and prefix != logs_store.whole_crc(folder, number):
            at = 0
        if at < size:
            wanted.append((number, at, size))
    return wanted


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
    """[(number, at, data, round trips it took)] of one batch, checked."""
    asked = [(segments.name(number), at, count) for number, at, count in batch]
    for attempt in range(TRIES):
        pieces = _parse(run(FETCH % (asked,)), len(batch))
        if pieces is not None:
            return [
                (number, at, data, attempt + 1 if place == 0 else 0)
                for place, ((number, at, _), data) in enumerate(zip(batch, pieces))
                if data or place == 0
            ]
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
