"""What a wake holds at once, on top of what is alive before it: bytes, the most that was seen. For the unix build.

usage: weigh_start.py FOLDER WAKES     FOLDER: ends in "/", holds board.json and settings.json

The collector runs at every half kilobyte, so that little but what is held is counted; looked at where a wake builds
its largest things: state, record, ledger, log.
"""

import gc
import json
import sys

import stubchip  # noqa: F401
import weighed
import weighed_display
import weighed_radio

DEEP = (
    ("potreeve.logic.cycle", "copy"),
    ("potreeve.logic.record", "encode"),
    ("potreeve.logic.ledger", "encode"),
    ("potreeve.logic.segments", "encode_head"),
    ("potreeve.logic.water", "decide"),
    ("potreeve.logic.signals", "show"),
)
STEP_BYTES = 512

most = [0]


def looked(call):
    def wrapped(*args):
        given = call(*args)
        most[0] = max(most[0], gc.mem_alloc())
        return given

    return wrapped


weighed.root = sys.argv[1]
weighed.hardware()
weighed.application()
weighed.session()
for module, name in DEEP:
    module = sys.modules[module]
    setattr(module, name, looked(getattr(module, name)))
gc.collect()
alive = gc.mem_alloc()
gc.threshold(STEP_BYTES)
for _ in range(int(sys.argv[2])):
    weighed.wake()
gc.threshold(-1)
working = most[0] - alive


def look():
    most[0] = max(most[0], gc.mem_alloc())


def taken(what, module):
    """The most a session of `module` takes besides what is alive before it, once the work of a wake is done."""
    module.load(weighed.kept)
    gc.collect()
    most[0] = loaded = gc.mem_alloc()
    gc.threshold(STEP_BYTES)
    failed = module.session(weighed.kept, look)
    gc.threshold(-1)
    if failed:
        raise SystemExit("the %s failed: %d" % (what, failed))
    return most[0] - loaded


showing = taken("display", weighed_display) if weighed.kept["rig"].display else 0
one = weighed.kept["session"]
store = weighed.kept["rig"].store
store.write(
    "settings.json", json.dumps(dict(json.loads(store.read("settings.json")), radio=weighed_radio.KEYS)).encode()
)
one._open_settings()
print("working", working, taken("radio", weighed_radio), showing)
