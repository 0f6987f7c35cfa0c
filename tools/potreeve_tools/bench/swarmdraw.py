"""One seed of the swarm, drawn: a rig, its weather, and up to three mishaps.

What is drawn is a mishap scenario (see potreeve_tools.mishaps.scenario) as a
plain mapping, so that a seed that breaks is a file already. The rig is one that
`bench alive` might draw, with the settings that the product's own commands make
for it; a rig that they refuse is drawn again. `edited` settings are those of an
owner who then changed figures by hand, as far as the check lets them.
"""

import random

from potreeve.logic import settings as settings_logic

from potreeve_tools.bench import alivedraw
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.owner import commission
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import KINDS

DAYS = 90
TRIES = 200

# Somebody listens to one rig in so many: its queue is sent.
LISTENED_TO = 4

# What moves water with every pump off, or wets the electronics, whatever the firmware does.
BY_ITSELF = ("siphon", "pump_stuck_on", "tray_weeping")
WETTING = ("water_on_electronics",)

# Probes that are wrong in a way no reading shows at once; for the others the law of belief applies.
HARD_TO_TELL = ("probe_leaning", "probe_stuck", "probe_noisy", "probe_coating", "tipped_over", "pot_removed")


# No drawn board has the parts that these strike.
DRAWN = tuple(name for name, kind in KINDS.items() if not kind.part and not kind.helps)


def draw(seed, rig_data, kinds=DRAWN, edited=False):
    """A scenario's mapping for a seed. rig_data: the mapping of the rig that is changed; it stays as it is. edited:
    whether an owner changed settings by hand."""
    rng = random.Random(f"swarm {seed}")
    for attempt in range(TRIES):
        data = _try(rng, seed, alivedraw.draw(f"swarm {seed}.{attempt}"), rig_data, kinds, edited)
        if data is not None:
            return data
    raise BadInput([f"swarm seed {seed}: no rig in {TRIES} tries that its own file would pass; look at swarmdraw.py"])


def _try(rng, seed, drawn, rig_data, kinds, edited):
    changes = _rig(rng, drawn.data)
    count = len(drawn.data["pot"])
    faults = _faults(rng, count, kinds)
    data = {
        "name": f"swarm_{seed}",
        "title": f"seed {seed} of the swarm",
        "days": DAYS,
        "start": drawn.data["rig"]["start"],
        "board": drawn.board,
        "pots": count,
        "rig": changes,
        "settings": {},
        "fault": faults,
        "broker": seed % LISTENED_TO == 0,
        "person": _persons(rng, faults),
        "expects": _expects(faults),
    }
    data["about"] = "Drawn by the swarm: " + (", ".join(f["kind"] for f in faults) or "no mishap") + "."
    if not faults:
        data["fault"] = [{"kind": "daylight_saving", "start_h": 240.0}]
    if any(f["kind"] == "settings_sent" for f in faults):
        data["sent"] = rng.choice(({"rig_day_ml": 500000}, {"wake_s": 900}, {"ack": 1}))
    try:
        rig = scenarios.the_rig(scenarios.check(data, data["name"] + ".toml"), rig_data, "the swarm's rig")
        base = commission.make_settings(rig, boards.load(drawn.board).device_dict(), seed)
    except BadInput:
        return None
    if edited:
        data["settings"] = _settings(rng, base)
    return data


def _rig(rng, drawn):
    """Changes that turn a rig file into the drawn one, as dotted keys, and what only time brings out."""
    changes = {}
    for table, values in drawn.items():
        for index, one in enumerate(values) if table == "pot" else ((None, values),):
            where = table if index is None else f"{table}.{index}"
            changes.update({f"{where}.{key}": value for key, value in one.items()})
    del changes["rig.start"]  # the scenario's own
    changes["reservoir.refill_days"] = rng.choice((7, 14, 21))
    changes["electronics.clock_drift_ppm"] = rng.choice((0, -100, 100, 3000))
    return changes


