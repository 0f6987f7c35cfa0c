"""The judge's findings and deaths in words: the only place where they become sentences."""

from potreeve_tools.mishaps.evidence import day_text

SENTENCES = {
    # W1 to W9
    "pulse_too_long": "a pulse of {ms} ms, limit {most_ms} ms",
    "asked_too_long": "{ms} ms asked for, limit {most_ms} ms",
    "over_day": "{ml:.0f} ml within 24 h, cap {cap_ml:.0f} ml",
    "undercounted": "the ledger counts {counted_ml:.0f} ml of the last 24 h, {given_ml:.0f} ml were given",
    "tray_over_headroom": "the tray held {tray_ml:.0f} ml, its headroom is {headroom_ml} ml",
    "pumped_before_intent": "{ms} ms pumped, {stored} stored before",
    "unproven_without_end": (
        "pulse {pulses} in a row without a rise, limit {pulses_most}, after water that should have lifted it "
        "{lift_pm:.0f} per mille, limit {lift_most_pm}"
    ),
    "trials_too_many": "held, and a pulse {apart_h:.1f} h after its trial had begun and had had enough to be seen",
    "steered_blind": "{pulses} pulses steered by a probe that can't be believed since {blind_since}",
    "rations_too_large": "{ml:.0f} ml within 24 h, cap {cap_ml:.0f} ml (rations)",
    "ration_starved": "on ration, and no water for {hours:.0f} h",
    "pumped_below_stop": "pumped at {mv} mV, stop is {stop_mv} mV",
    "brown_outs": "{pulses} pulses ended in a brown-out",
    "bad_settings_unsaid": "bad settings, and not a word of it in the next records",
    "last_good_unsaid": "the last good settings run, and no record or alarm says so",
    "heard_unwritten": "the broker heard what nobody wrote",
    "heard_out_of_order": "a record came later than one written after it",
    "pumped_without_memory": "pumped {hours:.1f} h after its memory was lost",
    "memory_claimed": "the very first wake of a new board claims a memory",
    # L1 to L5
    "died_in_sound_rig": "the plant died, and nothing was wrong with the rig",
    "died_without_mishap": "the plant dies without the mishap, too, by the product's own settings",
    "waits_in_sound_rig": "{state} for {hours:.0f} h ({why}), and nothing was wrong with the rig",
    "short_in_sound_rig": "short of water for {hours:.0f} h, and nothing was wrong with the rig",
    "died_unannounced": "the plant died, and no call that began three days before named it ({called})",
    "waits_on": "still {state} ({why}) {hours:.0f} h after its cause had gone",
    "short_on": "still short of water ({state}, {why}) {hours:.0f} h after its cause had gone",
    "short_beside_sick": "short of water for {hours:.0f} h, beside a sick one, and nothing ails it ({state}, {why})",
    "short_beside_fed": "short of water for {hours:.0f} h while the others had enough ({state}, {why})",
    "starving_settings_unsaid": "short of water for {hours:.0f} h under the caps of its settings, and no call says so",
    "insisting_unsaid": "settings that starve a plant run because somebody insists, and {hours:.0f} h of that "
    "nothing says so",
    # what is asked besides
    "broke_off": "the firmware broke off: {text}",
    "flooded": "the tray ran over {times} times",
    "electronics_wet": "water reached the electronics",
    "died": "the plant died ({cause}), which nothing allows",
    "called_late": "no call that names it within {called_h:.0f} h",
    "no_record": "no record, and no light that says why",
    "waits_unsaid": "not tended, and no reason or alarm says so",
    "no_wake": "no wake for {hours:.0f} h, though it had power",
    "wakes_untold": "it wakes, yet no record for {hours:.0f} h, and no light that says why",
    "never_sent": "{lost} of {records} records never reached the broker",
    "no_light": "it waits for a person, and no light says so",
    "never_wet": "water never reached the wires of the tray's sensor",
    "pumped_into_water": "{pulses} pulses, {ml:.0f} ml in all, though water stood at the wires of the tray's sensor",
    "ends_otherwise": "it is {state}, not {wanted}",
    # why a run shows nothing
    "never_waited": "no record ever had to wait for the broker",
    "never_mattered": "{kind} never made a difference",
    "said_beforehand": "{text}",
    "unfit": "can't be played: {text}",
}


def say(finding):
    """A finding as one line: law, time, pot, what."""
    words = SENTENCES[finding.code].format(**_figures(finding))
    where = " ".join(part for part in ("" if finding.t_s is None else day_text(finding.t_s), finding.pot) if part)
    return ": ".join(part for part in (finding.law, where, words) if part)


def tell_death(death):
    """A death as one line."""
    called = "not called for in time" if death.called_s is None else f"called for since {day_text(death.called_s)}"
    return f"{day_text(death.t_s)} {death.pot} died: {death.cause}, {called}"


def _figures(finding):
    figures = dict(finding.figures)
    if finding.code == "pumped_before_intent":
        stored_ms = figures["stored_ms"]
        figures["stored"] = "nothing" if stored_ms is None else f"{stored_ms} ms"
    if "blind_since_s" in figures:
        figures["blind_since"] = day_text(figures["blind_since_s"])
    if "called_s" in figures:
        called_s = figures["called_s"]
        figures["called"] = "it never called" if called_s is None else f"it last began to call {day_text(called_s)}"
    if "reason" in figures:
        from potreeve_tools.mishaps.story import short

        figures["why"] = short(figures["reason"]) if figures["reason"] else "no reason given"
    return figures
