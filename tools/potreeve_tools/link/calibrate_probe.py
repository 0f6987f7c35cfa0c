"""Calibrates a probe: in air, then in its pot at container capacity, and between by kitchen scale."""

from potreeve.logic import calibration

from potreeve_tools.terminal import exits

READINGS = 9

FAULTS = {
    calibration.FEW: "too few readings came",
    calibration.RAIL: "the reading stands at a rail: the probe is unplugged, broken or shorted; check plug and cable",
    calibration.NOISY: "the samples of one reading lie far apart: a loose contact, or the cable lies beside a pump's; mend that first",
    calibration.DRIFTS: "the reading still moves: wait a few minutes longer",
    calibration.SPAN: "air and soaked lie too near each other for this probe's noise: was it in the air, and is the pot really soaked? "
    "Dry the probe, press the substrate to it, and start over",
    calibration.ORDER: "this point does not lie between its neighbours: the probe or the weight is off",
}

AIR = (
    "Take the probe of {name} out of its pot, wipe it dry and hold it in the air, touching nothing. "
    "This is its 0 ‰, air-dry."
)
SOAK = (
    "Now its 1000 ‰, container capacity:\n"
    "  1. Put the probe back where it is to stay, and press the substrate to it.\n"
    "  2. Soak: stand the pot in water up to half its height for half an hour, or water it slowly from above, three\n"
    "     times with ten minutes between, until water runs out below.\n"
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
    """({key: value} for the channel's settings, uncertainty in pm) of a guided calibration."""
    name = settings["channels"][channel]["name"]
    talk.say(AIR.format(name=name))
    _ready(talk, "air", "Is it in the air?")
    air = measure(bench, talk, channel, "in air")
    talk.say(SOAK)
    _ready(talk, "soaked", "Soaked, drained, and the probe in its place?")
    wet = measure(bench, talk, channel, "at container capacity")
    fault, curve, doubt_pm = calibration.curve(air, wet)
    if fault:
        raise exits.Stop(exits.FAILED, [f"{name}: {FAULTS[fault]}.", "Nothing was changed."])
    talk.say(
        f"  {abs(air[0] - wet[0])} counts from dry to wet; a reading is good to about {doubt_pm} ‰. "
        "The wet end is taken a little early, so that the pot is never thought drier than it is."
    )
    talk.say(
        "  Between its ends a probe is seldom straight. With a kitchen scale, add a point when the pot is at about two thirds, "
        "and another at a third: potreeve calibrate probe --point."
    )
    temp = bench.temp_cdeg()
    found = {"curve": curve, "spread_raw": min(6000, max(air[1], wet[1]))}
    if temp is not None:
        found["cal_temp_cdeg"] = max(-1000, min(6000, temp))
    else:
        talk.say("  The climate sensor does not answer: the temperature of this calibration is not noted.")
    return found, doubt_pm


def point(bench, talk, channel, settings, full_g):
    """({key: value}, uncertainty in pm, full_g) of one more point by kitchen scale.

    full_g: what the pot weighed at container capacity, or None to ask.
    """
    table = settings["channels"][channel]
    if not table["curve"]:
        raise exits.Stop(exits.FAILED, [f"{table['name']}: calibrate the two ends first (potreeve calibrate probe)."])
    if full_g is None:
        full_g = talk.grams("full_g", "What did the pot weigh at container capacity, in g?")
    now_g = talk.grams("now_g", "What does it weigh now, in g?")
    pm = calibration.scale_pm(full_g, now_g, table["holds_ml"])
    doubt_pm = calibration.scale_doubt_pm(1, table["holds_ml"])
    talk.say(
        f"  By weight it stands at {pm} ‰ (good to about {doubt_pm} ‰, if holds_ml = {table['holds_ml']} is right)."
    )
    raw, spread, drift = measure(bench, talk, channel, "the probe now")
    fault, curve = calibration.add_point([tuple(p) for p in table["curve"]], raw, pm)
    if fault:
        why = (
            "a curve has at most six points; start over with the two ends"
            if fault == calibration.FEW
            else FAULTS[fault]
        )
        raise exits.Stop(exits.FAILED, [f"{table['name']}: {why}.", "Nothing was changed."])
    span = abs(curve[-1][0] - curve[0][0])
    return {"curve": curve}, doubt_pm + calibration.doubt_raw(spread, drift) * 1000 // span, full_g


def _ready(talk, name, question):
    if not talk.confirm(name, question):
        raise exits.Stop(exits.FAILED, ["Nothing was changed."])
