"""The wake cycle, told in one screen.

Read, decide, commit, pulse, record, report, sleep. Every decision is made in
logic/; every device is reached through the `rig` that hal opened.
"""

from potreeve import keep, service
from potreeve.logic import cycle, debounce, errors, moisture, record, segments, signals, stages, timekeep
from potreeve.logic.state import copy
from potreeve.logic.units import const

# How long a press is watched, and how often.
BUTTON_MS = 5000
_BUTTON_STEP_MS = const(10)

BURST = 9
NOTHING = [0] * BURST

# Without settings that pass there is nothing to decide; look again so often.
NO_SETTINGS_S = 1800


def run(rig):
    """Tend for ever. On boards that lose their memory asleep, `sleep` ends in a
    reset and this starts again."""
    rig.pumps.all_off()
    session = Session(rig)
    rig.power.start_watchdog(rig.board["wdt_max_ms"])
    while True:
        seconds = session.wake()
        session._try(errors.PANEL, None, service.watch, rig)
        session.sleep(seconds)


class Session:
    """What is kept between wakes for as long as the board keeps its memory."""

    def __init__(self, rig):
        self.rig = rig
        self.ledger = keep.Ledger(rig.store)
        self.log = keep.Log(rig.store, rig.board["flash"])
        self.state = None
        self.errors = errors.PANEL if service.stumbled else 0
        self._open_settings()
        self.cause = rig.power.cause
        # Of a press that nobody watched: it woke the board, or came while it was busy.
        self.pressed_ms = getattr(rig.power, "pressed_ms", 0)
        # Up to where time has been counted, and when this wake began.
        self.mark_ms = self.began_ms = rig.clock.ticks_ms()
        self.awake_ms = 0
        self.stage = stages.START
        self.stuck = False
        # Of a display, see lit.py: whether this wake lights it, and the press it has for the next.
        self.lights = self.told = 0
        self.buffer = [0] * BURST
        # Where main.py has just read every file, once is enough.
        self.code_whole = getattr(rig, "checked", False) or keep.code_whole(rig.code)

    def wake(self):
        """One whole wake; returns the seconds to sleep after it."""
        global cycle
        self.rig.pumps.all_off()
        self.began_ms = self.rig.clock.ticks_ms()
        self.stage = stages.START
        if not self.settings:
            self._open_settings()
        if not self.settings:
            self._show(signals.show(signals.CALL, False, False))
            # A timer proves the sleep that the ledger knows of: no shorter one may end by it.
            return max(NO_SETTINGS_S, self.ledger.planned_s())
        # Again, for sending.py may have let go of it.
        from potreeve.logic import cycle

        line, sleep_s = self._tend()
        # What a person and sending take, the board need not sleep.
        self.lit_s = self.sent_s = 0
        if self.lights:
            self._try(errors.PANEL, None, self._lit, "light", line, sleep_s)
        if not self.told:
            self._try(errors.RADIO, None, self._report, line)
        self._pass(stages.REPORTED)
        return max(1, sleep_s - self.lit_s - self.sent_s)

    def let_go(self):
        """Give back the room of what decides; the next wake loads it again."""
        global cycle
        cycle = None

    def _tend(self):
        """All of a wake that waters; (its record, seconds to sleep)."""
        readings = self._read()
        self._pass(stages.READ)
        before = self.state
        self.state, actions, line = cycle.step(before, readings, self.settings, self.rig.board["energy"])
        self._pass(stages.DECIDED)
        self.errors = self.lasting
        stored = self._store()
        if not stored:
            line = record.with_errors(line, errors.NOT_KEPT)
        self._pass(stages.STORED)
        if not self.log.append(line, before):
            self.errors |= errors.LOG
        self._pass(stages.LOGGED)
        if any(actions.pulse_ms):
            self._pump(actions.pulse_ms, stored)
        self._pass(stages.PUMPED)
        self._show(actions.panel)
        return line, timekeep.safe_sleep_s(actions.sleep_s, stored, before.rig.planned_s)

    def sleep(self, seconds):
        """Sleep; comes back only on boards that keep their memory."""
        self._keep_errors()
        clock = self.rig.clock
        self.awake_ms = clock.ticks_diff(clock.ticks_ms(), self.began_ms)
        if not self.told:
            _, self.pressed_ms = self.rig.power.sleep(seconds)
        self.cause = timekeep.KEPT

    def _open_settings(self):
        """Load the settings, and the state they speak of."""
        rig = self.rig
        self.settings, bits = keep.load_settings(rig.store, rig.pumps.count)
        for name in keep.JUDGES:
            rig.forget("potreeve.logic", name)
        # Said in every record, not once: what the owner wrote does not run.
        self.lasting = bits
        self.errors |= bits
        if self.settings:
            if "radio" in self.settings:
                # Only that there is one; reporting.py reads the rest where there is room for it.
                self.settings["radio"] = 1
            self.state = self.ledger.load(len(self.settings["channels"]), rig.extras)
            # What went wrong after the last record, before the memory was lost.
            self.errors |= self.state.rig.late
            self.state.rig.late = 0
            if self.ledger.damaged:
                self.errors |= errors.LEDGER

    def _try(self, bit, otherwise, call, *args):
        """What an adapter says, or `otherwise` with an error bit when it fails."""
        try:
            return call(*args)
        except Exception:
            # Whatever a device does, the wake goes on without it and says so.
            self.errors |= bit
            return otherwise

    def _read(self):
        """Everything this wake's decision may see."""
        rig = self.rig
        seen = cycle.Readings()
        now_ms = rig.clock.ticks_ms()
        counted_ms = rig.clock.ticks_diff(now_ms, self.mark_ms)
        self.mark_ms = now_ms
        seen.cause = self.cause
        seen.elapsed_s = timekeep.proven_s(self.cause, self.state.rig.planned_s, counted_ms)
        if self.cause == timekeep.KEPT:
            # The part of a second that does not count yet counts next time.
            self.mark_ms = rig.clock.ticks_add(now_ms, -(counted_ms % 1000))
        # First of all, while a finger that woke the board may still be down.
        seen.button = self.told or self._try(errors.PANEL, debounce.NONE, self._button)
        if rig.display and seen.button and not self.told:
            seen.button = self._try(errors.PANEL, seen.button, self._lit, "look", seen.button)
        self.told = 0
        # After a reset the counter began with the power: this wake, so far, has to
        # stand for the last one, which nobody could measure to its end.
        kept = self.cause == timekeep.KEPT
        seen.awake_ms = self.awake_ms if kept else rig.clock.ticks_ms()
        if "radio" in self.settings or rig.display:
            from potreeve import owed

            air_ms, press = self._try(errors.RADIO, (0, 0), owed.take, rig.store)
            seen.awake_ms += air_ms
            # Whoever stands before it goes first.
            seen.button = seen.button or press
        seen.utc_s = self._try(errors.CLOCK, 0, rig.clock.utc_s)
        seen.usb = self._try(errors.PANEL, 0, rig.power.usb)
        seen.battery_mv = self._try(errors.BATTERY, 0, rig.battery.read_mv)
        air = self._try(errors.CLIMATE, None, rig.climate.read)
        seen.temp_cdeg, seen.rh_pm = air if air else (record.NO_TEMP, record.NO_RH)
        seen.lx = self._try(errors.LIGHT, record.NO_LX, rig.light.read_lx)
        seen.raw = []
        seen.spread = []
        for channel in range(len(self.state.pots)):
            # A probe that gives nothing reads as a shorted wire, never as dry.
            self.buffer[:] = NOTHING
            self._try(errors.PROBE, 0, rig.probes.burst, channel, self.buffer)
            rig.power.feed()
            raw, spread = moisture.burst(self.buffer)
            seen.raw.append(raw)
            seen.spread.append(spread)
        seen.done_ms = [pot.done_ms for pot in self.state.pots]
        seen.under_mv = [pot.under_mv for pot in self.state.pots]
        if rig.extras:
            from potreeve import extras

            extras.read(self, seen)
        self._note_silence(seen, air)
        return seen

    def _note_silence(self, seen, air):
        """Error bits for devices that answered, but with nothing."""
        if not air:
            self.errors |= errors.CLIMATE
        if seen.lx < 0:
            self.errors |= errors.LIGHT
        if not seen.battery_mv:
            self.errors |= errors.BATTERY
        if not self.code_whole:
            self.errors |= errors.CODE
        seen.errors = self.errors

    def _button(self):
        """The press that is going on now, once it is over, watched for BUTTON_MS; else the one nobody watched.

        A contact that stays closed longer says nothing until it was seen open:
        water on it must not pass for a person.
        """
        rig = self.rig
        before_ms = self.pressed_ms
        self.pressed_ms = 0
        if not rig.panel.button():
            self.stuck = False
            return debounce.event(before_ms)
        if self.stuck:
            return debounce.NONE
        state = debounce.START
        if before_ms and self.cause == timekeep.BUTTON:
            # It woke the board, and lasts since then.
            state = debounce.going_on(rig.clock.ticks_ms())
        pressed = debounce.NONE
        idle_ms = 0
        for _ in range(BUTTON_MS // _BUTTON_STEP_MS):
            state, event = debounce.update(state, rig.panel.button(), _BUTTON_STEP_MS)
            pressed = event or pressed
            # A contact that bounces open is not a press that is over.
            idle_ms = idle_ms + _BUTTON_STEP_MS if debounce.idle(state) else 0
            if idle_ms >= debounce.PRESS_MS:
                return pressed
            rig.clock.sleep_ms(_BUTTON_STEP_MS)
        self.stuck = True
        return debounce.NONE

    def _lit(self, call, *args):
        """Ask lit.py, which is loaded only when somebody presses."""
        from potreeve import lit

        return getattr(lit, call)(self, *args)

    def _pump(self, pulse_ms, stored):
        """Run the pulses whose intent is safely stored; note what came of them."""
        rig = self.rig
        done_ms = [record.NOT_RUN] * len(pulse_ms)
        under_mv = [0] * len(pulse_ms)
        for channel, ms in enumerate(pulse_ms):
            if ms and stored:
                # A pulse that failed midway counts in full.
                done_ms[channel] = self._try(errors.PUMP, ms, rig.pumps.pulse, channel, ms, rig.power.feed)
                rig.pumps.all_off()
                under_mv[channel] = rig.pumps.sag_mv
        self.state = cycle.settle(self.state, done_ms, under_mv)
        self._store()

    def _report(self, line):
        """Send what waits, oldest first, as long as the other end takes all it is given. line: the newest record."""
        radio = self.rig.radio
        self.rig.power.feed()
        if "radio" in self.settings:
            from potreeve import sending

            radio = sending.begin(self, line)
        if not radio.reach():
            return
        try:
            for _ in range(segments.PIECES):
                self.rig.power.feed()
                lines = self.log.unsent()
                if not lines or not self.log.acknowledge(radio.report(lines), len(lines)):
                    return
        finally:
            radio.leave()

    def _store(self):
        stored = self.ledger.save(self.state)
        if not stored:
            self.errors |= errors.LEDGER
        return stored

    def _keep_errors(self):
        """Have the next record tell what its wake's own could not, even after a reset."""
        late = self.errors & ~self.lasting
        if late and self.state:
            kept = copy(self.state)
            kept.rig.late = late
            if not self.ledger.save(kept):
                self.errors |= errors.LEDGER

    def _show(self, panel):
        self._try(errors.PANEL, None, self._flash, panel)

    def _flash(self, panel):
        """Two LEDs for a moment and a beep: see logic/signals.py."""
        ok, warn, beep_ms, flash_ms = panel
        show = self.rig.panel
        show.led("ok", ok)
        show.led("warn", warn)
        show.beep(beep_ms)
        self.rig.clock.sleep_ms(flash_ms)
        show.led("ok", 0)
        show.led("warn", 0)

    def _pass(self, stage):
        """The watchdog is fed only when the stages of a wake came in order."""
        self.stage = stages.follow(self.stage, stage)
        self.rig.power.feed()
