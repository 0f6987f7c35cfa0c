"""Short lives of a small rig, whose records tell whether a changed module decides otherwise.

No world behind it: pots that dry and rise by plain arithmetic, probes, tubes,
batteries and resets that go wrong by a seeded plan. Fast, so that hundreds of
changed modules can each live a few thousand wakes.
"""

import random
from binascii import crc32

from potreeve.logic import cycle, debounce, ledger, record, settings, state, timekeep

from potreeve_tools.bench.plainrig import ENERGY

STEPS = 700
WALKS = 8
DRY_RAW, WET_RAW = 52000, 22000


def sums(number):
    """Running CRC-32 after every wake of walk `number`, so that the first difference ends a comparison."""
    rng = random.Random(number)
    what = _settings(number)
    life = _Life(rng, what, number)
    total = 0
    for _ in range(STEPS):
        total = crc32(life.wake(), total)
        yield total


def _settings(number):
    pot = {
        "pot_ml": 1200,
        "holds_ml": 500,
        "curve": [[DRY_RAW, 0], [WET_RAW, 1000]],
        "pump_ul_s": 4000,
        "pulse_ml": 20,
        "pump_cal_mv": 3700 if number % 2 else 0,
        "unproven_max": 1 + number % 4,
    }
    data = {
        "tray_headroom_ml": (120, 300, 900)[number % 3],
        "tray_area_cm2": 900,
        "rig_day_ml": (90, 400)[number % 2],
        # A cap that starves a pot is for the walks to reach, too.
        "insist": True,
        "pots_in_tray": number % 4 == 0,
        "battery_kind": ("lithium", "nimh")[number % 5 == 4],
        "battery_cells": 3 if number % 5 == 4 else 1,
        "channels": [dict(pot, name=f"pot {index}", ration_ml=10 + 15 * index) for index in range(1 + number % 3)],
    }
    checked, faults = settings.check(data)
    assert not faults, faults
    return checked


class _Life:
    def __init__(self, rng, what, number):
        self.rng, self.what = rng, what
        self.count = len(what["channels"])
        self.now = state.fresh(self.count)
        if number % 4:
            self.now.rig.memory = 0
        self.slots = [ledger.encode(1, self.now), None]
        self.pms = [rng.choice((400.0, 650.0, 900.0)) for _ in range(self.count)]
        self.fault = [None] * self.count
        self.tube = list(range(self.count))
        self.done, self.under = [record.NOT_RUN] * self.count, [0] * self.count
        self.sleep_s = 1800
        self.mv = 3900 if number % 5 != 4 else 3950

    def wake(self):
        """One wake; returns bytes that tell all it decided."""
        rng = self.rng
        self._mishaps()
        cause = rng.choice((0, 1, 4, 5)) if rng.random() < 0.015 else timekeep.KEPT
        slept_s = self.sleep_s if rng.random() < 0.98 else rng.choice((0, 60, 90000))
        if cause != timekeep.KEPT:
            self._reboot()
        seen = self._readings(cause, slept_s)
        self.now, actions, line = cycle.step(self.now, seen, self.what, ENERGY)
        _, number, slot = ledger.choose(*self.slots)
        self.slots[slot] = ledger.encode(number, self.now)
        self.done, self.under = [record.NOT_RUN] * self.count, [0] * self.count
        if any(actions.pulse_ms) and rng.random() < 0.97:
            self._pump(actions.pulse_ms)
            self.now = cycle.settle(self.now, self.done, self.under)
            _, number, slot = ledger.choose(*self.slots)
            self.slots[slot] = ledger.encode(number, self.now)
        self.sleep_s = actions.sleep_s
        return line + state.pack(self.now)

    def _reboot(self):
        if self.rng.random() < 0.1:
            slot = self.rng.randrange(2)
            self.slots[slot] = (self.slots[slot] or b"?")[:-1] + b"?"
        found, _, _ = ledger.choose(*self.slots)
        self.now = found or state.fresh(self.count)
        self.done, self.under = [record.NOT_RUN] * self.count, [0] * self.count

    def _pump(self, pulse_ms):
        for index, ms in enumerate(pulse_ms):
            if ms:
                self.done[index], self.under[index] = ms, max(0, self.mv - self.rng.choice((150, 180, 220)))
                to = self.tube[index]
                if to >= 0:
                    self.pms[to] = min(1150.0, self.pms[to] + ms * 0.008 * self.rng.uniform(0.7, 1.2))

    def _mishaps(self):
        """Now and then something breaks; mostly it is put right again."""
        rng = self.rng
        index = rng.randrange(self.count)
        dice = rng.random()
        if dice < 0.02:
            self.fault[index] = rng.choice(("open", "short", "air", "wild", "still", "high", "drop"))
        elif dice < 0.05:
            self.fault[index] = None
        elif dice < 0.06:
            self.tube[index] = rng.choice((-1, (index + 1) % self.count))
        elif dice < 0.08:
            self.tube[index] = index
        elif dice < 0.09:
            self.pms[index] = min(1150.0, self.pms[index] + rng.choice((70, 150, 400)))
        elif dice < 0.10:
            self.mv = rng.choice((0, 3100, 3350, 3600, 3900, 4200, 4700))
        elif dice < 0.12:
            self.mv = 3900
        elif dice < 0.125:
            self.what = dict(self.what, ack=(self.what["ack"] + 1) % 256)

    def _readings(self, cause, slept_s):
        rng = self.rng
        seen = cycle.Readings()
        seen.cause, seen.elapsed_s = cause, slept_s if cause == timekeep.KEPT else 0
        seen.awake_ms, seen.utc_s, seen.usb = 1500, 1780000000, 0
        seen.button = rng.choice((debounce.SHORT, debounce.LONG)) if rng.random() < 0.02 else debounce.NONE
        seen.battery_mv = self.mv
        seen.temp_cdeg, seen.rh_pm = (
            (record.NO_TEMP, record.NO_RH) if rng.random() < 0.05 else (rng.randint(1400, 3000), rng.randint(250, 800))
        )
        seen.lx = rng.choice((-1, 0, 0, 300, 2000, 9000))
        seen.errors = 0
        seen.raw, seen.spread = [], []
        for index in range(self.count):
            self.pms[index] = max(60.0, self.pms[index] - slept_s / 86400 * rng.uniform(60, 260))
            raw, spread = self._probe(index)
            seen.raw.append(raw)
            seen.spread.append(spread)
        seen.done_ms, seen.under_mv = self.done, self.under
        return seen

    def _probe(self, index):
        pm = self.pms[index]
        raw = DRY_RAW + int((WET_RAW - DRY_RAW) * pm / 1000) + self.rng.randint(-60, 60)
        kind = self.fault[index]
        if kind is None:
            return raw, self.rng.randint(20, 90)
        return {
            "open": (65535, 0),
            "short": (100, 0),
            "air": (51500, 30),
            "wild": (raw, 5000),
            "still": (38000, 0),
            "high": (20000, 40),
            "drop": (min(52000, raw + 9000), 50),
        }[kind]
