"""Calibrates a pump: into a cup, weighed or measured, until its flow is known with its scatter."""

from potreeve.logic import commanded
from potreeve.logic.settings import CHANNEL_KEYS

from potreeve_tools.owner import calibration, recipe
from potreeve_tools.terminal import exits
from potreeve_tools.words import sentences

CUP_MS = 5000
TRIES = 5

# A weak pump takes more than one run to fill its tube, and longer ones; after so many it never will.
FILLINGS = 8

# What the settings allow.
PRIME_MOST_MS = next(row[4] for row in CHANNEL_KEYS if row[0] == "prime_ms")

# A cup of less is read too badly; then the runs are made longer, up to what the board allows into a cup.
GOOD_CUP_UL = 40000
LONGEST_MS = commanded.CUP_MS

FAULTS = {
    calibration.DRY: "no water came: is the reservoir full, the tube whole, its end below the reservoir's lift?",
    calibration.SHORT: "too little came to measure it (less than 5 ml a run): let it run longer (--ms), or look for a "
    "kink",
    calibration.UNEVEN: "the runs differ too much for one pump: air in the tube, a kink, or a weak battery; mend that "
    "and start over",
    calibration.FEW: "too few runs",
}

CUP = (
    "Hang the end of {name}'s tube into an empty cup, at the height where it will lie in the pot; nothing must go "
    "into the tray.\nPress the board's button once before each run, or when the board asks for it: that allows some "
    "seconds into a cup."
)

RUNS_BACK = "Look at {name}'s tube now, and again after five minutes: has its water run back into the tub?"
NEVER_FULL = (
    "A tube that runs empty between runs and takes {s:.0f} s to fill brings none, either: take a shorter or narrower "
    "tube, a faster pump, or a valve that keeps the tube full."
)
EMPTIES = (
    "Then each run fills the tube first: short runs and long ones will tell what the pump brings. Wait each time "
    "until the tube has run empty."
)

# How long a tube that kept its water for some minutes is taken to stay full: small valves leak (common practice, no
# source).
TUBE_FULL_H = 48

DRIVES = "Does the battery itself drive the pump of {name}, with no step-up converter in between?"
STEPPED_UP = "  Then it does not slow down as the battery sinks: pump_cal_mv is 0."

LOW = (
    "A tube that comes off its pot hangs lower and brings more, and the caps must count that. For one more run, hang "
    "its end into\n"
    f"a cup as low as it could get; without it, {calibration.LOW_UNSEEN_PM / 10:.0f} % more is taken."
)


def run(bench, talk, channel, settings, ms=CUP_MS, wanted=2, primed=False):
    """({key: value} for the channel's settings, what was seen) of a guided calibration.

    wanted: runs with the tube full, 2 or more; primed: the tube is full already, so that no priming is measured.
    """
    table = settings["channels"][channel]
    cups = Cups(bench, talk, channel, min(LONGEST_MS, table["pulse_max_ms"]))
    ms = min(ms, table["pulse_max_ms"])
    talk.say(CUP.format(name=table["name"]))
    filling, back = ([], False) if primed else _fill(cups, talk, table["name"], ms)
    runs = _short_and_long(cups, talk, filling[-1], wanted) if back else _with_full_tube(cups, talk, ms, wanted)
    talk.say(LOW)
    low = cups.run(cups.asked_ms) if talk.confirm("low", "Measure that, too?") else None
    if back:
        found = calibration.refilled(*([pair[at] for pair in runs] for at in (0, 1)), max(cups.reads), low)
        told = [(long[0] - short[0], long[1] - short[1]) for short, long in runs]
    else:
        first = (sum(pulse[0] for pulse in filling), sum(pulse[1] for pulse in filling)) if filling else None
        found, told = calibration.pump(runs, first, max(cups.reads), low), runs
    fault, flow, spread_pm, prime_ms = found
    if fault:
        more = f" ({spread_pm // 10} % apart)" if fault == calibration.UNEVEN else ""
        raise _unchanged(f"{table['name']}: {FAULTS[fault]}{more}.")
    if flow > 60000:
        raise _unchanged(
            f"{table['name']}: {flow / 1000:.0f} ml/s is more than a pump for pots brings; check the amounts."
        )
    if prime_ms > PRIME_MOST_MS:
        raise _unchanged(
            f"{table['name']}: its tube takes {prime_ms / 1000:.0f} s to fill, before each pulse; at most "
            f"{PRIME_MOST_MS // 1000} s leave time for water. Take a shorter or narrower tube, a faster pump, or a "
            "valve that keeps the tube full."
        )
    filled = (prime_ms, 0 if back or not prime_ms else TUBE_FULL_H) if filling else None
    return _found(talk, settings, channel, (flow, spread_pm, filled), told, cups.rest_mv)


def _unchanged(line):
    return exits.Stop(exits.FAILED, [line, "Nothing was changed."])


class Cups:
    """One channel's runs into a cup. longest_ms: of one run; asked_ms: of the last; reads: how well each cup was read,
    in ul; rest_mv: the battery before each."""

    def __init__(self, bench, talk, channel, longest_ms):
        self.longest_ms, self.asked_ms = longest_ms, 0
        self.reads, self.rest_mv = [], []
        self._where = bench, talk, channel

    def run(self, ms, ready="Cup empty, tube in it"):
        """(ms it ran, ul). Raises Stop."""
        self.asked_ms = min(ms, self.longest_ms)
        pulse, read_ul = into_cup(*self._where, self.asked_ms, self.rest_mv, ready)
        self.reads.append(read_ul)
        return pulse


