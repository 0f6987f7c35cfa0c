"""The tub's floats or strip: a person fills it jug by jug, and says what went in until each mark was reached.

The same steps for a person at a connected board and for a simulated owner: bench has tub() and raw(), talk asks.
"""

from potreeve.logic.tub_keys import MARKS
from potreeve.logic.tub_marks import EMPTY, ODD

from potreeve_tools.owner import tub_shares
from potreeve_tools.terminal import exits

DRY_LOOKS = 3

# What a jug is read to, and how far a float rises before it closes (common practice, no source).
SURE = "each mark to about 2 %"


def run(bench, talk, count, channels, strip=False):
    """Returns ({key: value} of the table [tub], how sure). count: floats that are wired; a strip's marks are asked for;
    channels: the pots' settings.

    Raises Stop where a float does not do what the water should make it do.
    """
    talk.say(
        "The tub must be empty down to the pumps' inlet: what stands below it does not count, so leave that in. Then "
        "it is filled jug by jug, as slowly as you like, and you say how much went in."
    )
    if not talk.confirm("empty", "Is the tub empty down to the inlet?"):
        raise exits.Stop(exits.FAILED, ["Nothing was changed."])
    pumps = tub_shares.Pumps(bench, talk, channels)
    if strip:
        return _strip(bench, talk, pumps)
    _expect(bench, EMPTY, count, "although the tub is empty")
    table, total_ml, play_ml = {}, 0, 0
    for number in range(1, count + 1):
        total_ml += talk.litres("poured_ml", f"Fill until float {number} comes up. How much went in for that?")
        _expect(bench, number + 1, count, f"after {total_ml} ml")
        if number == 1:
            # A float falls a little lower than it rises, and it is its fall that counts.
            play_ml = talk.litres("back_ml", "Take water out again with a cup, until it falls. How much came out?")
            _expect(bench, EMPTY, count, f"{play_ml} ml lower")
            total_ml -= play_ml
            table["mark1_ml"] = max(0, total_ml)
            pumps.measure_low()
        else:
            table[f"mark{number}_ml"] = total_ml - play_ml
    return _brim(talk, table, total_ml, pumps), SURE


def _strip(bench, talk, pumps):
    """A strip has no marks of its own: the person makes some, a few litres apart."""
    table, total_ml = {"strip": [[_raw(bench), 0]]}, 0
    for number in range(1, MARKS + 1):
        if number > 1 and not talk.confirm("another", f"Another mark (up to {MARKS}; more marks, better days)?"):
            break
        total_ml += talk.litres("poured_ml", f"Fill to where mark {number} is to be. How much went in for that?")
        table[f"mark{number}_ml"] = total_ml
        table["strip"].append([_raw(bench), number])
        if number == 1:
            pumps.measure_low()
    return _brim(talk, table, total_ml, pumps), SURE


def _brim(talk, table, total_ml, pumps):
    table["full_ml"] = total_ml + talk.litres("brim_ml", "Fill it as full as you always will. How much more went in?")
    table.update(pumps.measure_full())
    table["open_cm2"] = 0
    if not talk.confirm("lid", "Does a lid cover it (against children, cats and mosquitoes)?"):
        table["open_cm2"] = talk.whole(
            "open_cm2", "How large is its open surface, in cm2 (length times width)?", 5, 5000
        )
    return table


def _raw(bench):
    return sorted(bench.tub_raw() for _ in range(DRY_LOOKS))[DRY_LOOKS // 2]


def _expect(bench, mark, count, when):
    """Stop where the floats say another mark than the water."""
    seen = bench.tub_mark()
    if seen == mark:
        return
    lines = [f"The floats say {said(seen, count)} {when}; {said(mark, count)} was to be expected."]
    if seen > mark and seen != ODD:
        lines.append("A float sticks up, its wire is shorted, or it hangs lower than its place in tub_pins says.")
    elif seen == ODD:
        lines.append("One is down below another that is up: two may be exchanged in tub_pins, which goes from below.")
    else:
        lines.append("A float sticks down, its wire is broken, or not as much went in.")
    raise exits.Stop(exits.FAILED, [*lines, "Nothing was changed."])


def said(mark, count):
    """A mark in words."""
    if mark == ODD:
        return "what can't be"
    return "that none is up" if mark == EMPTY else f"that {mark - 1} of {count} {'is' if mark == 2 else 'are'} up"
