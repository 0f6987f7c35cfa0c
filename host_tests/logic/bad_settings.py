"""Settings files that must be refused, and the words each refusal must contain.

A case changes a good file (see kit.make_data), or is raw text as it might lie
on the board or on the desktop. `words` are parts of one and the same fault
line: the key, the value, the remedy.
"""

import copy
from typing import NamedTuple

import kit


class Case(NamedTuple):
    name: str
    words: tuple  # all must be in one line
    rig: dict = {}  # changed top-level keys
    pot: dict = {}  # changed keys of the first channel
    drop: tuple = ()  # removed keys; "channel.key" for the first channel's
    raw: bytes | None = None  # the whole file instead
    kind: str = "json"  # of the raw text
    whole: object = None  # what stands in the file's place
    faults: int = 1  # how many lines

    def make(self):
        """The content to check."""
        if self.whole is not None:
            return self.whole
        data = copy.deepcopy(kit.make_data(2))
        data.update(self.rig)
        if self.pot:
            data["channels"][0].update(self.pot)
        for key in self.drop:
            place, _, name = key.rpartition(".")
            del (data["channels"][0] if place else data)[name]
        return data


def _int(key, value, shown, low_high, unit="", place=""):
    remedy = f"give a whole number {low_high}" + (f" {unit}" if unit else "")
    return (f"{place}{key} = {shown}", remedy)


WRONG_WHOLE = [
    Case("a list", ("settings", "give a table of keys", "a list of 2"), whole=[1, 2]),
    Case("text", ("settings", "give a table of keys", "text"), whole="wake_s = 5"),
    Case("a number", ("settings", "give a table of keys", "a number"), whole=5),
    Case("true", ("settings", "give a table of keys", "true or false"), whole=True),
    Case("a fraction", ("settings", "give a table of keys", "something else"), whole=1.5),
    Case("empty table", ("channels = nothing", "give 1..4 channel tables"), whole={}, faults=3),
]

MISSING = [
    Case("no headroom", ("tray_headroom_ml is missing", "20..20000 ml"), drop=("tray_headroom_ml",)),
    Case("no tray area", ("tray_area_cm2 is missing", "20..20000 cm2"), drop=("tray_area_cm2",)),
    Case("no channels", ("channels = nothing", "give 1..4 channel tables"), drop=("channels",)),
    Case("no name of a channel", ("channels[0].name is missing", "1..16 characters"), drop=("channel.name",)),
    Case("no pot size", ("channels[0].pot_ml is missing", "100..30000 ml"), drop=("channel.pot_ml",)),
    Case("no water held", ("channels[0].holds_ml is missing", "30..20000 ml"), drop=("channel.holds_ml",)),
    Case(
        "two missing at once",
        ("channels[0].pot_ml is missing", "ml"),
        drop=("channel.pot_ml", "channel.holds_ml"),
        faults=2,
    ),
]

WRONG_TYPE = [
    Case("text for a number", _int("wake_s", "'1800'", "'1800'", "600..7200", "s"), {"wake_s": "1800"}),
    Case("fraction for a number", _int("wake_s", "1800.0", "1800.0", "600..7200", "s"), {"wake_s": 1800.0}),
    Case("true for a number", _int("wake_s", True, "True", "600..7200", "s"), {"wake_s": True}),
    Case("nothing for a number", _int("wake_s", None, "None", "600..7200", "s"), {"wake_s": None}),
    Case("list for a number", _int("wake_s", [1800], "[1800]", "600..7200", "s"), {"wake_s": [1800]}),
    Case("number for yes or no", ("beep = 1", "give true or false"), {"beep": 1}),
    Case("text for yes or no", ("beep = 'yes'", "give true or false"), {"beep": "yes"}),
    Case("number for text", ("name = 7", "give 1..24 characters"), {"name": 7}),
    Case("list for a choice", ("battery_kind = ['lithium']", "lithium, alkaline, nimh"), {"battery_kind": ["lithium"]}),
    Case("channels is a table", ("channels = a table", "give 1..4 channel tables"), {"channels": {"name": "mint"}}),
    Case(
        "a channel is a number",
        ("channels[1] = a number", "give a table"),
        {"channels": [kit.make_data(1)["channels"][0], 7]},
    ),
    Case("curve is a number", ("channels[0].curve = 5", "2..6 points"), pot={"curve": 5}),
    Case(
        "curve point of one",
        ("channels[0].curve", "points [raw 0..65535, pm -1000..1000]"),
        pot={"curve": [[52000], [22000, 1000]]},
    ),
    Case(
        "curve point with a fraction",
        ("channels[0].curve", "points [raw 0..65535, pm -1000..1000]"),
        pot={"curve": [[52000, 0.5], [22000, 1000]]},
    ),
]

