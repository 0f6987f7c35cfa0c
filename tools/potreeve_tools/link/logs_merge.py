"""Two copies of one segment, here and on the board: which bytes of which are to be kept.

A record carries its own checksum, and so does the head, so for each of them it
can be told which copy is whole. Two whole ones that differ were written at
different times: then the board was set back, and both histories are true.
"""

from itertools import zip_longest

from potreeve.logic import record, recorded, segments

SIZE = record.RECORD_BYTES


def clash(ours, theirs):
    """True when the copies are not of one history, or ours can't be compared with theirs."""
    if _other(segments.decode_head, _head(ours), _head(theirs)):
        return True
    if any(_other(recorded.decode, *pair) for pair in zip(slots(ours), slots(theirs))):
        return True
    # As a firmware with another head has written it: nothing in it tells what it is.
    return bool(ours) and not _any_whole(ours) and _any_whole(theirs)


def merge(ours, theirs):
    """Head and records that are whole on either side; where neither is, what is here stays."""
    if not _any_whole(theirs):
        return ours
    head = _head(ours)
    if segments.decode_head(head) is None and (
        segments.decode_head(theirs) is not None or len(head) < segments.HEAD_BYTES
    ):
        head = _head(theirs)
    return head + b"".join(_better(*pair) for pair in zip_longest(slots(ours), slots(theirs), fillvalue=b""))


def _better(ours, theirs):
    if _whole(ours) or (len(ours) >= len(theirs) and not _whole(theirs)):
        return ours
    return theirs


def begins(data):
    """Where a segment's records begin, even where its first bytes are damaged."""
    longer = data[segments.EXTRA_HEAD_BYTES :][:SIZE]
    return segments.EXTRA_HEAD_BYTES if _whole(longer) else segments.begins(data)


def slots(data):
    """The records' places in a segment, damaged or not; the last may be short."""
    return [data[at : at + SIZE] for at in range(begins(data), len(data), SIZE)]


def shared_records(before, after):
    """How many of a segment's first places are the same in an earlier memory's copy of it.

    A place that is damaged in one of the two is passed over: the other may have it.
    """
    if _other(segments.decode_head, _head(before), _head(after)):
        return 0
    count = 0
    for place, (one, other) in enumerate(zip(slots(before), slots(after)), 1):
        if _whole(one) and _whole(other):
            if one != other:
                break
            count = place
    return count


def _head(data):
    return data[: begins(data)]


def _other(decode, ours, theirs):
    """True when both are whole and not the same."""
    return ours != theirs and decode(ours) is not None and decode(theirs) is not None


def _whole(slot):
    return recorded.decode(slot) is not None


def _any_whole(data):
    return segments.decode_head(data) is not None or any(_whole(slot) for slot in slots(data))
