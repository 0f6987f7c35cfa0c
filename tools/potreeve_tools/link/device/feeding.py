"""Feed a watchdog that can't be stopped, while somebody mends the board at its prompt; nothing drives a pump there."""

# What feeds it, and for how many more seconds. After that it bites: a board forgotten here starts over.
_left_s = 0
_feeder = None


def _feed_for(seconds):
    global _left_s, _feeder
    import sys

    import machine

    _left_s = seconds
    if _feeder is None:
        watchdog = machine.WDT(timeout=8000)

        def feed(_):
            global _left_s
            _left_s -= 2
            if _left_s > 0:
                watchdog.feed()

        _feeder = machine.Timer(0 if sys.platform == "esp32" else -1)
        _feeder.init(mode=machine.Timer.PERIODIC, period=2000, callback=feed)
