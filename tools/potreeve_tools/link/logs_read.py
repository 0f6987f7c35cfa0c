"""Reads pulled segments: every CRC is checked, every gap is named.

A row is one wake. Its wall time is known only where the board's clock was
believable; its proven seconds always are.
"""

from datetime import UTC, datetime
from typing import NamedTuple

from potreeve.logic import record, recorded, segments

from potreeve_tools.link import logs_merge, logs_store
from potreeve_tools.terminal.faultlist import BadInput


class Row(NamedTuple):
    """One wake: the memory's number, segment, place in it, and what recorded.decode gives."""

    memory: int
    segment: int
    place: int
    head: dict
    pots: list


class Gap(NamedTuple):
    """Something that is not there: where (words), what (words), records missing (None: unknown)."""

    where: str
    what: str
    missing: int | None

    def line(self):
        """The gap as one line."""
        return f"{self.where}: {self.what}"


def read(folders):
    """(rows, gaps) of memories' folders, oldest first.

    A memory that begins as the one before it (the board was set back) tells only what is new in it.
    """
    rows, gaps, before = [], [], None
    for folder in folders:
        _read_memory(folder, before, rows, gaps)
        before = folder
    return rows, gaps


def _read_memory(folder, before, rows, gaps):
    memory = int(folder.name)
    numbers = logs_store.numbers(folder)
    told = logs_store.numbers(before) if before else []
    last_seq = last = None
    set_back = False
    for number in numbers:
        if last is not None and number != last + 1:
            missed = f"segment {last + 1}" if number == last + 2 else f"segments {last + 1} to {number - 1}"
            gaps.append(Gap(f"memory {memory}", f"{missed} missing: gone from the board before they were pulled", None))
        last = number
        data = _data(folder, number, gaps)
        if data is None:
            continue
        earlier = _data(before, number, []) if number in told else None
        known = logs_merge.shared_records(earlier, data) if earlier else 0
        if known and not set_back:
            set_back = True
            gaps.append(
                Gap(
                    f"memory {memory}", f"the board was set back to an earlier state of memory {int(before.name)}", None
                )
            )
        last_seq = _read_segment(data, (memory, number), last_seq, rows, gaps, known)


def _data(folder, number, gaps):
    try:
        return logs_store.read_segment(folder, number)
    except BadInput as fault:
        gaps.append(Gap(f"memory {int(folder.name)}, segment {number}", fault.faults[0], None))
        return None


def _read_segment(data, place, last_seq, rows, gaps, known=0):
    """Add a segment's rows and gaps; returns the last sequence number. known: so many first records have been told."""
    memory, number = place
    where = f"memory {memory}, segment {number}"
    head = segments.decode_head(data)
    if head is None:
        gaps.append(Gap(where, "its head is damaged; its records are read all the same", 0))
    elif head[0] != number:
        gaps.append(Gap(where, f"its head calls it segment {head[0]}", 0))
    begins = logs_merge.begins(data)
    body = data[begins:]
    size = record.RECORD_BYTES
    bad = []
    for index in range(len(body) // size):
        got = recorded.decode(body[index * size : (index + 1) * size])
        if got is None:
            if index >= known:
                bad.append(index)
            continue
        seq = got[0]["seq"]
        if index < known:
            last_seq = seq
            continue
        if last_seq is not None and seq != last_seq + 1:
            gaps.append(_jump(where, index, last_seq, seq))
        last_seq = seq
        rows.append(Row(memory, number, index, *got))
    if bad:
        shown = ", ".join(str(index + 1) for index in bad[:8]) + (" ..." if len(bad) > 8 else "")
        gaps.append(
            Gap(where, f"{len(bad)} record{'s' if len(bad) > 1 else ''} with a wrong checksum (no. {shown})", len(bad))
        )
    left = len(body) % size if len(data) >= begins else len(data)
    if left:
        gaps.append(Gap(where, f"{left} bytes at its end are no whole record", 0))
    return last_seq


def _jump(where, index, last_seq, seq):
    if seq > last_seq:
        count = seq - last_seq - 1
        return Gap(
            where,
            f"{count} record{'s' if count > 1 else ''} missing before no. {index + 1} "
            f"(sequence {last_seq} is followed by {seq})",
            count,
        )
    return Gap(
        where,
        f"the sequence starts over before no. {index + 1} ({last_seq} is followed by {seq}): "
        "the board's memory was lost or set back",
        None,
    )


def iso_utc(utc_s):
    """Wall time as ISO 8601, or empty text where it is not known."""
    return datetime.fromtimestamp(utc_s, UTC).strftime("%Y-%m-%dT%H:%M:%SZ") if utc_s else ""


def reckoned(rows):
    """Unix seconds per row where its wall time is not known but can be reckoned, else 0.

    From the first moment of the same memory that has a wall time, back by proven seconds; what comes after the last
    known one, on from it. Proven seconds are never more than have passed, so the time between may have been longer.
    """
    known = {}
    for row in rows:
        if row.head["utc_s"]:
            known.setdefault(row.memory, []).append((row.head["up_s"], row.head["utc_s"]))
    found = []
    for row in rows:
        anchors = known.get(row.memory, ())
        up_s = row.head["up_s"]
        if row.head["utc_s"] or not anchors:
            found.append(0)
            continue
        later = next((anchor for anchor in anchors if anchor[0] >= up_s), anchors[-1])
        found.append(later[1] + up_s - later[0])
    return found


def span(seconds):
    """Proven seconds in words."""
    days, rest = divmod(seconds, 86400)
    hours, rest = divmod(rest, 3600)
    if days:
        return f"{days} d {hours} h"
    return f"{hours} h {rest // 60} min" if hours else f"{rest // 60} min"
