"""Boot the firmware on the simulated rig, again after every restart, to the end.

Called by each interpreter's own opening (see engines.py) with the link's `ask`,
the real store on that interpreter's file system, and a function that runs
main.py once. Both interpreters run this file.
"""

import sys

import simhal
import simstore
from ends import Finished, Restart
from troubles import SINCE_POWER_MS


class Stage:
    """The simulated hardware as the module `potreeve.hal`, and the way to boot on it."""

    def __init__(self, ask, make_store, run_main):
        import potreeve
        from potreeve.logic import ledger, record, segments

        self.link = simhal.Link(ask)
        self.run_main = run_main
        store = make_store()
        if self.link.settings:
            store.replace("settings.json", self.link.settings.encode())
        if self.link.ca:
            store.replace("ca.der", bytes.fromhex(self.link.ca))
        mirror = simstore.MirrorStore(store, self.link, record.RECORD_BYTES, segments.PREFIX, ledger.SLOTS)
        potreeve.hal = sys.modules["potreeve.hal"] = simhal.Hal(self.link, mirror)

    def boot(self):
        """Run main.py once; False when the rehearsal is over."""
        try:
            self.run_main()
        except Restart as restart:
            self.link.cause = restart.cause
            self.link.now_ms = SINCE_POWER_MS
        except Finished:
            return False
        return True


def run(ask, make_store, run_main, leave=None):
    """Boot again after every restart, to the end. A crash of main.py passes through.

    leave: asked between two boots whether to stop here and go on elsewhere.
    """
    stage = Stage(ask, make_store, run_main)
    while stage.boot():
        # A record that was not told yet, as after a brown-out in mid-pulse, lives only here.
        if leave and not stage.link.records and leave():
            return
