"""Boot the firmware on the simulated rig, again after every restart, to the end.

Called by each interpreter's own opening (see engines.py) with the link's `ask`,
the real store on that interpreter's file system, and a function that runs
main.py once. Both interpreters run this file.
"""

import sys

import simhal


def run(ask, make_store, run_main):
    """Until the rehearsal is over. Returns nothing; a crash of main.py passes through."""
    import potreeve
    from potreeve.logic import record, segments

    link = simhal.Link(ask)
    store = make_store()
    if link.settings:
        store.replace("settings.json", link.settings.encode())
    while True:
        mirror = simhal.MirrorStore(store, link, record.RECORD_BYTES, segments.PREFIX)
        hal = simhal.Hal(link, mirror)
        potreeve.hal = hal
        sys.modules["potreeve.hal"] = hal
        try:
            run_main()
        except simhal.Restart as restart:
            link.cause = restart.cause
        except simhal.Finished:
            return
