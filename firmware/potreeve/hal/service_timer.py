"""The timer that ends service mode, also while the board sits at its prompt."""

import machine


class ServiceTimer:
    """Calls call() every period_ms, as a soft callback: between two steps of whatever runs."""

    def __init__(self, mcu, period_ms, call):
        # The ESP32 has numbered timers, and the pumps' cut-off takes the first.
        self._timer = machine.Timer(1 if mcu.startswith("esp32") else -1)
        self._call = call
        self._timer.init(mode=machine.Timer.PERIODIC, period=period_ms, callback=self._on_timer)

    def stop(self):
        """No more calls."""
        self._timer.deinit()

    def _on_timer(self, _):
        self._call()
