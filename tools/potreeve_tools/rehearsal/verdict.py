"""The outcome of a rehearsal in a few words, for people in a hurry."""

GOOD, MIND, BAD = "good", "mind", "bad"
ENOUGH_PCT = 95.0


def judge(outcome):
    """(grade, headline, points): GOOD, MIND or BAD; one sentence; a list of sentences.

    BAD: water where it must not be, or a dead plant. MIND: a pot in its band for
    less than 95 % of the time, one that ended rationed or held, or an empty
    reservoir or battery ahead. Else GOOD.
    """
    bad = _bad(outcome)
    mind = _mind(outcome)
    days = outcome["days"]
    span = f"{days:g} day{'' if days == 1 else 's'}"
    pots = outcome["pots"]
    every = {1: "The pot", 2: "Both pots"}.get(len(pots), f"All {number(len(pots))} pots")
    if bad:
        return BAD, "This rig did not get through.", bad + mind
    if mind:
        return MIND, f"No flood in {span}, but the rig needs your attention.", mind
    were = "was" if len(pots) == 1 else "were"
    return GOOD, f"{every} {were} well watered for {span}, and nothing ran over.", _good(outcome)


def number(count):
    """A small count as a word."""
    names = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")
    return names[count] if count < len(names) else str(count)


def _bad(outcome):
    rig = outcome["rig"]
    points = []
    if rig["floods"]:
        points.append(f"The tray ran over {_times(rig['floods'])}.")
    if rig["electronics_wet"]:
        points.append(f"Water reached the electronics {_times(rig['electronics_wet'])}.")
    return points + [f"The {pot['name']} died." for pot in outcome["pots"] if not pot["alive"]]


def _mind(outcome):
    points = []
    for pot in outcome["pots"]:
        if not pot["alive"]:
            continue
        if pot["state"] != "tended":
            points.append(f"The {pot['name']} ended {pot['state']}; the alerts say why.")
        share = pot["in_band_pct"]
        if share is not None and share < ENOUGH_PCT:
            points.append(f"The {pot['name']} was in its band for only {share:.0f} % of the time; {_outside(pot)}.")
    rig = outcome["rig"]
    if rig["reservoir_left_ml"] < 0.05 * max(1.0, sum(pot["given_ml"] for pot in outcome["pots"])):
        points.append("The reservoir is all but empty.")
    if rig["battery_days_left"] == 0:
        points.append("The battery is down to its reserve or flat, and no pump is run.")
    elif rig["battery_days_left"] < 7:
        points.append(f"The battery has {rig['battery_days_left']} days left.")
    return points


def _outside(pot):
    """What being outside the band came to."""
    parts = []
    if pot["dry_h"] >= 0.5:
        parts.append(f"it was short of water for {pot['dry_h']:.0f} h")
    if pot["soaked_h"] >= 0.5:
        parts.append(f"it stood soaked for {pot['soaked_h']:.0f} h")
    return " and ".join(parts) or "else it was drier, though never short of water"


def _good(outcome):
    rig = outcome["rig"]
    given_ml = sum(pot["given_ml"] for pot in outcome["pots"])
    peak = rig["tray_peak_ml"]
    tray = (
        "the tray stayed dry"
        if peak < 1
        else f"the tray held {peak:.0f} ml at most and takes {rig['tray_headroom_ml']:.0f}"
    )
    days_left = rig["battery_days_left"]
    battery = (
        "The battery's end is not in sight." if days_left >= 999 else f"The battery lasts about {days_left} days more."
    )
    return [f"{given_ml / 1000:.1f} litres were given; {tray}.", battery]


def _times(count):
    return "once" if count == 1 else f"{number(count)} times"
