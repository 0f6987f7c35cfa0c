"""What a rig with extras remembers: zeros at first, and everything comes back, from ledger and log, too."""

from potreeve.logic import cycle, extra, record, recorded, segments, state

from vectors.made import make_state


def survives(value):
    """How many fields did not come back from one filled with a value, and whether it has its length."""
    made = extra.fresh()
    for name in extra.NAMES:
        setattr(made, name, value)
    data = made.pack()
    again = extra.unpack(data)
    return len([name for name in extra.NAMES if getattr(again, name) != value]), len(data) == state.EXTRA_BYTES


def fresh():
    return sum([getattr(extra.fresh(), name) for name in extra.NAMES])


def short(count):
    """Whether bytes of which only the first are not zero are packed again as they were: fields that were added later
    read as zero."""
    data = bytes([1] * count) + bytes(extra.BYTES - count)
    return extra.unpack(data).pack() == data


def _extended(value):
    made = make_state({"seq": 5}, {})
    what = extra.fresh()
    what.tray_wet = value
    made.extra = what
    return made


def in_state(value):
    """An extra's field in the state packed and unpacked, and in a copy of that; whether it is that much longer."""
    data = state.pack(_extended(value))
    again = state.unpack(data)
    copied = extra.unpack(state.copy(again).extra).tray_wet
    return extra.unpack(again.extra).tray_wet, copied, len(data) == state.STATE_BYTES + state.EXTRA_BYTES


def sealed(version, cut):
    """The extra's field of a state sealed as version 2, asked for as `version`; cut: bytes missing."""
    data = state.sealed(7, 2, 1, _extended(9))
    found = state.unsealed(data[:len(data) - cut], 7, version)
    return None if found is None else extra.unpack(found[1].extra).tray_wet


def head(number, turn):
    """Number, seq and an extra's field of a segment's head, with the byte at `turn` spoilt; whether it says how long it
    is."""
    made = _extended(3)
    data = bytearray(segments.encode_head(number, made) + b"more")
    if turn >= 0:
        data[turn] ^= 1
    found = segments.decode_head(bytes(data))
    if found is None:
        return None
    right = segments.head_bytes(made) == len(data) - 4 == segments.begins(bytes(data))
    return found[0], found[1].rig.seq, extra.unpack(found[1].extra).tray_wet, right


def there_and_back(usb, alarm, memory, tray_wet, tub_mark, tub_days, note=0):
    """What comes back of a record with extras; and whether all else does, error bits set later, too. tub_days: as the
    Extra has it."""
    head = (4, 7, 8, 9, 10, 11, 3, 2, 3900, -5, 450, 800, usb, 1800, 56, alarm, memory, 900, 30, 40, 5)
    pots = [(30000, 40, 65535, 3800, 800, 1, 2, 900, 12)] * 4
    line = record.encode(head, pots)
    seen = cycle.Readings()
    seen.tray_wet = tray_wet
    seen.tub_mark = tub_mark
    what = extra.fresh()
    what.tub_days = tub_days
    what.tub_note = note
    made = extra.in_record(line, seen, what)
    told, blocks = recorded.decode(made)
    was, same = recorded.decode(line)
    names = ("version", "usb", "alarm", "memory", "tray_wet", "tub_mark", "tub_days")
    rest = [name for name in was if name not in names + ("tub_note",) and told[name] != was[name]]
    again = recorded.decode(record.with_errors(made, 8))[0]
    kept = again["errors"] == 13 and again["tub_note"] == told["tub_note"] == note
    kept = kept and [again[name] for name in names] == [told[name] for name in names]
    fits = len(made) == len(line) and blocks == same
    return tuple([told[name] for name in names]) + (not rest and kept and fits,)


