"""The board in service: its countdown, and pulses on command. Loaded only where a person is served."""

from potreeve import keep
from potreeve.hal.pumps import ServiceTimer
from potreeve.logic import commanded, cycle, errors, reasons, record, servicing
from potreeve.logic.units import const

_TICK_MS = const(500)


class Service:
    """mark: service.write_mark. left_s: seconds until service ends by itself. pressed: 1 after a press, until a cup has
    used it."""

    def __init__(self, rig, why, mark):
        self.rig = rig
        self.mark = mark
        self.why = why
        self.left_s = servicing.idle_s(why)
        self.half = 0
        self.lit = 0
        self.cup_left_ms = [0] * rig.pumps.count
        rig.panel.on_press(self._pressed)
        self.timer = ServiceTimer(rig.board["mcu"], _TICK_MS, self._tick)

    def _tick(self):
        """Both LEDs blink together; the time runs down. The watchdog lives as long as this is called."""
        self.rig.power.feed()
        self.lit = 1 - self.lit
        self.rig.panel.led("ok", self.lit)
        self.rig.panel.led("warn", self.lit)
        self.half = 1 - self.half
        if self.half:
            return
        self.left_s -= 1
        if self.left_s <= 0:
            self.leave()

    def _pressed(self):
        """A press by somebody at the rig: a cup may be filled again."""
        for channel in range(len(self.cup_left_ms)):
            self.cup_left_ms[channel] = commanded.CUP_MS
        self.touch()

    def touch(self):
        """Somebody talks: the countdown starts anew."""
        self.left_s = servicing.IDLE_S

    def leave(self):
        self.timer.stop()
        rig = self.rig
        rig.pumps.all_off()
        self.mark(rig.store, None, servicing.MARK_LEAVING)
        rig.panel.led("ok", 0)
        rig.panel.led("warn", 0)
        rig.power.carry(rig.clock)
        rig.power.restart_anyhow()

    def pump(self, channel, ms, cup):
        """Run one pump, as bounded as in a wake; cup: 1 if its tube hangs in a cup and the button was pressed for
        it, 2 for
        a first drop into the pot, for which it was pressed, too.

        Returns a dict: ms it was on; reason: reasons.*, why not, 0 when it ran;
        sag_mv: lowest battery voltage, 0 unknown; cup: 1 if only the cup
        allowed it. The intent is stored before the pump starts, and what was
        charged is never given back.
        """
        self.touch()
        rig = self.rig
        refused = {"ms": 0, "reason": reasons.NO_SETTINGS, "sag_mv": 0, "cup": 0}
        settings, _ = keep.load_settings(rig.store, rig.pumps.count)
        if not settings or not 0 <= channel < len(settings["channels"]):
            return refused
        ledger = keep.Ledger(rig.store)
        state = ledger.load(len(settings["channels"]), rig.extras)
        state, ms, refused["reason"], by_cup = commanded.open_pulse(
            state, channel, ms, settings, rig.battery.read_mv(), self.cup_left_ms[channel] if cup else 0, int(cup > 1)
        )
        if not ledger.save(state):
            refused["reason"] = -errors.LEDGER
            return refused
        if not ms:
            return refused
        if cup > 1:
            self.cup_left_ms[channel] = 0
        elif by_cup:
            self.cup_left_ms[channel] -= ms
        done_ms = [record.NOT_RUN] * len(state.pots)
        under_mv = [0] * len(state.pots)
        try:
            done_ms[channel] = ms
            done_ms[channel] = rig.pumps.pulse(channel, ms, rig.power.feed)
            under_mv[channel] = rig.pumps.sag_mv
        finally:
            rig.pumps.all_off()
            ledger.save(cycle.settle(state, done_ms, under_mv))
        return {"ms": done_ms[channel], "reason": reasons.NONE, "sag_mv": under_mv[channel], "cup": by_cup}
