"""What `bench alive` reports: figures of all pots under either way of watering, the worst, and what was missed."""

import statistics
from dataclasses import asdict

from potreeve_tools.bench import alivewatch
from potreeve_tools.bench.alive import DAYS
from potreeve_tools.world.potspec import SOILS

SCHEMA = "potreeve-alive/1"

TARGETS = {
    "deaths": 0,
    "holds_over_a_day": 0,
    "in_band_pct_median": 98.0,
    "in_band_pct_p5": 90.0,
    "floods": 0,
    "refused_share": 0.1,
}


def report(results, days=DAYS, pots=False, soil=SOILS[0], on_feet=False):
    """What `potreeve bench alive --json` prints. pots: every rig in full, too."""
    ran = [result for result in results if not result.refused and not result.broke]
    ours = [(result, pot) for result in ran for pot in result.pots]
    loops = [(result, pot) for result in ran for pot in result.loop]
    reasons = {}
    for result in results:
        if result.refused:
            why = _without_figures(result.refused)
            reasons[why] = reasons.get(why, 0) + 1
    found = {
        "schema": SCHEMA,
        "days_each": days,
        "soil": soil,
        "on_feet": on_feet,
        "band": f"Ks of FAO-56 at 1 and at most {alivewatch.BAND_TOP_PM:.0f} per mille of container capacity, "
        "by the world's truth",
        "rigs": len(results),
        "refused": {
            "rigs": sum(bool(result.refused) for result in results),
            "seeds": [result.seed for result in results if result.refused],
            "reasons": dict(sorted(reasons.items(), key=lambda item: -item[1])),
        },
        "broke_off": [{"seed": result.seed, "what": result.broke} for result in results if result.broke],
        **_figures(ours, ran, "floods", "spilled_ml"),
        "unannounced_deaths": sum(pot.died_d is not None and not pot.announced for _, pot in ours),
        "holds_over_a_day": sum(pot.longest_h > 24.0 for _, pot in ours),
        "held_or_rationed_h": round(sum(pot.held_h + pot.rationed_h for _, pot in ours), 1),
        "notes": sum(result.notes for result in ran),
        "calls": sum(result.calls for result in ran),
        "batteries": sum(result.batteries for result in ran),
        "rival": _figures(loops, ran, "loop_floods", "loop_spilled_ml"),
        "worst": _worst(ours, ran),
        "busy_s": round(sum(result.took_s for result in results), 1),
    }
    found["missed"] = missed(found)
    if pots:
        found["detail"] = [asdict(result) for result in results]
    return found


def _figures(pairs, ran, floods, spilled):
    bands = sorted(pot.in_band_pct for _, pot in pairs)
    return {
        "pots": len(pairs),
        "deaths": sum(pot.died_d is not None for _, pot in pairs),
        "in_band_pct_median": round(statistics.median(bands), 2) if bands else None,
        "in_band_pct_p5": round(percentile(bands, 5), 2) if bands else None,
        "dry_h": sum(pot.dry_h for _, pot in pairs),
        "over_h": sum(pot.over_h for _, pot in pairs),
        "soaked_h": sum(pot.soaked_h for _, pot in pairs),
        "floods": sum(getattr(result, floods) for result in ran),
        "spilled_ml": round(sum(getattr(result, spilled) for result in ran), 1),
    }


def percentile(ordered, share):
    """The value below which `share` per cent of an ordered list lie; between two, the line."""
    place = (len(ordered) - 1) * share / 100.0
    low = int(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (ordered[high] - ordered[low]) * (place - low)


def _without_figures(text):
    """A refusal without its figures and place, so that like ones are counted together."""
    text = text.split(": ", 1)[-1]
    return "".join("#" if character.isdigit() else character for character in text)[:160]


def _worst(pairs, ran):
    """What to look at first: deaths, floods, long holds, then the least in band."""
    told = []
    for result in ran:
        if result.spilled_ml > 0.0:
            told.append((0, result.seed, "tray", f"{result.spilled_ml:.0f} ml over the tray"))
    for result, pot in pairs:
        what = f"{pot.plant} in {pot.pot_ml / 1000:.1f} l {pot.substrate}, {result.board}"
        if pot.died_d is not None:
            said = "announced" if pot.announced else "unannounced"
            told.append((0, result.seed, pot.name, f"{pot.why} on day {pot.died_d:.0f}, {said}; {what}"))
        elif pot.longest_h > 24.0:
            told.append((1, result.seed, pot.name, f"held or rationed {pot.longest_h:.0f} h in a row; {what}"))
        elif pot.in_band_pct < TARGETS["in_band_pct_p5"]:
            why = f"in band {pot.in_band_pct:.1f} % (dry {pot.dry_h} h, over {pot.over_h} h); {what}"
            told.append((2 + pot.in_band_pct / 1000, result.seed, pot.name, why))
    return [{"seed": seed, "pot": name, "why": why} for _, seed, name, why in sorted(told)]


def missed(found):
    """Lines on the targets that were not reached."""
    lines = []
    for name in ("deaths", "holds_over_a_day", "floods"):
        if found[name] > TARGETS[name]:
            lines.append(f"{name}: {found[name]}, may be {TARGETS[name]}")
    if found["spilled_ml"] > 0.0 and not found["floods"]:
        lines.append(f"water over the tray: {found['spilled_ml']} ml")
    for name in ("in_band_pct_median", "in_band_pct_p5"):
        if found[name] is None or found[name] < TARGETS[name]:
            lines.append(f"{name}: {found[name]}, must be {TARGETS[name]}")
    refused = found["refused"]["rigs"]
    if refused > TARGETS["refused_share"] * found["rigs"]:
        lines.append(f"refused: {refused} of {found['rigs']} rigs, may be one in ten")
    if found["broke_off"]:
        lines.append(f"broke off: {len(found['broke_off'])} rigs")
    return lines
