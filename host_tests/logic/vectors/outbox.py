"""When to send, for how long, what to believe of the answer, and the bytes of it all."""

from potreeve.logic import outbox, record, segments

FIELDS = ("at_s", "wait_s", "every_s", "fails", "trying", "alarm", "hint", "about")
HINT = b"\x01\x02\x03\x04\x05\x06\x0b"
HEAD = segments.HEAD_BYTES
ONE = record.RECORD_BYTES
END = (5, HEAD + 3 * ONE)
ENERGY = {"active_ua": 25000, "probe_ua": 15000, "report_uah": 80}


def past(at_s=0, wait_s=0, every_s=0, fails=0, trying=0, alarm=0, hint=b"", about=0):
    made = outbox.Past()
    for name, value in zip(FIELDS, (at_s, wait_s, every_s, fails, trying, alarm, hint, about)):
        setattr(made, name, value)
    return made


def shown(made):
    return [getattr(made, name) for name in FIELDS]


def again(*values):
    """What was kept is read back the same, but for a try that was under way."""
    return shown(outbox.decode(outbox.encode(past(*values))))


def spoilt(at, cut):
    data = bytearray(outbox.encode(past(1, 2, 3, 1)))
    data[at] ^= 1
    return shown(outbox.decode(bytes(data[:len(data) - cut])))


def foreign():
    """Whole, but no file of ours."""
    made = past(1, 2, 3, 1)
    made.magic = 0x1234
    return shown(outbox.decode(outbox.encode(made)))


def is_due(values, up_s, alarm):
    return outbox.due(past(*values), up_s, alarm)


def begun(up_s):
    made = past(1, 2, 3)
    outbox.begin(made, up_s)
    return shown(made)


def after(fails, every_s, well):
    """What is kept after a try that ended well, or not."""
    made = past(100, 0, every_s, fails, 1, 0, HINT)
    outbox.ended(made, well)
    return shown(made)


def told(boot, segment, byte):
    return outbox.told({"boot": boot, "segment": segment, "byte": byte}, 7, END)


def line(head):
    values = [3, 41, 7200, 0, 1800, 1500, 2, 0, 3900, 2100, 450, 800, 0, 1800, 0, 1, 2, 810, 64, 3, 0]
    names = record.HEAD_NAMES[2:]
    values = [head.get(name, value) for name, value in zip(names, values)]
    return record.encode(tuple(values), ((30000, 9, 0xFFFF, 0, 713, 0, 0, 900, 12),) * 3)


def said(nothing=0, utc_s=0):
    """A report of a record; nothing: where no sensor answered."""
    head = {"utc_s": utc_s}
    if nothing:
        head.update({"battery_mv": 0, "temp_cdeg": record.NO_TEMP, "rh_pm": record.NO_RH, "lx": record.light_field(-1),
                     "memory": 0})
    found = outbox.report(line(head), "sill", 9, 7200, ["a", "b", "c"], "0.1.0")
    return [found[name] for name in ("v", "rig", "firmware", "boot", "seq", "time_s", "proven_s", "due_s", "battery_mv",
            "charge_pm", "battery_left_d", "temperature_cdeg", "humidity_pm", "light_lx", "tray_most_ml", "rig_hold",
            "alarm", "errors", "memory_lost")] + [[pot[name] for name in ("pot", "moisture_pm", "rung", "reason",
            "pulse_ms")] for pot in found["pots"]], len(found)


