"""Charge that is not in the books yet, as awake time that draws as much: the radio's and the display's, spent after the
record was written; and the press that a signed command stands for. Both are in the next record, so that it replays."""

from potreeve.logic.units import const

AIR = "sent.air"

# No more of it in one record than its awake time has room for; the rest waits for the next (2**16 ms, less a wake).
_MOST_MS = const(50000)


def take(store):
    """What is owed, once: (ms, press: debounce.*)."""
    ms, press = _read(store)
    now_ms = min(ms, _MOST_MS)
    if ms or press:
        left_ms = ms - now_ms
        store.write(AIR, b"%d 0" % left_ms if left_ms else b"")
    return now_ms, press


def add(store, ms, press=0):
    """Owe more; a press only where there is one."""
    owed_ms, pressed = _read(store)
    store.write(AIR, b"%d %d" % (owed_ms + ms, press or pressed))


def _read(store):
    words = (store.read(AIR) or b"0 0").split()
    return int(words[0]), int(words[1])