OUT_OF_RANGE = [
    Case("wakes too often", _int("wake_s", 599, "599", "600..7200", "s"), {"wake_s": 599}),
    Case("wakes too seldom", _int("wake_s", 7201, "7201", "600..7200", "s"), {"wake_s": 7201}),
    Case("soak too short", _int("soak_s", 0, "0", "300..7200", "s"), {"soak_s": 0}),
    Case("negative headroom", _int("tray_headroom_ml", -5, "-5", "20..20000", "ml"), {"tray_headroom_ml": -5}),
    Case("dries too fast", _int("tray_dry_um_day", 5000, "5000", "0..1000", "um/day"), {"tray_dry_um_day": 5000}),
    Case("huge number", ("rig_day_ml = 1000", "5..5000 ml"), {"rig_day_ml": 10**30}),
    Case("number too long to print", ("rig_day_ml = ", "5..5000 ml"), {"rig_day_ml": 10**6000}),
    Case("no cells", _int("battery_cells", 0, "0", "1..8"), {"battery_cells": 0}),
    Case("unknown battery", ("battery_kind = 'zinc'", "lithium, alkaline, nimh"), {"battery_kind": "zinc"}),
    Case("empty name", ("name = ''", "give 1..24 characters"), {"name": ""}),
    Case("long name", ("name = 'wwww", "give 1..24 characters"), {"name": "w" * 25}),
    Case(
        "five channels",
        ("channels = a list of 5", "1..4"),
        {"channels": kit.make_data(4)["channels"] + kit.make_data(1)["channels"]},
    ),
    Case("no channel at all", ("channels = a list of 0", "1..4"), {"channels": []}),
    Case(
        "pulse too long",
        _int("pulse_max_ms", 30001, "30001", "200..30000", "ms", "channels[0]."),
        pot={"pulse_max_ms": 30001},
    ),
    Case("dose too large", _int("dose_ml", 2001, "2001", "5..2000", "ml", "channels[0]."), pot={"dose_ml": 2001}),
    Case("no proof asked for", _int("unproven_max", 0, "0", "1..5", "", "channels[0]."), pot={"unproven_max": 0}),
    Case("curve of one point", ("channels[0].curve", "2..6 points"), pot={"curve": [[52000, 0]]}),
    Case(
        "curve of seven points",
        ("channels[0].curve", "2..6 points"),
        pot={"curve": [[52000 - 4000 * i, 150 * i] for i in range(7)]},
    ),
    Case(
        "curve beyond the converter", ("channels[0].curve", "raw 0..65535"), pot={"curve": [[70000, 0], [22000, 1000]]}
    ),
    Case("newer schema", ("schema = 2", "knows up to 1", "newer"), {"schema": 2}),
    Case("negative schema", ("schema = -1", "give 1"), {"schema": -1}),
    Case("schema as text", ("schema = '1'", "give 1"), {"schema": "1"}),
    Case("schema beyond all printing", ("schema = ", "newer"), {"schema": 10**6000}),
]

