"""A broken seed of the swarm made small, and written down as a scenario file."""

import json

from potreeve_tools.bench import swarm
from potreeve_tools.mishaps import wording
from potreeve_tools.terminal.faultlist import BadInput

# Runs a shrink may take; each is a rig-quarter or less.
RUNS = 60
TABLES = ("rig", "settings", "sent", "expects")


def shrink(data, seed, broken, say=lambda text: None, runs=RUNS):
    """The smallest scenario found that breaks the same law in the same way: (data, Findings).

    data: a scenario's mapping; broken: Findings of its run; say: called with a line per
    try. Mishaps are dropped first, then days, then changes to settings and rig.
    """
    kinds = {finding.kind for finding in broken}
    again = True
    while again and runs > 0:
        again = False
        for candidate in _smaller(data):
            runs -= 1
            found = _broken(candidate, seed)
            again = bool(kinds & {finding.kind for finding in found})
            say(f"{_size(candidate)}: {'broken still' if again else 'holds'}")
            if again:
                data, broken = candidate, found
                break
            if runs <= 0:
                break
    return data, broken


def _broken(data, seed):
    """What a smaller scenario breaks; nothing where it is none."""
    try:
        return swarm.run_data(data, seed).broken
    except BadInput:
        return []


def _size(data):
    kinds = ", ".join(fault["kind"] for fault in data["fault"])
    changes = f"{len(data['settings'])}+{len(data['rig'])} changes"
    return f"{data['days']:g} days, {kinds}, {len(data['person'])} people, {changes}"


def _smaller(data):
    """Simpler mappings, the boldest cut first."""
    faults = data["fault"]
    if len(faults) > 1:
        for index in range(len(faults)):
            left = faults[:index] + faults[index + 1 :]
            yield {**data, "fault": left, "about": "Drawn by the swarm: " + ", ".join(f["kind"] for f in left) + "."}
    if data["person"]:
        yield {**data, "person": []}
    for days in (5, 10, 20, 45, 70):
        early = [fault for fault in faults if fault["start_h"] < days * 24]
        if days < data["days"] and early:
            yield {
                **data,
                "days": days,
                "fault": early,
                "person": [one for one in data["person"] if one["start_h"] < days * 24],
            }
    for part in ("settings", "rig"):
        keys = sorted(data[part])
        cuts = [keys, keys[::2], keys[1::2]] + ([[key] for key in keys] if 1 < len(keys) <= 8 else [])
        for cut in cuts:
            if cut:
                yield {**data, part: {key: value for key, value in data[part].items() if key not in cut}}


def to_toml(data, seed, broken):
    """A scenario's mapping as the text of a file in mishaps/scenarios. broken: Findings kept as a comment."""
    lines = [
        f"# Found by the swarm with seed {seed}, and shrunk. What broke then:",
        *[f"#   {wording.say(finding)}" for finding in broken[:4]],
        "",
    ]
    lines += [
        f"{key} = {_value(value)}"
        for key, value in {**data, "seed": seed}.items()
        if key not in (*TABLES, "fault", "person")
    ]
    for key in ("fault", "person"):
        for entry in data.get(key, []):
            lines += ["", f"[[{key}]]", *[f"{name} = {_value(value)}" for name, value in entry.items()]]
    for key in TABLES:
        if data.get(key):
            lines += [
                "",
                f"[{key}]",
                *[
                    f"{json.dumps(name) if '.' in name else name} = {_value(value)}"
                    for name, value in data[key].items()
                ],
            ]
    return "\n".join(lines) + "\n"


def _value(value):
    return json.dumps(value, ensure_ascii=False)
