"""Water in the tray, by a sensor of its own: two wires or a float, with a resistor at their far end.

The sensor may only take water away. The tray's account stands beside it as ever, and never says less for what a sensor
claims, but by what an open tray loses to air as dry as was measured: so a sensor that is stuck at "dry" floods nothing.
One that is stuck at "wet" stops the rig and calls; after a day a pot that is short of water, and is known to keep what
it gets, is given a dose within what the account alone would allow: so it kills nothing either.
"""

from potreeve.logic import debounce, demand, limits, reasons, record, water
from potreeve.logic.state import TENDED
from potreeve.logic.units import DAY_S, HOUR_S, const

# What two wires over 100 k, read through 47 k, show; `calibrate tray` measures them. See settings_help.
_NOMINAL = {"dry_pm": 680, "wet_pm": 200, "reach_ml": 50}

# Both ways round the voltages add up to the supply's; beyond these, in mV, something else drives the wire. A worn
# pair of wires in water is a weak battery of its own and shifts the sum (common practice, no source).
_SUM_LOW_MV = const(2000)
_SUM_HIGH_MV = const(4600)

# Less than this across the wires is metal on metal, or more salt than any feed brings (common practice, no source).
_SHORT_PM = const(8)

# So long without a wet reading, and the tray is dry again: drops run together and part for an hour or two (common
# practice, no source).
DRY_S = 2 * HOUR_S

# Who holds the rig by hand stands beside it; later on water in the tray is told all the same (common practice).
_AT_HAND_S = const(3600)

# A call stands so long before a dry pot is spared: long enough for somebody to look, and no plant dies within it.
SPARED_AFTER_S = DAY_S

# A pot that keeps less of its water than this lets it run into the tray (common practice, no source).
_KEEPS_PM = const(500)

# An open tray loses 1.2 um a day for each pascal of deficit (a rule of indoor pools, from memory); half of that is
# believed, once a day of readings was dry.
_UM_DAY_PER_100_PA = const(60)

_HOLDS = (reasons.WET_TRAY, reasons.WET_DENIED)
_YIELD = (reasons.NONE, reasons.STRAYS, reasons.RISING)


def share_pm(forth_mv, back_mv):
    """The wires' share of the supply, 0..1000 pm, by the voltages on the sense wire, driven forth and back, each
    0..5000 mV; -1 where they do not add up to the supply's.

    Driven forth the wires' share stands there, driven back the series resistor's.
    """
    both_mv = forth_mv + back_mv
    return forth_mv * 1000 // both_mv if _SUM_LOW_MV <= both_mv <= _SUM_HIGH_MV else -1


def classify(forth_mv, back_mv, settings):
    """record.TRAY_... by the voltages on the sense wire; see share_pm.

    Corrosion adds to the wires: it is told as a broken wire before it could hide water.
    """
    keys = settings.get("tray_sensor") or _NOMINAL
    pm = share_pm(forth_mv, back_mv)
    dry_pm = keys["dry_pm"]
    if pm > dry_pm + (1000 - dry_pm) // 4:
        return record.TRAY_BROKEN
    if pm < _SHORT_PM:
        return record.TRAY_ODD
    return record.TRAY_WET if pm <= dry_pm - (dry_pm - keys["wet_pm"]) // 4 else record.TRAY_DRY


def observe(state, readings, settings, told_ul):
    """Take in what the sensor says in this wake, after people were heard and before water is given.

    told_ul: the tray's account before they were heard.
    """
    rig = state.rig
    extra = state.extra
    seen = readings.tray_wet
    if seen != record.TRAY_DRY or not extra.tray_wet:
        # Of what was before the first look, nothing is known.
        extra.dry_since_s = rig.up_s
    extra.tray_wet = seen
    # A short may be water full of salts: it stops the rig as well.
    wet = seen in (record.TRAY_WET, record.TRAY_ODD)
    if wet:
        extra.wet_last_s = rig.up_s
        if not extra.wet:
            extra.wet = 1
            extra.wet_since_s = rig.up_s
    if readings.button:
        extra.held = 0
    if not wet and readings.button == debounce.LONG and rig.hold == reasons.NONE:
        # Somebody has just said that the tray is empty, and nothing speaks against it.
        extra.wet = extra.added_ul = 0
    if not extra.wet:
        _dries(state, readings, settings)
    elif seen == record.TRAY_DRY and rig.up_s - extra.wet_last_s >= DRY_S:
        _over(state, settings)
    else:
        _hold(rig, extra, readings, told_ul)
        _fill(state, settings)


