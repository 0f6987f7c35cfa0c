"""Files as a board would have written them, made by its own code, and a board's `run` over a folder."""

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import kit
from potreeve import keep
from potreeve.logic import cycle, timekeep
from potreeve.logic import settings as logic
from potreeve.logic.state import fresh
from potreeve_tools.rehearsal import cpython
from potreeve_tools.rehearsal.engines import FIRMWARE

FLASH = {"blocks": 212, "block_bytes": 4096}
ENERGY = {
    "active_ua": 25000,
    "sleep_ua": 1500,
    "boot_ms": 500,
    "boot_ua": 25000,
    "pump_ua": 80000,
    "probe_ua": 15000,
    "report_uah": 80,
}
MICROPYTHON = Path(sys.executable).with_name("micropython")

POTS = ("mint", "strawberry", "cherry tomato", "thyme")


def folder_store(folder):
    """hal's own store on a folder of the desktop, whose disks nobody wants flushed at every write."""
    module = cpython.load_store(FIRMWARE)
    module.os = SimpleNamespace(
        **{name: getattr(os, name) for name in ("listdir", "mkdir", "remove", "rename", "stat")}
    )
    Path(folder).mkdir(parents=True, exist_ok=True)
    return module.Store(str(folder))


def settings_data(count=3, **changes):
    """A settings file's content (invented data)."""
    pots = [
        {
            "name": POTS[index],
            "plant": POTS[index].replace(" ", "_"),
            "pot_ml": 1200,
            "holds_ml": 500,
            "curve": [[52000, 0], [22000, 1000]],
            "pump_ul_s": 4000,
        }
        for index in range(count)
    ]
    return {"name": "reading room", "tray_headroom_ml": 960, "tray_area_cm2": 900, "channels": pots, **changes}


def settings(count=3, **changes):
    """Checked settings."""
    checked, faults = logic.check(settings_data(count, **changes))
    assert not faults, faults
    return checked


class Life:
    """A board's wakes without a board: state, ledger and log move on as in app.py."""

    def __init__(self, folder, count=3, utc_s=0, pm=700):
        self.folder = Path(folder)
        self.store = folder_store(folder)
        self.settings = settings(count)
        self.ledger = keep.Ledger(self.store)
        self.log = keep.Log(self.store, FLASH)
        self.state = self.ledger.load(count)
        self.utc_s = utc_s
        self.pms = [pm + 20 * index for index in range(count)]
        self.first = True

    def wake(self, times=1, elapsed_s=1800):
        """Live through so many wakes."""
        count = len(self.state.pots)
        for _ in range(times):
            self.utc_s += elapsed_s if self.utc_s else 0
            self.pms = [pm - 1 for pm in self.pms]
            seen = kit.make_readings(
                self.pms,
                cause=timekeep.POWER_ON if self.first else timekeep.KEPT,
                elapsed_s=0 if self.first else elapsed_s,
                utc_s=self.utc_s,
                done_ms=[pot.done_ms for pot in self.state.pots],
                under_mv=[pot.under_mv for pot in self.state.pots],
            )
            self.first = False
            before = self.state
            self.state, actions, line = cycle.step(before, seen, self.settings, ENERGY)
            assert self.ledger.save(self.state)
            assert self.log.append(line, before)
            if any(actions.pulse_ms):
                self.state = cycle.settle(self.state, actions.pulse_ms, [3800] * count)
                self.ledger.save(self.state)
                # 4 ul a millisecond into 500 ml; a tenth of it runs through.
                self.pms = [pm + ms * 4 * 9 // 5000 for pm, ms in zip(self.pms, actions.pulse_ms)]
        return self


class FolderBoard:
    """`run(code)` as over a cable, but in the MicroPython of this machine with `folder` as /data.

    trips: how often it was called; spoil(text) may change what comes back.
    """

    def __init__(self, folder, spoil=None):
        self.folder = Path(folder)
        self.trips = 0
        self.bytes = 0
        self.spoil = spoil

    def run(self, code):
        self.trips += 1
        code = code.replace("'/data/'", repr(str(self.folder) + "/")).replace("'/data'", repr(str(self.folder)))
        done = subprocess.run([MICROPYTHON, "-c", code], capture_output=True, text=True, timeout=60)
        assert done.returncode == 0, done.stderr
        self.bytes += len(done.stdout)
        return self.spoil(done.stdout) if self.spoil else done.stdout


def empty_state(count=3):
    """A memory without history."""
    return fresh(count)
