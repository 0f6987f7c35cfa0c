"""The first few millilitres of each pot, while somebody stands beside it and watches where they go."""

from potreeve.logic import dosing, reasons

from potreeve_tools.link import water_wait
from potreeve_tools.terminal import exits
from potreeve_tools.words import sentences

DROP_ML = 5
TRIES = 3

INTRO = (
    "Each tube's end in its own pot, the tray empty, a cloth at hand. Stand where you see the ends of the tubes. "
    "For each pot, "
    "press the board's button once: that is how the board knows that somebody is there."
)
NO_WATER = (
    "is there water in the reservoir, is the tube whole and its end in the pot? Mend that before you leave the rig; "
    "potreeve calibrate pump measures it anew"
)


def run(sitting, chosen):
    """Give each chosen pot its drop and ask what was seen. Raises Stop if one did not run or was not right."""
    facts, talk = sitting.facts, sitting.talk
    settings = facts.settings
    bare = [settings["channels"][index]["name"] for index in chosen if not settings["channels"][index]["pump_ul_s"]]
    if bare:
        raise exits.Stop(
            exits.FAILED, [f"{', '.join(bare)}: its pump was never measured; do that first: potreeve calibrate pump."]
        )
    _need_empty_tray(facts)
    talk.say(INTRO)
    wrong = []
    for index in chosen:
        name = sitting.name(index)
        _one(sitting, index)
        if not talk.confirm("came", f"Did a little water come out in the pot of {name}, and nowhere else?"):
            wrong.append(name)
            talk.say(f"  {name}: {NO_WATER}.")
    if wrong:
        raise exits.Stop(exits.FAILED, [f"Not right yet: {', '.join(wrong)}."])
    talk.say("All pots had their first drop." + _when_more(facts, chosen))


def drop_ms(table):
    """How long a pump runs for a drop: to fill its tube, and DROP_ML."""
    return min(table["pulse_max_ms"], table["prime_ms"] + DROP_ML * 1_000_000 // table["pump_ul_s"])


def _one(sitting, index):
    table, talk = sitting.facts.settings["channels"][index], sitting.talk
    ms = drop_ms(table)
    most_ml = -(-dosing.most_ul(ms, table) // 1000)
    for attempt in range(TRIES):
        if not talk.confirm(
            "drop",
            f"{table['name']}: button pressed, eyes on the tube? It gets about {DROP_ML} ml, at most {most_ml} ml",
        ):
            raise exits.Stop(exits.FAILED, ["Stopped; nothing more was given."])
        told = sitting.bench.pulse(index, ms, drop=True)
        if told["ms"]:
            return
        what, do = sentences.refused(told)
        if told["reason"] in (reasons.POT_DAY, reasons.RIG_DAY):
            what, do = "the board saw no press of its button", "press it once, shortly, and say yes then"
        talk.say(f"  It did not run: {what}; {do}.")
        if told["reason"] not in (reasons.POT_DAY, reasons.RIG_DAY):
            break
    raise exits.Stop(exits.FAILED, [f"{table['name']}: no drop: {what}.", f"{do[:1].upper()}{do[1:]}."])


def _need_empty_tray(facts):
    if facts.state is not None and facts.state.rig.memory:
        what, do = sentences.MEMORY
        raise exits.Stop(
            exits.FAILED,
            [
                f"{what[:1].upper()}{what[1:]}.",
                f"First {do}; the board takes that while it tends, not in service mode.",
            ],
        )


def _when_more(facts, chosen):
    if facts.state is None:
        return ""
    told = [water_wait.sentence(facts.settings, facts.state, index) for index in chosen]
    return (
        f" By itself the board waters them {told[0][1]}."
        if all(told)
        else " It waters them by itself when they are due."
    )
