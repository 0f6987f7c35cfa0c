"""What was measured on a board stays when a file is pushed over it; what a rehearsal made up stays off real boards.

A probe and a pump belong to their channel. A file's own figures give way to what `calibrate` measured on the board,
unless the person says otherwise.
"""

from potreeve_tools.link import calibrate_notes
from potreeve_tools.owner import recipe
from potreeve_tools.terminal.faultlist import BadInput

PROBE = ("curve", "spread_raw", "cal_temp_cdeg")
PUMP = ("pump_ul_s", "pump_spread_pm", "pump_cal_mv", "prime_ms", "tube_full_h")
PARTS = (("probe", PROBE, ("probe", "point")), ("pump", PUMP, ("pump",)))
"""(word, keys of a channel, kinds of notes); the first key tells whether it was measured at all."""

KEEP, WITHOUT, DISCARD = "keep", "without", "discard"
"""What becomes of the figures: the board's measured ones stay; besides, the file's are left out; the file's replace
the board's."""

VIRTUAL_ID = b"virt-".hex()


def is_virtual(link):
    """True for a board that `potreeve virtual-board` runs."""
    return str(link.info.get("machine", "")).startswith("virtual ")


def refuse_simulated(new, where, link, way):
    """Raise BadInput for a file whose calibration a rehearsal made up, unless the board is as unreal, or it is left
    out."""
    names = [channel["name"] for channel in new["channels"] if any(channel[keys[0]] for _, keys, _ in PARTS)]
    if names and way != WITHOUT and not is_virtual(link):
        raise BadInput(
            [
                f"{where}: simulated = true: the probe curves and pump figures of {', '.join(names)} were made up "
                "for a simulated "
                f"rig, and this board is real; push all but them: potreeve settings push {where} "
                "--without-calibration, "
                "then measure yours: potreeve calibrate"
            ]
        )


def refuse_simulated_copy(copy, link):
    """Raise BadInput for a copy of a virtual board that is to go onto a real one."""
    if str(copy.board_id).startswith(VIRTUAL_ID) and not is_virtual(link):
        raise BadInput(
            [
                f"{copy.path}: a copy of a virtual board, whose calibration and history are simulated, and this "
                "board is real; "
                "push a file of settings instead (potreeve settings push FILE --without-calibration), then "
                "potreeve calibrate"
            ]
        )


def merge(old, new, notes, way=KEEP):
    """(settings to push, lines that say what stays and why), unchecked. old: the board's, or None; notes: see
    calibrate_notes."""
    merged = {**new, "channels": [dict(channel) for channel in new["channels"]]}
    lines = []
    if way == WITHOUT:
        for channel in merged["channels"]:
            for _, keys, _ in PARTS:
                channel.update({key: recipe.UNMEASURED[key] for key in keys if key in channel})
    if old is None or way == DISCARD:
        return merged, lines
    names = [channel["name"] for channel in old["channels"]]
    for index, channel in enumerate(merged["channels"][: len(names)]):
        was = old["channels"][index]
        if channel["name"] != was["name"] and channel["name"] in names:
            lines.append(
                f"{channel['name']}: on this board it is channel {names.index(channel['name'])}, in the file "
                f"{index}; nothing "
                "measured there is taken along. Calibrate it anew, or put the pots of the file into the board's order."
            )
            continue
        lines += [line for part in PARTS if (line := _keep(channel, was, notes, part, new))]
    merged["rig_day_ml"] = recipe.follow_rig_day(new, merged)
    return merged, lines


def _keep(channel, was, notes, part, settings):
    """Let the board's figures of one part stay in `channel`, which is changed; the line that says so, or None."""
    word, keys, kinds = part
    same = all(_plain(channel[key]) == _plain(was[key]) for key in keys)
    if same or not was[keys[0]]:
        return None
    note = calibrate_notes.last(notes, kinds, was)
    in_file = bool(channel[keys[0]])
    if in_file and note is None:
        return None
    pumped_by = {key: channel[key] for key in recipe.FITTED}
    as_new = recipe.fit_pump({**channel, "pump_ul_s": 0}, settings)
    channel.update({key: was[key] for key in keys})
    if word == "pump":
        # What a person changed by hand stays; what nobody touched is fitted to the pump, as its calibration did.
        fitted = recipe.fit_pump(channel, settings)
        channel.update({key: fitted[key] for key in recipe.FITTED if pumped_by[key] == as_new[key]})
    when = f"as measured on {note['date'][:10]}" if note else "as it is on the board"
    other = "; the file's is left out (--discard-calibration takes it instead)" if in_file else ""
    renamed = (
        f" It was called {was['name']}: with another pot, mix or probe, calibrate that anew."
        if channel["name"] != was["name"]
        else ""
    )
    return f"{channel['name']}: its {word} stays {when}{other}.{renamed}"


def _plain(value):
    return [list(point) for point in value] if isinstance(value, (list, tuple)) else value
