"""Which tube ends beside which probe: a little water each, and who notices."""

from potreeve.logic.moisture import RAIL_HIGH_RAW, RAIL_LOW_RAW
from potreeve.logic.starving import PROOF_WATER_PM

from potreeve_tools.owner import calibration
from potreeve_tools.words import sentences

READINGS = 3
PULSE_MS = 2000

VERDICTS = {
    calibration.RIGHT: "right: its own probe answers",
    calibration.SILENT: "no probe answers: no water came (reservoir, tube, pump), or its probe stands in a gap",
    calibration.UNCLEAR: "several probes answer: let the water settle and try this one again",
}


def run(bench, talk, settings, soak_s, chosen=None):
    """List of dicts, one per channel tried: name, verdict (calibration.*), other (name or None), text."""
    tables = settings["channels"]
    everyone = range(len(tables))
    results = []
    for channel in everyone if chosen is None else [chosen]:
        name = tables[channel]["name"]
        before = _calm(bench, tables, soak_s)
        dead = _dead(before, channel)
        told = bench.pulse(channel, trial_ms(tables[channel]))
        if not told["ms"]:
            what, do = sentences.refused(told)
            results.append(
                {"name": name, "verdict": calibration.NOT_TRIED, "other": None, "text": f"not tried: {what}; {do}"}
            )
            talk.say(f"{name}: {results[-1]['text']}.")
            continue
        talk.say(
            f"{name}: pump on for {told['ms'] / 1000:.1f} s; waiting up to {_minutes(soak_s)} for a probe to notice."
        )
        bench.wait(soak_s, lambda: _clear(channel, before, _read(bench, tables)))
        verdict, other = calibration.answer(channel, calibration.rises(before, _read(bench, tables)))
        text = VERDICTS.get(verdict) or f"crossed: the probe of {tables[other]['name']} answers; swap tubes or probes"
        if dead and verdict != calibration.RIGHT:
            text += f"; {dead}"
        results.append(
            {
                "name": name,
                "verdict": verdict,
                "other": tables[other]["name"] if verdict == calibration.CROSSED else None,
                "text": text,
            }
        )
        talk.say(f"  {text}.")
    return results


def _minutes(seconds):
    return f"{seconds / 60:.0f} min" if seconds >= 60 else f"{seconds:.0f} s"


def trial_ms(table):
    """How long a trial pulse is: what a probe is sure to see, with priming, as far as a pulse may last; PULSE_MS of a
    pump never measured."""
    if not table["pump_ul_s"]:
        return min(PULSE_MS, table["pulse_max_ms"])
    ul = max(table["pulse_ml"] * 1000, PROOF_WATER_PM * table["holds_ml"])
    return min(table["pulse_max_ms"], table["prime_ms"] + ul * 1000 // table["pump_ul_s"])


def _read(bench, tables):
    """(raw, spread, air_raw, wet_raw) of every channel."""
    bursts = bench.bursts(range(len(tables)), READINGS, 100)
    rows = []
    for channel, table in enumerate(tables):
        medians = sorted(burst[0] for burst in bursts[channel])
        curve = table["curve"]
        ends = (curve[0][0], curve[-1][0]) if curve else (0, 0)
        rows.append(
            (
                medians[len(medians) // 2],
                max(max(burst[1] for burst in bursts[channel]), medians[-1] - medians[0]),
                *ends,
            )
        )
    return rows


def _calm(bench, tables, soak_s):
    """Readings once no probe rises any more: the water of the channel before may go on spreading past its probe."""
    seen = [_read(bench, tables)]

    def calm():
        seen.append(_read(bench, tables))
        return not any(calibration.rises(seen[-2], seen[-1]))

    bench.wait(soak_s, calm)
    return seen[-1]


def _clear(channel, before, after):
    return calibration.answer(channel, calibration.rises(before, after))[0] in (calibration.RIGHT, calibration.CROSSED)


def _dead(rows, channel):
    raw = rows[channel][0]
    if raw >= RAIL_HIGH_RAW:
        return "its own probe's wire is broken or unplugged"
    return "its own probe is shorted or silent" if raw <= RAIL_LOW_RAW else ""