VECTORS = (
    ("again", (0, 0, 0, 0, 0, 0, b""), [0, 0, 0, 0, 0, 0, b"", 0]),
    ("again", (5, 3600, 3600, 2, 0, 1, HINT), [5, 3600, 3600, 2, 0, 1, HINT, 0]),
    ("again", (4294967295, 65536, 43200, 255, 0, 2, HINT), [4294967295, 65536, 43200, 255, 0, 2, HINT, 0]),
    ("again", (5, 3600, 3600, 0, 0, 1, HINT, 4294967295), [5, 3600, 3600, 0, 0, 1, HINT, 4294967295]),
    # A try that never ended: half a day, and the access point is looked for anew.
    ("again", (5, 3600, 3600, 0, 1, 1, HINT), [5, 43200, 3600, 1, 0, 1, b"", 0]),
    ("again", (5, 3600, 3600, 255, 1, 0, HINT), [5, 43200, 3600, 255, 0, 0, b"", 0]),
    ("spoilt", (0, 0), [0, 0, 0, 0, 0, 0, b"", 0]),
    ("spoilt", (9, 0), [0, 0, 0, 0, 0, 0, b"", 0]),
    ("spoilt", (9, 1), [0, 0, 0, 0, 0, 0, b"", 0]),
    ("foreign", (), [0, 0, 0, 0, 0, 0, b"", 0]),
    ("is_due", ((), 0, 0), True),
    ("is_due", ((100, 3600, 3600), 3699, 0), False),
    ("is_due", ((100, 3600, 3600), 3700, 0), True),
    # The memory was lost: seconds count anew.
    ("is_due", ((100, 3600, 3600), 99, 0), True),
    # Louder than what was told does not wait, unless sending fails anyhow.
    ("is_due", ((100, 3600, 3600, 0, 0, 0), 200, 1), True),
    ("is_due", ((100, 3600, 3600, 0, 0, 1), 200, 1), False),
    ("is_due", ((100, 3600, 3600, 0, 0, 2), 200, 1), False),
    ("is_due", ((100, 3600, 3600, 1, 0, 0), 200, 2), False),
    ("begun", (77,), [77, 2, 3, 0, 1, 0, b"", 0]),
    ("after", (0, 3600, True), [100, 3600, 3600, 0, 0, 0, HINT, 0]),
    ("after", (9, 3600, True), [100, 3600, 3600, 0, 0, 0, HINT, 0]),
    ("after", (0, 3600, False), [100, 3600, 3600, 1, 0, 0, b"", 0]),
    ("after", (1, 3600, False), [100, 3600, 3600, 2, 0, 0, b"", 0]),
    ("after", (2, 3600, False), [100, 7200, 3600, 3, 0, 0, b"", 0]),
    ("after", (3, 3600, False), [100, 14400, 3600, 4, 0, 0, b"", 0]),
    ("after", (4, 3600, False), [100, 21600, 3600, 5, 0, 0, b"", 0]),
    ("after", (255, 600, False), [100, 21600, 600, 255, 0, 0, b"", 0]),
    ("after", (255, 86400, False), [100, 86400, 86400, 255, 0, 0, b"", 0]),
    # send_s, charge, reserve
    ("interval_s", (3600, 1000, 80), 3600),
    ("interval_s", (3600, 300, 80), 3600),
    ("interval_s", (3600, 299, 80), 7200),
    ("interval_s", (3600, 159, 80), 14400),
    ("interval_s", (3600, 79, 80), 28800),
    ("interval_s", (43200, 79, 80), 86400),
    ("interval_s", (600, 400, 500), 4800),
    ("promise_s", (3600, 3600), 22896),
    ("promise_s", (600, 600), 3816),
    ("promise_s", (86400, 14400), 320544),
    ("promise_s", (200000, 14400), 604800),
    ("budget_ms", (0,), 20000),
    ("budget_ms", (1,), 20000),
    ("budget_ms", (2,), 14000),
    ("budget_ms", (255,), 14000),
    ("extra_ms", (0, ENERGY), 0),
    ("extra_ms", (4000, ENERGY), 7200),
    ("extra_ms", (27000, ENERGY), 48600),
    ("boot_of", (None,), 0),
    ("boot_of", (b"",), 0),
    ("boot_of", (b"\x01\x00\x00",), 0),
    ("boot_of", (b"\x01\x00\x00\x00",), 1),
    ("boot_of", (b"\x00\x00\x00\x80",), 0),
    ("boot_of", (b"\xff\xff\xff\xff",), 2147483647),
    ("log_head", (17, (3, 776), (4, 668), 8, 22896),
     b"PL\x01\x08\x11\x00\x00\x00\x03\x00\x00\x00\x04\x00\x00\x00\x08\x03\x9c\x02\x70\x59\x00\x00"),
    ("taken", (None, (4, 668), 8), 0),
    ("taken", ((4, 667), (4, 668), 8), 0),
    ("taken", ((4, 668), (4, 668), 8), 0),
    ("taken", ((4, 668 + 3 * ONE), (4, 668), 8), 3),
    ("taken", ((4, 668 + 8 * ONE), (4, 668), 8), 8),
    ("taken", ((4, 668 + 9 * ONE), (4, 668), 8), 8),
    ("taken", ((5, 0), (4, 668), 8), 8),
    ("told", (7, 5, HEAD + 2 * ONE), (5, HEAD + 2 * ONE)),
    ("told", (7, END[0], END[1]), END),
    ("told", (7, 0, 0), (0, 0)),
    ("told", (7, 2, 0), (2, 0)),
    # Another log's, beyond its end, between two records, no numbers.
    ("told", (8, 5, HEAD), None),
    ("told", (7, 5, HEAD + 4 * ONE), None),
    ("told", (7, 6, 0), None),
    ("told", (7, 5, HEAD + 1), None),
    ("told", (7, 5, 3), None),
    ("told", (7, -1, HEAD), None),
    ("told", (7, 2, -5), None),
    ("told", (7, True, HEAD), None),
    ("told", (7, 5, False), None),
    ("told", (7, "5", HEAD), None),
    ("told", (7, 5, None), None),
    ("told", (7, 1099511627776, HEAD), None),
    ("time_of", ({"time_s": 1795701234},), 1795701234),
    ("time_of", ({"time_s": "1795701234"},), 0),
    ("time_of", ({},), 0),
    ("time_of", ([],), 0),
    ("said", (), ([1, "sill", "0.1.0", 9, 41, None, 7200, 7200, 3900, 810, 64, 2100, 450, 800, 3, 0, 1, 0, 1,
     ["a", 713, 0, 0, 900], ["b", 713, 0, 0, 900], ["c", 713, 0, 0, 900]], 20)),
    ("said", (3, 1780000000), ([1, "sill", "0.1.0", 9, 41, 1780000000, 7200, 7200, None, 810, 64, None, None, None, 3,
                                0, 1, 0,
     0, ["a", 713, 0, 0, 900], ["b", 713, 0, 0, 900], ["c", 713, 0, 0, 900]], 20)),
)  # fmt: skip
