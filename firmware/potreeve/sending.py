"""The door to the radio, small enough to be loaded beside all that decides: where the settings have a table `radio`."""

import gc

# What read and decided this wake's water, and is not needed again before the next; a board that forgets loads it anew
# anyhow.
_DECIDED = "cycle battery demand dosing energy ladder limits proof schedule tray water watch air sht4x light diode wet"
_READ = "bme280 sht4x bh1750 photodiode"


class Gone:
    """rig.climate and rig.light of a board that has let go of them: where a press comes just then, one wake is
    without."""

    def read(self):
        return None

    def read_lx(self):
        return -1


def make_room(session):
    """Let go of what is done with."""
    rig = session.rig
    session.let_go()
    rig.climate = rig.light = Gone()
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
