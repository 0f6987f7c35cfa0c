"""A rig's stored records as rows of `potreeve logs export`: the same columns, whichever way they came."""

from potreeve.logic import record, recorded, segments

from potreeve_tools.link.logs_read import Row
from potreeve_tools.station import logpiece, sight


def rows(store, rig):
    """(list of Row, names of the pots), oldest first; memory: the lives of the log in the order they were heard."""
    lives = [
        boot
        for (boot,) in store.rows("SELECT boot FROM records WHERE rig = ? GROUP BY boot ORDER BY MIN(heard_s)", (rig,))
    ]
    one = sight.one_rig(store, rig)
    found = []
    for number, boot in enumerate(lives, 1):
        for place, body in store.rows(
            "SELECT place, body FROM records WHERE rig = ? AND boot = ? ORDER BY place", (rig, boot)
        ):
            segment, byte = logpiece.split(place)
            found.append(
                Row(number, segment, (byte - segments.HEAD_BYTES) // record.RECORD_BYTES, *recorded.decode(bytes(body)))
            )
    return found, one.pot_names(4) if one else []
