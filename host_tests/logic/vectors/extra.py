"""What a rig with extras remembers: zeros at first, and everything comes back."""

from potreeve.logic import extra, state


def survives(value):
    """How many fields did not come back from one filled with a value, and how many bytes it takes."""
    made = extra.fresh()
    for name in extra.NAMES:
        setattr(made, name, value)
    data = made.pack()
    again = extra.unpack(data)
    return len([name for name in extra.NAMES if getattr(again, name) != value]), len(data) == state.EXTRA_BYTES


def fresh():
    return sum([getattr(extra.fresh(), name) for name in extra.NAMES])


def short(count):
    """A number from bytes of which only the first are not zero: fields that were added later read as zero."""
    return extra.unpack(bytes([1] * count) + bytes(extra.BYTES - count)).pack() == bytes([1] * count) + bytes(
        extra.BYTES - count
    )


VECTORS = (
    ("survives", (0,), (0, True)),
    ("survives", (255,), (0, True)),
    ("fresh", (), 0),
    ("short", (1,), True),
)
