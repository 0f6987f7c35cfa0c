"""A display of one board as it stands in memory, for bench/footprint.py: the real modules, a chip that takes all.

load(kept) brings all of it in, as after a press; session(kept, looked) then shows the first page until it goes dark.
kept: weighed.kept.
"""

import stubchip


def load(kept):
    """A board that forgets lets go first of what decided, as lit.py does."""
    from potreeve import lit

    if not kept["rig"].power.keeps_ram:
        lit.make_room(kept["session"])
    from potreeve.hal import picture
    from potreeve.logic import face

    kept["display"] = lit, face, picture


def session(kept, looked):
    """Show what there is to show; looked: called where much is held at once. Returns what went wrong, 0 for nothing."""
    from potreeve.logic import record, segments

    one = kept["session"]
    store = kept["rig"].store
    stubchip.I2C.writeto = lambda self, address, data: looked()
    number = segments.numbers(store.names())[-1]
    line = store.read(segments.name(number))[-record.RECORD_BYTES :]
    one.errors = 0
    # debounce.SHORT, which a compiled module no longer has.
    one.lights = 1
    lit = kept["display"][0]
    kept["display"] = None
    one._try(1, None, lit.light, one, line, 1800)
    return one.errors or one.told
