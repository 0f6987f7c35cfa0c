"""Parts that only some boards have: read in a wake, remembered in its state. Only boards with them are sent this."""

from potreeve.logic import errors, extra, record

# What is done with once a wake has read: its room is needed for what decides. A board that forgets loads it anew.
_READ = (
    ("potreeve.hal", "bme280"),
    ("potreeve.hal", "sht4x"),
    ("potreeve.hal", "htu21d"),
    ("potreeve.hal", "bh1750"),
    ("potreeve.logic", "air"),
)


def fit(state):
    """The state with room for what extras remember."""
    if not state.extra:
        state.extra = extra.fresh().pack()
    return state


def read(session, seen):
    """Enter what the sensors of tray, tub and soil say in the wake's Readings."""
    rig = session.rig
    if not rig.power.keeps_ram:
        rig.without_air()
        for package, name in _READ:
            rig.forget(package, name)
    # What fails to answer is no wire in water, and no dry one.
    for sensor, name, odd, bit, bad, last in (
        (rig.tray_sensor, "tray_wet", record.TRAY_ODD, errors.TRAY_SENSOR, (record.TRAY_BROKEN, record.TRAY_ODD), ()),
        (rig.tub_sensor, "tub_mark", record.TUB_ODD, errors.TUB_SENSOR, (record.TUB_ODD,), (_mark,)),
        (rig.soil_sensor, "soil_cdeg", record.NO_TEMP, errors.SOIL_SENSOR, (record.NO_TEMP,), ()),
    ):
        if sensor:
            more = [look(session.state.extra) for look in last]
            said = session._try(errors.PANEL, odd, sensor.read, session.settings, *more)
            setattr(seen, name, said)
            if said in bad:
                session.errors |= bit


def _mark(what):
    """The mark of the tub that is believed so far; what: the Extra, or its bytes."""
    return (extra.unpack(what) if isinstance(what, bytes) else what).tub_mark
