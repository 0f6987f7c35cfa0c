"""A session's course as short lists of numbers, thinned to what the eye can see.

Times are whole minutes since the start; what a page draws is at most some 700
pixels wide, so MOST points with the extremes kept lose nothing one could see.
"""

from potreeve_tools.rehearsal import outcome as definitions

MOST = 1400


def thin(times, values, most=MOST):
    """(times, values) with at most about `most` points; lowest and highest of each stretch stay.

    values may hold None where nothing is known.
    """
    count = len(times)
    if count <= most:
        return list(times), list(values)
    stretch = -(-2 * count // most)
    keep = {0, count - 1}
    for begin in range(0, count, stretch):
        places = range(begin, min(count, begin + stretch))
        known = [at for at in places if values[at] is not None]
        if len(known) < len(places):
            keep.update(places[at] for at in (0, -1))
        if known:
            keep.add(min(known, key=lambda at: values[at]))
            keep.add(max(known, key=lambda at: values[at]))
    order = sorted(keep)
    return [times[at] for at in order], [values[at] for at in order]


def line(times, values, digits=0):
    """{"m": minutes, "v": values}, thinned and rounded."""
    times, values = thin(times, values)
    rounded = [None if v is None else round(v, digits) if digits else round(v) for v in values]
    return {"m": times, "v": rounded}


def course(session, rows):
    """Everything the page draws. rows: outcome.decoded(session). Returns a dict of lines and lists."""
    samples = session.samples
    minutes = [round(sample["t_s"] / 60) for sample in samples]
    woke = [round(t_s / 60) for t_s, _, _ in rows]

    def truth(key, factor=1.0, digits=0):
        return line(minutes, [sample[key] * factor for sample in samples], digits)

    def board(key, factor=1.0, digits=0):
        return line(woke, [head[key] * factor for _, head, _ in rows], digits)

    return {
        "pots": [_pot(session, rows, index, minutes, woke) for index in range(len(session.checked["channels"]))],
        "tray": truth("tray_ml"),
        "tray_board": board("tray_ml"),
        "reservoir": truth("reservoir_usable_ml", 0.001, 2),
        "charge": truth("battery_soc", 100.0, 1),
        "charge_board": board("soc_pm", 0.1, 1),
        "temp": truth("temp_c", 1.0, 1),
        "rh": truth("rh_pct"),
        "light": truth("lux", 0.001, 2),
    }


def _pot(session, rows, index, minutes, woke):
    doses = dose_list(session, index)
    return {
        "true": line(minutes, [sample["pots"][index]["moisture_pm"] for sample in session.samples]),
        "read": line(woke, [pots[index]["pm"] for _, _, pots in rows]),
        "doses": {
            "m": [round(t_s / 60) for t_s, _, _ in doses],
            "v": [round(ml) for _, ml, _ in doses],
            "pulses": [pulses for _, _, pulses in doses],
        },
    }


def dose_list(session, index):
    """Doses of a channel as (start s, ml, runs): all that left its tube, by whatever cause."""
    gap_s = definitions.DOSE_GAP_S + session.checked["soak_s"]
    doses, last_s = [], None
    for t_s, channel, _, ml, _ in session.world.deliveries:
        if channel != index:
            continue
        if last_s is None or t_s - last_s >= gap_s:
            doses.append([t_s, 0.0, 0])
        doses[-1][1] += ml
        doses[-1][2] += 1
        last_s = t_s
    return [tuple(dose) for dose in doses]
