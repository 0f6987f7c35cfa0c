"""Charge: what a wake costs, and what sleeping costs between wakes.

board: the `energy` table of a board file: active_ua, sleep_ua, boot_ms,
boot_ua, pump_ua, probe_ua, report_uah, integers.
"""

from potreeve.logic.units import const, div_up

_MS_PER_H = const(3600000)

# What follows the reading in a wake without a pulse: deciding, storing, the panel (ours, on an emulated RP2040: 1.71 s
# to 2.35 s).
FINISH_MS = 640


def awake_uah(awake_ms, energy):
    """Charge of being awake for `awake_ms`, in uAh, rounded up."""
    return div_up(awake_ms * (energy["active_ua"] + energy["probe_ua"]), _MS_PER_H)


def boot_uah(energy):
    """Charge of one start, from power to the first line of ours."""
    return div_up(energy["boot_ms"] * energy["boot_ua"], _MS_PER_H)


def sleep_uah(seconds, energy):
    """Charge of sleeping for `seconds`, in uAh, rounded up."""
    return div_up(seconds * energy["sleep_ua"], 3600)


def pump_uah(ms, energy):
    """Charge of a pump running for `ms`, in uAh, rounded up."""
    return div_up(ms * energy["pump_ua"], _MS_PER_H)


def span_uah(span, energy):
    """Charge since the last wake.

    span: (slept_s, awake_ms, pump_ms, started), started 1 when the board came
    through a reset or power-up: then awake_ms reaches to the reading of this wake only.
    """
    slept_s, awake_ms, pump_ms, started = span
    if started:
        awake_ms += FINISH_MS + pump_ms
    total = sleep_uah(slept_s, energy) + awake_uah(awake_ms, energy)
    total += pump_uah(pump_ms, energy)
    if started:
        total += boot_uah(energy)
    return total