def with_soil(soil_cdeg, rh_pm, soc_pm):
    """(version, soil_cdeg, rh_pm, soc_pm, whether all else is as without it) of a record there and back."""
    head = (4, 7, 8, 9, 10, 11, 3, 2, 3900, -5, rh_pm, 800, 1, 1800, 56, 2, 1, soc_pm, 30, 40, 5)
    line = record.encode(head, [(30000, 40, 65535, 3800, 800, 1, 2, 900, 12)] * 4)
    seen = cycle.Readings()
    was, same = recorded.decode(extra.in_record(line, seen, extra.fresh()))
    seen.soil_cdeg = soil_cdeg
    told, blocks = recorded.decode(extra.in_record(line, seen, extra.fresh()))
    names = ("version", "soil_cdeg", "rh_pm", "soc_pm")
    rest = [name for name in was if name not in names and told[name] != was[name]]
    return tuple([told[name] for name in names]) + (not rest and blocks == same,)


def level(days, note):
    made = extra.fresh()
    made.tub_days = days
    made.tub_note = note
    return extra.level(made)


def heeded(tray_wet, hold):
    """(whether others than water.decide decide, hold) by what the tray's sensor says in a rig that is held so."""
    made = state.copy(_extended(0))
    made.rig.hold = hold
    seen = cycle.Readings()
    seen.button = 0
    seen.tray_wet = tray_wet
    seen.temp_cdeg = record.NO_TEMP
    other = extra.heed(made, seen, {"tray_headroom_ml": 900}, 0, 0)
    return other is not None, made.rig.hold


def told(tray_wet, tub_days):
    """(what a report says of the tray's sensor, of the tub's days)"""
    said = extra.told({"tray_wet": tray_wet, "tub_days": tub_days})
    return said["tray_sensor"], said["tub_left_d"]


VECTORS = (
    ("there_and_back", (0, 0, 0, 0, 0, 0), (2, 0, 0, 0, 0, 0, 255, True)),
    ("there_and_back", (1, 2, 2, 4, 15, 255), (2, 1, 2, 2, 4, 15, 254, True)),
    ("there_and_back", (0, 1, 1, 2, 7, 1), (2, 0, 1, 1, 2, 7, 0, True)),
    ("there_and_back", (1, 0, 2, 3, 0, 2), (2, 1, 0, 2, 3, 0, 1, True)),
    ("there_and_back", (0, 0, 0, 0, 1, 1, 60), (2, 0, 0, 0, 0, 1, 0, True)),
    ("there_and_back", (0, 0, 0, 0, 1, 0, 63), (2, 0, 0, 0, 0, 1, 255, True)),
    # The soil: none, both ends, and what stands beside it at both of its own.
    ("with_soil", (-32768, 450, 900), (2, -32768, 450, 900, True)),
    ("with_soil", (-1000, 0, 0), (3, -1000, 0, 0, True)),
    ("with_soil", (5350, 1000, 1000), (3, 5350, 1000, 1000, True)),
    ("with_soil", (1975, -1, 513), (3, 1975, -1, 513, True)),
    ("with_soil", (-25, 1, 1), (3, -25, 1, 1, True)),
    ("with_soil", (0, 999, 255), (3, 0, 999, 255, True)),
    # The tub: a week's water, three days', not known.
    ("level", (5, 0), 0),
    ("level", (5, 60), 1),
    ("level", (4, 60), 2),
    ("level", (0, 63), 1),
    ("heeded", (1, 0), (False, 0)),
    ("heeded", (2, 0), (True, 56)),
    ("heeded", (2, 53), (False, 53)),
    ("heeded", (0, 57), (False, 0)),
    ("heeded", (0, 50), (False, 50)),
    ("heeded", (0, 58), (False, 0)),
    ("heeded", (1, 58), (False, 0)),
    ("told", (0, 255), (None, None)),
    ("told", (2, 0), (2, 0)),
    ("survives", (0,), (0, True)),
    ("survives", (255,), (0, True)),
    ("fresh", (), 0),
    ("short", (1,), True),
    ("short", (6,), True),
    ("in_state", (9,), (9, 9, True)),
    ("sealed", (2, 0), 9),
    ("sealed", (3, 0), None),
    ("sealed", (1, 0), None),
    ("sealed", (2, 1), None),
    ("sealed", (2, state.EXTRA_BYTES), None),
    ("head", (7, -1), (7, 5, 3, True)),
    ("head", (7, 100), None),
)
