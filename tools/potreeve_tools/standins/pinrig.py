"""The real main.py, app and pump driver over fake pins, with whatever else going wrong.

`machine` and `time` are stood in for, so that a pump pin's level is known at
every moment that passes. Runs under CPython and MicroPython; a process that has
installed this no longer knows the real time.
"""

import json
import sys

import scripted
from ends import Finished, Restart
from pins import Machine, Pin, Time
from potreeve.logic import ledger, record, segments
from potreeve.logic.state import TENDED
from rig import POWER_ON
from stores import MemoryStore
from ticks import ticks_diff

MAIN = "main.py"

WATCHDOG = 1

# A pulse may take this much longer than asked: one step of the driver's loop.
STEP_MS = 20

# Awake for longer than this, a board hangs.
LONGEST_MS = 600000


class PinBench:
    """One board for several boots. `faults`: what did not hold, a line each.

    touch: called with the name of each fake call; may raise. wrap: function
    (name, adapter) -> adapter, applied to every adapter of the rig. on_sleep:
    called with the number of wakes over. calm: asked before each boot whether nothing will be done to it: a boot goes
    by what lies on flash, how things stand on the sill and why it starts, so what came of one is known of the next.
    """

    def __init__(self, board, checked, main):
        self.board = board
        self.settings = checked
        self.sill = scripted.Sill(board, checked, (822, 960, 960))
        self.files = {}
        self.main = compile(main, "main.py", "exec")
        self.touch = lambda name: None
        self.wrap = lambda name, part: part
        self.faults = []
        self.pins_on_next = 0  # the level about to be set
        self.running = -1  # channel whose pump runs, -1 none
        self.since_ms = 0
        self.loose = False  # a fault was raised in a pulse: no time may pass before the pump is off
        self.blind = []  # in this wake: channels whose probe could not be read, -1 for the battery
        self.on_sleep = lambda wakes: None
        self.calm = lambda: False
        self.known = {}  # what came of boots in calm
        self.wakes = 0
        self.most_wakes = 0
        self.boots = 0
        self.stood_by = 0  # sleeps after a fault
        self.cause = POWER_ON
        count = len(board["pins"]["pumps"])
        self.pins = [Pin(place, self._level) for place in range(count + 1)]
        sys.modules["machine"] = Machine()
        sys.modules["time"] = Time(self)
        from potreeve import hal
        from potreeve.hal import pumps

        self.hal = hal
        self.pumps = pumps
        hal.open_rig = self._open_rig

    def _level(self, pin, level):
        self.pins_on_next = level
        self.touch("pin.value")
        pin.level = level
        self.see_pins()

    def strike(self, fault):
        """Raise it, as whatever goes wrong does; from now on a running pump must not see time pass."""
        self.loose = self.running >= 0
        raise fault

    def unread(self, name, args):
        """A call failed: note what nobody can know in this wake. A battery read while a pump runs is another matter."""
        if name == "probes.burst":
            self.blind.append(args[0])
        elif name == "battery.read_mv" and self.running < 0:
            self.blind.append(-1)

    def stop(self):
        raise Finished()

    def begin(self, most_wakes=100):
        """A rig at work: seen to by its owner, its first day over, a dose begun.

        Returns what `load` takes to go back to just before the wake with the pulse.
        """
        self.files["settings.json"] = json.dumps(self.settings).encode()
        self.run(1)
        kept = self.ledger()
        kept.rig.memory = 0
        kept.rig.tray_ul = 0
        for place, name in enumerate(ledger.SLOTS):
            self.files[name] = ledger.encode(1000 + place, kept)
        before = [None]

        def on_sleep(wakes):
            if self.sill.given:
                raise Finished()
            before[0] = self.save()

        self.on_sleep = on_sleep
        self.run(most_wakes, most_boots=most_wakes)
        self.on_sleep = lambda wakes: None
        if not self.sill.given:
            raise ValueError("the rig never gave a pulse: nothing would be shown")
        return before[0]

    def save(self):
        return dict(self.files), self.sill.save()

    def load(self, saved):
        self.files.clear()
        self.files.update(saved[0])
        self.sill.load(saved[1])
        self.faults = []
        self.boots = 0
        self.running = -1
        self.loose = False
        self.blind = []
        for pin in self.pins:
            pin.level = 0

    def fault(self, text):
        if text not in self.faults:
            self.faults.append(text)

    def run(self, wakes, most_boots=12, cause=POWER_ON):
        """Boot, and again after each restart, until so many wakes have ended in sleep.

        Returns how the last boot ended: "finished", "restart", or the name of
        what main.py let through.
        """
        self.wakes = 0
        self.most_wakes = wakes
        self.cause = cause
        ended = ""
        for _ in range(most_boots):
            self.boots += 1
            ended = self._boot_in_calm() if self.calm() else self._boot_to_its_end()
            if ended == "finished":
                break
        return ended

    def _boot_to_its_end(self):
        ended = self._boot()
        for pin in self.pins:
            if pin.level:
                self.fault("W1: a pump pin is on at the end (%s)" % ended)
                pin.level = 0
        self.see_pins()
        return ended

    def _boot_in_calm(self):
        pm, rest, given, *more = self.sill.save()
        flash = tuple([(name, self.files[name]) for name in sorted(self.files)])
        here = (flash, tuple(pm), tuple(rest), tuple(given), tuple(more), tuple(self.blind))
        key = (here, self.cause, self.most_wakes - self.wakes)
        before, self.faults = self.faults, []
        if key in self.known:
            (files, sill), ended, self.cause, wakes, stood_by, blind, self.faults = self.known[key]
            self.blind = list(blind)
            self.files.clear()
            self.files.update(files)
            self.sill.load(sill)
            self.wakes += wakes
            self.stood_by += stood_by
        else:
            wakes, stood_by = self.wakes, self.stood_by
            ended = self._boot_to_its_end()
            came_of_it = self.cause, self.wakes - wakes, self.stood_by - stood_by, list(self.blind), self.faults
            self.known[key] = (self.save(), ended) + came_of_it
        for text in self.faults:
            if text not in before:
                before.append(text)
        self.faults = before
        return ended

    def _boot(self):
        self.awake_ms = 0
        try:
            exec(self.main, {"__name__": "__main__"})
            ended = "returned"
        except Finished:
            return "finished"
        except Restart as restart:
            self.cause = restart.cause
            return "restart"
        except BaseException as fault:
            ended = type(fault).__name__
        # Nobody feeds the watchdog at the prompt.
        self.cause = WATCHDOG
        return ended

    def _open_rig(self):
        self.hal._pump_pins[:] = self.pins
        self.hal.pumps_off()
        rig = scripted.SillRig(self.sill, MemoryStore(files=self.files), self.cause)
        rig.clock.sleep_ms = self.pass_ms
        battery = self.wrap("battery", rig.battery)
        rig.pumps = self.pumps.Pumps(self.board, self.pins[0], self.pins[1:], battery)
        for name in ("pumps", "probes", "climate", "light", "clock", "store", "panel", "power", "radio", "code"):
            if name == "power":
                rig.power.sleep = self._sleeper(rig.power.sleep)
            setattr(rig, name, self.wrap(name, getattr(rig, name)))
        rig.battery = battery
        return rig

    def _sleeper(self, sleep):
        def counted(seconds, proves=1):
            self.awake_ms = 0
            self.blind = []
            if self.running >= 0:
                self.fault("W1: asleep with a pump on")
            if not proves:
                # No wake went before it: hal stands by after a fault.
                self.stood_by += 1
                return sleep(seconds, proves)
            self.wakes += 1
            self.on_sleep(self.wakes)
            if self.wakes >= self.most_wakes:
                raise Finished()
            return sleep(seconds)

        return counted

    def see_pins(self):
        """Start or end the flow as the pins now say."""
        now = -1
        for pin in self.pins[1:]:
            if pin.level and self.pins[0].level:
                now = pin.place - 1
        if now == self.running:
            return
        if self.running >= 0:
            on_ms = ticks_diff(self.sill.now_ms, self.since_ms)
            if on_ms > self.settings["channels"][self.running]["pulse_max_ms"] + STEP_MS:
                self.fault("W1: a pump was on for %d ms" % on_ms)
            self.loose = False
            self.sill.deliver(self.running, on_ms)
            for text in self.sill.over_caps():
                self.fault(text)
        else:
            self.since_ms = self.sill.now_ms
            self._check_intent(now)
        self.running = now

    def pass_ms(self, ms):
        if self.running >= 0 and self.loose:
            self.fault("W1: time passes with a pump on after a fault")
        self.sill.pass_ms(ms)
        self.awake_ms += ms
        if self.awake_ms > LONGEST_MS:
            self.fault("it waits and waits")
            raise Finished()

    def ledger(self):
        return ledger.choose(self.files.get(ledger.SLOTS[0]), self.files.get(ledger.SLOTS[1]))[0]

    def check_ledger(self):
        """W2: the ledger accounts for all the water there was."""
        kept = self.ledger()
        if kept is None:
            self.fault("W9: the ledger is lost")
            return
        for text in self.sill.unaccounted(kept):
            self.fault(text)

    def records(self):
        """All records, oldest first, as they lie there."""
        lines = []
        for number in segments.numbers(sorted(self.files)):
            data = self.files[segments.name(number)]
            for at in range(segments.begins(data), len(data), record.RECORD_BYTES):
                lines.append(data[at : at + record.RECORD_BYTES])
        return lines

    def _check_intent(self, channel):
        kept = self.ledger()
        if kept is None or not kept.pots[channel].intent_ms:
            self.fault("W3: a pulse without its intent stored")
            return
        if -1 in self.blind:
            self.fault("W6: a pulse though the battery could not be read")
        if channel in self.blind and kept.pots[channel].ladder == TENDED:
            self.fault("W5: a pulse steered by a probe that could not be read")