UNKNOWN = [
    Case("unknown key", ("wake = 1800", "no such key", "wake_s"), {"wake": 1800}),
    Case("unknown key of a channel", ("channels[0].pump_ml_s = 4", "no such key", "pump_ul_s"), pot={"pump_ml_s": 4}),
    Case("key with a line break", ("wake\\ns", "no such key"), {"wake\ns": 1800}),
    Case("a channel's key at the top", ("day_ml = 200", "no such key"), {"day_ml": 200}),
    Case("nested beyond printing", ("note = ", "no such key"), {"note": 0}),  # see _deep
]

CONTRADICTORY = [
    Case(
        "holds more than its volume",
        ("channels[0].holds_ml = 1200", "1200 ml", "give less"),
        pot={"holds_ml": 1200, "day_ml": 300},
    ),
    Case("fill below refill", ("channels[0].fill_pm = 700", "refill point 700", "raise"), pot={"fill_pm": 700}),
    Case("pulse above dose", ("channels[0].pulse_ml = 25", "dose_ml = 20", "lower it"), pot={"dose_ml": 20}, faults=2),
    Case("dose above day", ("channels[0].dose_ml = 150", "day_ml = 100", "lower it"), pot={"day_ml": 100}),
    Case(
        "ration above day",
        ("channels[0].ration_ml = 300", "day_ml = 200", "lower it"),
        pot={"ration_ml": 300},
        faults=3,
    ),
    Case(
        "pulse too large for its time",
        ("channels[0].pulse_ml = 25", "pulse_max_ms = 3000", "lower pulse_ml"),
        pot={"pulse_max_ms": 3000},
    ),
    Case(
        "one pulse fills the tray",
        ("channels[0].pulse_max_ms = 8000", "38 ml", "tray_headroom_ml = 30", "lower it"),
        {"tray_headroom_ml": 30},
        faults=3,
    ),
    Case(
        "curve ends too near",
        ("channels[0].curve", "500 counts apart", "calibrate"),
        pot={"curve": [[30500, 0], [30000, 1000]]},
    ),
    Case(
        "curve lost in noise",
        ("channels[0].curve", "spread of 3000", "calibrate"),
        pot={"curve": [[50000, 0], [30000, 1000]], "spread_raw": 3000},
    ),
    Case(
        "curve turns back",
        ("channels[0].curve", "order the points"),
        pot={"curve": [[52000, 0], [30000, 500], [40000, 1000]]},
    ),
    Case(
        "curve with the same count twice",
        ("channels[0].curve", "order the points"),
        pot={"curve": [[52000, 0], [52000, 1000]]},
    ),
    Case(
        "curve falls in moisture", ("channels[0].curve", "order the points"), pot={"curve": [[52000, 1000], [22000, 0]]}
    ),
    Case("stops above a full battery", ("battery_stop_mv = 3200", "1600 mV", "lower it"), {"battery_kind": "alkaline"}),
]

