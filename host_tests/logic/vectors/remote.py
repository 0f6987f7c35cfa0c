"""Commands from far away: for this rig, new, in time; and the press each stands for."""

from potreeve.logic import remote


def refused(**changes):
    told = {"rig": "sill", "boot": 7, "counter": 5, "until_seq": 100, "do": "hold"}
    told.update(changes)
    return remote.refusal(told, "sill", 7, 90, 4)


def changed(key, value):
    return refused(**{key: value})


VECTORS = (
    ("refused", (), ""),
    ("changed", ("do", "acknowledge"), ""),
    ("changed", ("until_seq", 90), ""),
    ("changed", ("until_seq", 89), "stale"),
    ("changed", ("boot", 8), "stale"),
    ("changed", ("counter", 4), "replayed"),
    ("changed", ("counter", 0), "replayed"),
    ("changed", ("counter", 2147483647), ""),
    ("changed", ("counter", 2147483648), "unknown"),
    ("changed", ("counter", True), "unknown"),
    ("changed", ("counter", False), "unknown"),
    ("changed", ("counter", "9"), "unknown"),
    ("changed", ("until_seq", -1), "unknown"),
    ("changed", ("rig", "other"), "unknown"),
    ("changed", ("do", "pump"), "unknown"),
    ("changed", ("do", None), "unknown"),
    ("refusal", ([], "sill", 7, 90, 4), "unknown"),
    ("press", ("acknowledge", 0), 1),
    ("press", ("acknowledge", 50), 1),
    ("press", ("hold", 0), 2),
    ("press", ("hold", 51), 2),
    ("press", ("hold", 50), 0),
)  # fmt: skip
