"""Calibrates a probe: in air, then in its pot at container capacity, and between by kitchen scale."""

from potreeve_tools.owner import calibration
from potreeve_tools.terminal import exits

READINGS = 9

FAULTS = {
    calibration.FEW: "too few readings came",
    calibration.RAIL: "the reading stands at a rail: the probe is unplugged, broken or shorted; check plug and cable",
    calibration.NOISY: "the samples of one reading lie far apart: a loose contact, or the cable lies beside a pump's; "
    "mend that first",
    calibration.DRIFTS: "the reading still moves: wait a few minutes longer",
    calibration.SPAN: "air and soaked lie too near each other for this probe's noise: was it in the air, and is the "
    "pot really soaked? Dry the probe, press the substrate to it, and start over",
    calibration.ORDER: "this point does not lie between its neighbours: the probe or the weight is off",
}

AIR = (
    "Take the probe of {name} out of its pot, wipe it dry and hold it in the air, touching nothing. "
    "The air lies below this pot's 0 ‰, air-dry substrate; that is reckoned in."
)
SOAK = (
    "Now the 1000 ‰ of {names}, container capacity. Take all the time it needs; the board waits.\n"
    "  1. Put the probe back where it is to stay, and press the substrate to it.\n"
    "  2. Soak: stand the pot in water up to half its height for half an hour, or water it slowly from above, three\n"
    "     times with ten minutes between, until water runs out below. Take it off the tray for that.\n"
    "  3. Drain: lift it out and let it drip until it has stopped, half an hour to an hour. Empty the tray.\n"
    "  4. Wait ten minutes more without touching the probe."
)


def measure(bench, talk, channel, what):
    """(raw, spread, drift) of a probe that has settled; asks again while it has not. Raises Stop."""
    for _ in range(3):
        bursts = bench.bursts([channel], READINGS)[channel]
        fault, raw, spread, drift = calibration.settle([burst[0] for burst in bursts], [burst[1] for burst in bursts])
        talk.say(f"  {what}: {raw} counts, scatter {spread}, drift {drift:+d}.")
        if fault == calibration.FINE:
            return raw, spread, drift
        talk.say(f"  Not accepted: {FAULTS[fault]}.")
        if not talk.confirm("again", "Read once more?"):
            break
    raise exits.Stop(exits.FAILED, [f"{what}: {FAULTS[fault]}.", "Nothing was changed."])


def anchors(bench, talk, channel, settings):
    """({key: value} for the channel's settings, how sure it is, more for the note) of a guided calibration of both
    ends."""
    air = dry(bench, talk, channel, settings)
    tell_soak(talk, [settings["channels"][channel]["name"]])
    soaked(talk, 1)
    return wet(bench, talk, channel, settings, air)


def dry(bench, talk, channel, settings):
    """(raw, spread, drift) of a probe in the air. Raises Stop."""
    name = settings["channels"][channel]["name"]
    talk.say(AIR.format(name=name))
    _ready(talk, "air", f"Is the probe of {name} in the air?")
    return measure(bench, talk, channel, f"{name}, in air")


def tell_soak(talk, names):
    """Say how pots are brought to container capacity. names: of the pots."""
    talk.say(SOAK.format(names=", ".join(names)))


def soaked(talk, count):
    """Wait for a person until so many pots are soaked and drained. Raises Stop."""
    _ready(talk, "soaked", f"Soaked, drained, and {'the probe in its' if count == 1 else 'all probes in their'} place?")


def wet(bench, talk, channel, settings, air):
    """({key: value} for the channel's settings, how sure it is, more for the note) of a pot at container capacity.

    air: as dry gave it, perhaps on another day.
    """
    table = settings["channels"][channel]
    name = table["name"]
    wet = measure(bench, talk, channel, f"{name}, at container capacity")
    air_at_pm, air_doubt_pm = calibration.air_pm(table["pot_ml"], table["holds_ml"])
    fault, measured = calibration.ends(air, wet, air_at_pm)
    if fault:
        raise exits.Stop(exits.FAILED, [f"{name}: {FAULTS[fault]}.", "Nothing was changed."])
    span = abs(measured[0][0] - measured[1][0])
    doubts = [air_doubt_pm, calibration.doubt_raw(wet[1], wet[2]) * (1000 - air_at_pm) // span + 1]
    talk.say(
        f"  {abs(air[0] - wet[0])} counts from air to wet; the air counts as {air_at_pm} ‰. A reading is good to "
        f"about {_said(measured, doubts)}. "
        "The wet end is taken a little early, so that the pot is never thought drier than it is."
    )
    talk.say(
        "  With a kitchen scale, add a point when the pot is at about two thirds: potreeve calibrate probe --point. "
        "Weigh the pot now, soaked and drained, for that."
    )
    temp = bench.temp_cdeg()
    found = {"curve": calibration.curve(measured), "spread_raw": min(6000, max(air[1], wet[1]))}
    if temp is not None:
        found["cal_temp_cdeg"] = max(-1000, min(6000, temp))
    else:
        talk.say("  The climate sensor does not answer: the temperature of this calibration is not noted.")
    return found, _said(measured, doubts), {"measured": measured, "doubts": doubts}


def _said(measured, doubts):
    """An honest uncertainty in words, along the scale."""
    rows = calibration.doubts_pm(measured, doubts)
    return "±" + ", ±".join(f"{doubt} ‰ at {pm}" for pm, doubt in rows[:3])


def point(bench, talk, channel, settings, known):
    """({key: value}, how sure it is, more for the note) of one more point by kitchen scale.

    known: the note of the last probe calibration that speaks for these settings, or None.
    """
    table = settings["channels"][channel]
    if not table["curve"]:
        raise exits.Stop(exits.FAILED, [f"{table['name']}: calibrate the two ends first (potreeve calibrate probe)."])
    known = known or {}
    curve = [tuple(p) for p in table["curve"]]
    measured = [tuple(p) for p in known.get("measured", (curve[0], curve[-1]))]
    doubts = list(known.get("doubts", (calibration.air_pm(table["pot_ml"], table["holds_ml"])[1], 10)))
    full_g = known.get("full_g")
    if full_g is None:
        full_g = talk.grams("full_g", "What did the pot weigh at container capacity, in g?")
    now_g = talk.grams("now_g", "What does it weigh now, in g?")
    pm = calibration.scale_pm(full_g, now_g, table["holds_ml"])
    doubt_pm = calibration.scale_doubt_pm(1, table["holds_ml"], pm)
    talk.say(
        f"  By weight it stands at {pm} ‰ (good to about {doubt_pm} ‰, if holds_ml = {table['holds_ml']} is right "
        f"to a tenth)."
    )
    raw, spread, drift = measure(bench, talk, channel, "the probe now")
    fault, points = calibration.add_point(measured, raw, pm)
    if fault:
        why = (
            "a curve has at most six points; start over with the two ends"
            if fault == calibration.FEW
            else FAULTS[fault]
        )
        raise exits.Stop(exits.FAILED, [f"{table['name']}: {why}.", "Nothing was changed."])
    known_doubts = dict(zip(measured, doubts))
    span = abs(points[-1][0] - points[0][0])
    known_doubts[(raw, pm)] = doubt_pm + calibration.doubt_raw(spread, drift) * 1000 // span
    doubts = [known_doubts[one] for one in points]
    more = {"measured": points, "doubts": doubts, "full_g": full_g}
    return {"curve": calibration.curve(points)}, _said(points, doubts), more


def _ready(talk, name, question):
    if not talk.confirm(name, question):
        raise exits.Stop(exits.FAILED, ["Nothing was changed."])
