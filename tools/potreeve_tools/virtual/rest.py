"""The virtual board without an interpreter: asleep or off, until a clock or the button brings it back."""

from potreeve_tools.virtual import chipstate

# Triggers of a pin (machine.Pin, rp2 and esp32).
FALLING, RISING = 4, 8


class Rest:
    """Part of VirtualBoard: lies down, wakes, and feels its button."""

    def _lie_down(self, due_us, cause, reason):
        self.wiring.sleep_begins(True)
        self._waking = (due_us, cause, reason)
        self.time.set_rate(self.time.asleep, self._next_due()[0])

    def _cut_power(self):
        """A latched board goes off: the external clock or the button bring it back."""
        self._kill()
        self.wiring.release()
        self.world.reset()
        self.chip.lose_power()
        due_us = self.wiring.chips[0x51].due_us
        self._lie_down(chipstate.NEVER if due_us is None else due_us, chipstate.PWRON, 0)

    def _wake(self):
        if self._starved():
            return
        due_us, cause, reason = self._waking
        self.chip.cause, self.chip.wake_reason = cause, reason
        self._boot("woke", raw=False)

    def _press(self, ms):
        pin = self.board["pins"]["button"]
        self.wiring.pressed_until_us = self._let_go_us = self.time.now_us() + int(ms) * 1000
        if self._waking is not None and (self.board["latch"] or self.chip.wake_pin == pin):
            now_us = self.time.now_us()
            self._waking = (now_us, self._waking[1], 2)
        else:
            self._edge(pin, FALLING)

    def _let_go(self):
        """The button comes up: whoever waits for both edges hears of the second, too."""
        self._let_go_us = chipstate.NEVER
        self._edge(self.board["pins"]["button"], RISING)

    def _edge(self, pin, kind):
        if self.chip.irqs.get(pin, 0) & kind:
            event = f"p {pin} 1"
            if event not in self.chip.events:
                self.chip.events.append(event)
            self._raise_event()
