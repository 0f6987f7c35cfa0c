"""Calibrates the tray's sensor: dry, then in water, and how much water it takes until it notices."""

from potreeve.logic import extra_keys, wet

from potreeve_tools.terminal import exits

READINGS = 8
# Within these the dry reading can be told from a broken and from a shorted wire.
DRY_LOW_PM, DRY_HIGH_PM = 300, 950

INTRO = (
    "Empty the tray, and wipe its floor and the sensor dry. Have a measuring cup with water at hand. The electronics "
    "hang above the tray's rim; nothing in the water carries more than 3.3 V through 47 kilohms."
)


def run(bench, talk):
    """({key: value} of the settings' table tray_sensor, how sure it is). Raises Stop.

    bench: with tray_mv(times) -> [(forth, back)] in mV.
    """
    talk.say(INTRO)
    _ask(talk, "tray_dry", "Tray and sensor dry?")
    dry_pm, scatter_pm = _reading(bench)
    if not DRY_LOW_PM <= dry_pm <= DRY_HIGH_PM:
        _stop(
            f"dry, the sensor reads {dry_pm} per mille: "
            + ("its wire is broken, or the resistor at its far end is missing" if dry_pm > 500 else "it is shorted")
        )
    talk.say(f"  Dry: {dry_pm} ‰ of the voltage across the wires, scatter {scatter_pm} ‰.")
    ul, _ = talk.amount_ul(
        "poured", "Pour water into the tray until wires or float stand in it; how much was that (ml or g)?"
    )
    wet_pm, wet_scatter_pm = _reading(bench)
    apart_pm = max(extra_keys.APART_PM, 4 * (scatter_pm + wet_scatter_pm))
    if wet_pm > dry_pm - apart_pm:
        _stop(f"in water it reads {wet_pm} ‰, dry {dry_pm} ‰: too near; put its tips lower, or pour more")
    talk.say(
        f"  In water: {wet_pm} ‰. Now empty and wipe the tray, and hold the board's button for two seconds, twice."
    )
    reach_ml = min(20_000, -(-ul // 1000))
    found = {"dry_pm": dry_pm, "wet_pm": wet_pm, "reach_ml": reach_ml}
    return found, f"{dry_pm - wet_pm} ‰ between dry and wet, noticed by {reach_ml} ml"


def _ask(talk, name, question):
    if not talk.confirm(name, question):
        raise exits.Stop(exits.FAILED, ["Nothing was changed."])


def _reading(bench):
    """(median, scatter) of some readings, in per mille. Raises Stop where they are none."""
    shares = sorted(wet.share_pm(forth, back) for forth, back in bench.tray_mv(READINGS))
    if shares[0] < 0:
        _stop("both ways round, its readings do not belong together: a wire is off, or something else drives it")
    return shares[len(shares) // 2], shares[-1] - shares[0]


def _stop(text):
    raise exits.Stop(
        exits.FAILED, [f"The tray's sensor: {text}.", "Check its wires and contacts. Nothing was changed."]
    )