# Caps count a pulse of 25 ml with its priming and its pump a fifth faster: 32.4 ml, 1.296 times what is wanted.
STARVING = [
    Case("pulse no probe sees", ("channels[0].pulse_ml = 2", "by 4 pm", "3 ml or more"), pot={"pulse_ml": 2}),
    Case(
        "too few pulses for a probe",
        ("channels[0].unproven_max = 1", "8 pm each", "at least 12 ml"),
        pot={"pulse_ml": 4, "unproven_max": 1},
    ),
    Case(
        "three pulses of a floor's half",
        ("channels[0].unproven_max = 3", "6 pm each"),
        pot={"holds_ml": 1100, "pulse_ml": 7, "day_ml": 300},
    ),
    Case("dose below its proof", ("channels[0].dose_ml = 29", "30 ml or more"), pot={"dose_ml": 29}),
    Case(
        "day below a fifth of its plant's water",
        ("channels[0].day_ml = 96", "97 ml or more"),
        pot={"dose_ml": 30, "day_ml": 96, "ration_ml": 2},
    ),
    Case("day below three rations as counted", ("channels[0].day_ml = 200", "202 ml"), pot={"ration_ml": 52}),
    Case("a ration that lets its plant go", ("channels[0].ration_ml = 1", "2 ml or more"), pot={"ration_ml": 1}),
    Case("rig's day below its pots'", ("rig_day_ml = 255", "256 ml or more"), {"rig_day_ml": 255}, {"ration_ml": 41}),
    Case(
        "tray below a pulse each",
        ("tray_headroom_ml = 65", "66 ml or more"),
        {"tray_headroom_ml": 65},
        {"ration_ml": 7},
    ),
    Case(
        "tray below a large pot's proof",
        ("tray_headroom_ml = 77", "78 ml or more"),
        {"tray_headroom_ml": 77},
        {"holds_ml": 1000, "ration_ml": 7},
    ),
    Case(
        "pots on feet above a tray that hardly dries",
        ("tray_area_cm2 = 83", "84 cm2 or more", "pots_in_tray = true"),
        {"tray_area_cm2": 83},
        {"ration_ml": 25},
    ),
    Case("a dry plant counts as watered", ("channels[0].wilting_pm = 0", "100 or more"), pot={"wilting_pm": 0}),
    Case("allowed to wilt", ("channels[0].depletion_pm = 800", "600 or less"), pot={"depletion_pm": 800}),
    Case("judged before it spreads", ("soak_s = 300", "900 s or more"), {"soak_s": 300}),
    Case("insisted on what can't run", ("wake_s = 599", "600..7200"), {"wake_s": 599, "insist": True}),
]

_DEEP = 100_000

RAW = [
    Case("nothing", (), raw=b""),
    Case("broken off", (), raw=b'{"wake_s": 1800, "channels": ['),
    Case("no quotes", (), raw=b"{wake_s: 1800}"),
    Case("single quotes", (), raw=b"{'wake_s': 1800}"),
    Case("not a number", (), raw=b'{"wake_s": NaN}'),
    Case("infinite", (), raw=b'{"wake_s": Infinity}'),
    Case("beyond a float", (), raw=b'{"wake_s": 1e999}'),
    Case("six thousand digits", (), raw=b'{"wake_s": ' + b"1" * 6000 + b"}"),
    Case("not UTF-8", (), raw=b'{"name": "\xff\xfe\xfa"}'),
    Case("UTF-16", (), raw='{"name": "sill"}'.encode("utf-16")),
    Case("a good file in UTF-16", (), raw=__import__("json").dumps(kit.make_data(2)).encode("utf-16")),
    Case("erased flash", (), raw=b"\xff" * 300),
    Case("zeros", (), raw=b"\x00" * 300),
    Case("deep lists", (), raw=b"[" * _DEEP + b"]" * _DEEP),
    Case("deep tables", (), raw=b'{"a":' * _DEEP + b"1" + b"}" * _DEEP),
    Case(
        "twice the same key, bad last",
        (),
        raw=b'{"tray_headroom_ml": 900, "tray_area_cm2": 900, "channels": '
        b'[{"name": "a", "pot_ml": 900, "holds_ml": 300}], "wake_s": 900, "wake_s": 5}',
    ),
    Case("text after the end", (), raw=__import__("json").dumps(kit.make_data(2)).encode() + b" and more"),
    Case("TOML on the board", (), raw=b"wake_s = 1800\n"),
]


def _deep(levels):
    """Lists in lists, so deep that printing them would break."""
    found = []
    for _ in range(levels):
        found = [found]
    return found


UNKNOWN[-1].rig["note"] = _deep(20_000)

BAD = WRONG_WHOLE + MISSING + WRONG_TYPE + OUT_OF_RANGE + UNKNOWN + CONTRADICTORY + STARVING + RAW