def _settings(rng, base):
    """Changes to commissioned settings, each of which passes the check with those before it."""
    wishes = {
        "wake_s": rng.choice((600, 900, 1800, 3600, 7200)),
        "night_wake_s": rng.choice((600, 3600, 14400)),
        "soak_s": rng.choice((300, 900, 1800, 3600, 7200)),
        "battery_reserve_pm": rng.randint(30, 200),
        "tray_headroom_ml": int(base["tray_headroom_ml"] * rng.uniform(0.3, 1.0)),
        "rig_day_ml": int(base["rig_day_ml"] * rng.uniform(0.4, 1.0)),
    }
    for index, channel in enumerate(base["channels"]):
        for key, low, high in (
            ("pulse_ml", 0.5, 1.0),
            ("dose_ml", 0.5, 1.2),
            ("day_ml", 0.7, 1.5),
            ("ration_ml", 0.5, 1.5),
            ("holds_ml", 0.8, 1.2),
            ("fill_pm", 0.9, 1.1),
            ("depletion_pm", 0.6, 1.3),
        ):
            wishes[f"channels.{index}.{key}"] = int(channel[key] * rng.uniform(low, high))
        wishes[f"channels.{index}.unproven_max"] = rng.randint(1, 5)
    taken = {}
    for key, value in wishes.items():
        if rng.random() < 0.4 and _passes(base, {**taken, key: value}):
            taken[key] = value
    return taken


def _passes(base, changes):
    data = {**base, "channels": [dict(one) for one in base["channels"]]}
    for key, value in changes.items():
        way = key.split(".")
        (data if len(way) == 1 else data["channels"][int(way[1])])[way[-1]] = value
    return not settings_logic.check(data)[1]


def _faults(rng, count, kinds):
    """Up to three [[fault]] tables."""
    found = []
    for _ in range(rng.choice((0, 1, 1, 2, 2, 2, 3, 3, 3, 3))):
        name = rng.choice(sorted(kinds))
        kind = KINDS[name]
        keys = {key.name: key for key in kind.params}
        if "other" in keys and count < 2:
            continue
        start_h = round(rng.uniform(24.0, DAYS * 24 - 240.0), 1)
        fault = {"kind": name, "start_h": start_h}
        if kind.channel:
            fault["channel"] = rng.randrange(count)
        if not kind.instant and rng.random() < 0.8:
            fault["end_h"] = round(min(start_h + 24 * 10 ** rng.uniform(-1.0, 1.5), DAYS * 24 - 1.0), 1)
        for key in kind.params:
            value = _param(rng, key, fault.get("channel", -1), count)
            if value is not None:
                fault[key.name] = value
        if not any(_clash(fault, other) for other in found):
            found.append(fault)
    return found


def _param(rng, key, channel, count):
    """A value for one of a kind's own keys, None to leave it at its default."""
    if key.name == "other":
        return rng.choice([one for one in range(count) if one != channel])
    if key.kind == "choice":
        return rng.choice(key.choices)
    if key.kind == "float" and isinstance(key.default, float) and key.default and key.name != "every_s":
        return round(min(key.high, max(key.low, key.default * rng.choice((0.3, 0.6, 1.0, 1.5, 2.5)))), 4)
    return None


def _clash(one, other):
    """The same kind twice on one channel says nothing more."""
    return one["kind"] == other["kind"] and one.get("channel") == other.get("channel")


def _persons(rng, faults):
    """Somebody puts most mishaps right, and presses the button."""
    found = []
    for fault in faults:
        if "end_h" in fault and rng.random() < 0.7:
            found.append(
                {
                    "kind": "button",
                    "start_h": round(fault["end_h"] + rng.uniform(0.1, 30.0), 1),
                    "hold_ms": rng.choice((300.0, 300.0, 2600.0)),
                }
            )
    return found


def _expects(faults):
    kinds = {fault["kind"] for fault in faults}
    expects = {}
    if kinds & set(WETTING) or any(f.get("where") == "electronics" for f in faults):
        expects["wet_by_itself"] = True
    if kinds & set(HARD_TO_TELL):
        expects["believed_h"] = 1000.0
    if kinds & set(BY_ITSELF):
        expects["runs_by_itself_ml"] = 100000.0
    return expects