def _hold(rig, extra, readings, told_ul):
    """No water while there is some in the tray; a press that says it is empty is contradicted."""
    if readings.button == debounce.LONG and rig.hold == reasons.NONE:
        rig.tray_ul = told_ul
        rig.hold = reasons.WET_DENIED
    elif rig.hold in _YIELD or rig.hold == reasons.OWNER and rig.up_s - rig.hold_s >= _AT_HAND_S:
        # It comes back, with its own time, once the tray is dry.
        extra.held = rig.hold
        rig.hold = reasons.WET_TRAY


def _fill(state, settings):
    """The tray counts as full; what that adds to its account is kept apart, and goes again when it is dry."""
    rig = state.rig
    extra = state.extra
    own_ul = rig.tray_ul - limits.open_ul(rig, state.pots)
    if extra.added_ul > own_ul:
        # What dried meanwhile was of the account's own first.
        extra.added_ul = own_ul
    short_ul = settings["tray_headroom_ml"] * 1000 - rig.tray_ul
    if short_ul > 0:
        extra.added_ul += short_ul
        rig.tray_ul += short_ul


def _over(state, settings):
    """The tray is dry again: what the sensor added goes, but for what it does not reach."""
    rig = state.rig
    extra = state.extra
    extra.wet = 0
    rig.tray_ul -= min(extra.added_ul, rig.tray_ul)
    extra.added_ul = 0
    keys = settings.get("tray_sensor") or _NOMINAL
    least_ul = min(keys["reach_ml"], settings["tray_headroom_ml"]) * 1000
    if rig.tray_ul < least_ul:
        rig.tray_ul = least_ul
    if rig.hold in _HOLDS:
        rig.hold = extra.held
    extra.held = 0


def _dries(state, readings, settings):
    """After a day of dry readings the account dries as fast as the air says, where its owner lets it dry at all."""
    rig = state.rig
    extra = state.extra
    if readings.temp_cdeg == record.NO_TEMP or readings.rh_pm == record.NO_RH:
        return
    um_day = demand.deficit_pa(readings.temp_cdeg, readings.rh_pm) * _UM_DAY_PER_100_PA // 100
    more_um_day = um_day - settings["tray_dry_um_day"]
    if more_um_day <= 0 or not settings["tray_dry_um_day"] or rig.up_s - extra.dry_since_s < DAY_S:
        return
    open_ul = limits.open_ul(rig, state.pots)
    own_ul, extra.dry_carry = limits.dry_tray(
        rig.tray_ul - open_ul, settings["tray_area_cm2"], more_um_day, extra.dry_carry, readings.elapsed_s
    )
    rig.tray_ul = own_ul + open_ul


def decide(state, settings, believed):
    """Pulses while the rig is held for water in the tray: as water.decide, but only doses for pots below their stress
    point that keep what they get.

    No pot gets so dry in a tray of water it stands in, and what such a pot is given stays out of one it stands above.
    """
    rig = state.rig
    extra = state.extra
    waits = rig.up_s - extra.wet_since_s < SPARED_AFTER_S
    left_out = []
    for index, pot in enumerate(state.pots):
        dry = pot.dry_s or pot.dosing
        if waits or not dry or pot.ladder != TENDED or pot.kept_pm < _KEEPS_PM:
            pot.dosing = 0
            left_out.append(index)
    if len(left_out) == len(state.pots):
        return [0] * len(state.pots)
    # By the account as it stands without the sensor.
    held = rig.hold
    rig.hold = reasons.NONE
    rig.tray_ul -= extra.added_ul
    pulses = water.decide(state, settings, believed, left_out)
    rig.tray_ul += extra.added_ul
    rig.hold = held
    return pulses
