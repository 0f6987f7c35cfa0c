"""Presses from samples: each window's last moment and the one before."""

from potreeve.logic import debounce


def play(spans, dt_ms):
    """((sample number, event) ...) and the last state, for (level, how often) spans."""
    state = debounce.START
    events = []
    number = 0
    for level, times in spans:
        for _ in range(times):
            state, event = debounce.update(state, level, dt_ms)
            if event:
                events.append((number, event))
            number += 1
    return tuple(events), state


VECTORS = (
    ("play", (((0, 5),), 10), ((), (0, 0, 0))),
    ("play", (((1, 2), (0, 30)), 10), ((), (0, 0, 0))),
    ("play", (((1, 3), (0, 19)), 10), ((), (1, 190, 30))),
    ("play", (((1, 3), (0, 20)), 10), (((22, 1),), (0, 0, 0))),
    ("play", (((1, 199), (0, 20)), 10), (((218, 1),), (0, 0, 0))),
    ("play", (((1, 200),), 10), (((199, 2),), (1, 0, 2000))),
    ("play", (((1, 500), (0, 20)), 10), (((199, 2),), (0, 0, 0))),
    ("play", (((1, 3), (0, 19), (1, 1), (0, 20)), 10), (((42, 1),), (0, 0, 0))),
    ("play", (((1, 100), (0, 10), (1, 99)), 10), ((), (1, 0, 1990))),
    ("play", (((1, 100), (0, 10), (1, 100)), 10), (((209, 2),), (1, 0, 2000))),
    ("play", (((1, 2), (0, 1)) * 9 + ((1, 3), (0, 20)), 1), ((), (0, 0, 0))),
    ("play", (((1, 30), (0, 200)), 1), (((229, 1),), (0, 0, 0))),
    ("play", (((1, 29), (0, 200)), 1), ((), (0, 0, 0))),
    ("play", (((1, 3), (0, 1)), 1000), (((1, 2),), (0, 0, 0))),
    ("play", (((1, 1), (0, 1)), 1000), (((1, 1),), (0, 0, 0))),
    ("update", ((1, 0, 1073741823), 1, 10), ((1, 0, 1073741833), 0)),
    ("update", ((1, 199, 50), 0, 1), ((0, 0, 0), 1)),
    ("update", ((1, 199, 1999), 0, 1), ((0, 0, 0), 1)),
    ("update", ((1, 199, 2000), 0, 1), ((0, 0, 0), 0)),
    ("idle", ((0, 0, 0),), True),
    ("idle", ((0, 10, 0),), False),
    ("idle", ((1, 0, 30),), False),
    ("event", (0,), 0),
    ("event", (29,), 0),
    ("event", (30,), 1),
    ("event", (1999,), 1),
    ("event", (2000,), 2),
)