def _fill(cups, talk, name, ms):
    """([(ms, ul)] of the runs until water came, whether the tube runs empty again)."""
    talk.say("First run, with the tube empty (it has not run for half an hour):")
    filling = []
    while len(filling) < FILLINGS and not (filling and filling[-1][1]):
        filling.append(cups.run(ms))
        # A tube that runs empty between runs is never filled by short ones.
        ms *= 2
    if not filling[-1][1]:
        raise _unchanged(f"{name}: {FAULTS[calibration.DRY]} {NEVER_FULL.format(s=cups.longest_ms / 1000)}")
    return filling, talk.confirm("runs_back", RUNS_BACK.format(name=name))


def _with_full_tube(cups, talk, ms, wanted):
    """[(ms, ul)] of runs with the tube full."""
    runs = []
    while len(runs) < wanted:
        talk.say(f"Run {len(runs) + 1} of {wanted}, with the tube full:")
        pulse = cups.run(ms)
        if 0 < pulse[1] < GOOD_CUP_UL and ms < cups.longest_ms:
            ms = min(cups.longest_ms, max(ms + 1000, pulse[0] * GOOD_CUP_UL // pulse[1]))
            talk.say(f"  Too little to measure it well; the next runs take {ms / 1000:.0f} s.")
            runs = []
            continue
        runs.append(pulse)
    return runs


def _short_and_long(cups, talk, filled, wanted):
    """[((ms, ul), (ms, ul))]: a short run and a long one at a time, each with the tube empty. filled: the run that
    brought the first water."""
    talk.say(EMPTIES)
    short_ms, long_ms = filled[0], min(cups.longest_ms, 3 * filled[0])
    if long_ms < 3 * short_ms // 2:
        short_ms = long_ms * 2 // 3
    pairs = []
    for number in range(wanted):
        talk.say(f"Runs {2 * number + 1} and {2 * number + 2} of {2 * wanted}, with the tube empty:")
        pairs.append(tuple(cups.run(ms, "Cup empty, tube empty and in it") for ms in (short_ms, long_ms)))
    return pairs


def _found(talk, settings, channel, measured, runs, rest_mv):
    """({key: value}, what was seen), told to the owner on the way. measured: flow in ul/s, spread in pm, and what was
    seen of the tube or None: (priming in ms, hours it stays full)."""
    flow, spread_pm, filled = measured
    flows = [round(ul / run_ms, 2) for run_ms, ul in runs]
    talk.say(
        f"  {flow / 1000:.2f} ml/s (runs: {', '.join(f'{value:.2f}' for value in flows)}); it counts as up to "
        f"{spread_pm / 10:.0f} % faster."
    )
    if filled:
        then = f"then it stays full for {filled[1]} hours" if filled[1] else "before each pulse"
        talk.say(f"  The tube takes {filled[0] / 1000:.1f} s to fill, {then}.")
    cal_mv = min((mv for mv in rest_mv if mv > 0), default=0)
    if not cal_mv:
        talk.say(
            "  The battery's voltage is not known: a fuller battery could drive the pump faster; the spread is "
            "doubled for that."
        )
        spread_pm = min(1000, 2 * spread_pm)
    elif not talk.confirm("drives", DRIVES.format(name=settings["channels"][channel]["name"])):
        talk.say(STEPPED_UP)
        cal_mv = 0
    found = {"pump_ul_s": flow, "pump_spread_pm": spread_pm, "pump_cal_mv": cal_mv}
    if filled:
        found["prime_ms"], found["tube_full_h"] = filled
    fitted = recipe.fit_pump({**settings["channels"][channel], **found}, settings)
    for key in fitted:
        was = settings["channels"][channel][key]
        if fitted[key] != was:
            talk.say(f"  {key} becomes {fitted[key]} (it was {was}), to suit this pump and the tray.")
    return {**found, **fitted}, f"{flow / 1000:.2f} ml/s, at most {spread_pm / 10:.0f} % more"


def into_cup(bench, talk, channel, ms, rest_mv, ready="Cup empty, tube in it"):
    """((ms it ran, ul), how well it was read) of one run; the battery before it is appended to rest_mv. Raises Stop."""
    for attempt in range(TRIES):
        if not talk.confirm("ready", f"{ready}: run {ms / 1000:g} s?"):
            raise exits.Stop(exits.FAILED, ["Nothing was changed."])
        before_mv = bench.battery_mv()
        told = bench.pulse(channel, ms, cup=True)
        if told["ms"]:
            break
        what, do = sentences.refused(told, cup=True)
        talk.say(f"  It did not run: {what}; {do}.")
        if attempt + 1 == TRIES or not talk.confirm("try_again", "Try again?"):
            raise exits.Stop(exits.FAILED, [f"The pump did not run: {what}.", f"{do[:1].upper()}{do[1:]}."])
    rest_mv.append(before_mv)
    ul, read_ul = talk.amount_ul("amount", "How much is in the cup (ml or g)?")
    return (told["ms"], ul), read_ul
