"""Settings, readings and states for tests of the logic: small, valid, easy to change."""

from potreeve.logic import cycle, debounce, record, settings, state, timekeep
from potreeve_tools.bench.plainrig import ENERGY  # noqa: F401  (tests name it as the kit's)

DRY_RAW, WET_RAW = 52000, 22000

POT = {"name": "mint", "pot_ml": 1200, "holds_ml": 500, "curve": [[DRY_RAW, 0], [WET_RAW, 1000]], "pump_ul_s": 4000}

RIG = {"tray_headroom_ml": 1500, "tray_area_cm2": 900}


def make_data(count=2, pot=None, **changes):
    """A settings file's content, before the check."""
    pots = [dict(POT, name=f"pot {index}", **(pot or {})) for index in range(count)]
    return {**RIG, **changes, "channels": pots}


def make_settings(count=2, pot=None, **changes):
    """Checked settings; pot: changes to every channel."""
    checked, faults = settings.check(make_data(count, pot, **changes))
    assert not faults, faults
    return checked


def raw_at(pm):
    """The count at which the probes of make_settings read `pm`."""
    return DRY_RAW + (WET_RAW - DRY_RAW) * pm // 1000


def make_readings(pms, **changes):
    """What a wake sees that comes half an hour after the last; pms: moisture per channel."""
    seen = cycle.Readings()
    values = {
        "cause": timekeep.KEPT,
        "elapsed_s": 1800,
        "awake_ms": 1500,
        "button": debounce.NONE,
        "utc_s": 1780000000,
        "usb": 0,
        "battery_mv": 3900,
        "temp_cdeg": 2100,
        "rh_pm": 450,
        "lx": 800,
        "errors": 0,
        "raw": [raw_at(pm) for pm in pms],
        "spread": [40] * len(pms),
        "done_ms": [record.NOT_RUN] * len(pms),
        "under_mv": [0] * len(pms),
        **changes,
    }
    for name, value in values.items():
        setattr(seen, name, value)
    return seen


def make_state(count=2, **rig):
    """A state whose memory is whole, at a time when nothing is owed."""
    made = state.fresh(count)
    made.rig.memory = 0
    made.rig.up_s = 200000
    made.rig.bucket_s = 200000
    made.rig.day_s = 200000
    made.rig.planned_s = 1800
    for name, value in rig.items():
        assert hasattr(made.rig, name), name
        setattr(made.rig, name, value)
    return made


def as_dict(what):
    """A State as plain values, for comparing and printing."""
    return {"rig": dict(vars(what.rig)), "pots": [dict(vars(pot), spent=list(pot.spent)) for pot in what.pots]}
