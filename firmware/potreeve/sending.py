"""The door to the radio, small enough to be loaded beside all that decides: where the settings have a table `radio`."""

import gc

# What read and decided this wake's water, and is not needed again before the next; a board that forgets loads it anew
# anyhow.
_DECIDED = (
    "cycle battery demand dosing energy ladder limits proof schedule tray water watch air htu21d sht4x light diode wet "
    "tub tub_guard"
)
_READ = "bme280 htu21d sht4x bh1750 photodiode wet tub strip"


def make_room(session):
    """Let go of what is done with."""
    rig = session.rig
    session.let_go()
    rig.without_air()
    for package, names in (("potreeve.logic", _DECIDED), ("potreeve.hal", _READ)):
        for name in names.split():
            rig.forget(package, name)


def begin(session, line):
    """Who sends this wake's record and those that wait, as app.Session._report asks for it; line: the record."""
    if not session.rig.power.keeps_ram:
        make_room(session)
    gc.collect()
    from potreeve import reporting

    return reporting.Sending(session, line)
