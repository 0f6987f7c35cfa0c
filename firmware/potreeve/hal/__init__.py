"""The hardware: one thin adapter per device, and the order in which they come to life.

`open_rig()` is the only door; opening.py is behind it. Nothing in here decides;
arithmetic worth testing lives in potreeve.logic.
"""

import sys

# After a fault: so long awake, so long asleep.
STAY_S = 10
RESTART_S = 890
OFF_TRIES = 8

# Pins that can make water flow, kept so that they can be driven off at any time.
_pump_pins = []


class BoardError(Exception):
    """The board file can't be used, or the interpreter is too old. The text names the remedy."""


def forget(package, name):
    """Let go of a module that is needed once in a while; then it is loaded again."""
    sys.modules.pop(package + "." + name, None)
    if hasattr(sys.modules[package], name):
        delattr(sys.modules[package], name)


class Rig:
    """What the wake cycle works with; every attribute is an adapter, `board` the board file's mapping.

    tray_sensor.read(settings): record.TRAY_...; tub_sensor.read(settings, mark): record.TUB_...; display: see its file.
    soil_sensor.read(settings): Readings.soil_cdeg.
    checked: True once main.py has found every installed file as its manifest says.
    """

    checked = False

    # Extras, None where they are not wired; whether one of them remembers something.
    tray_sensor = tub_sensor = soil_sensor = display = None
    extras = False

    # Gives back the room of a module; see hal.forget.
    forget = staticmethod(forget)

    def __init__(self, board):
        self.board = board

    def without_air(self):
        """Let go of climate and light once they were read, on a board that forgets; where a press comes just then, one
        wake is without."""
        from potreeve.hal.parts import Absent

        self.climate = self.light = Absent()


def open_rig(root="/"):
    """Return the Rig described by ROOT/board.json, pumps off; raises BoardError.

    root: folder of the board file, ending in "/"; data go to ROOT/data.
    """
    from potreeve.hal import opening

    try:
        return opening.open_rig(root, _pump_pins)
    finally:
        forget("potreeve.hal", "opening")


def pumps_off():
    """Drive every known pump pin off; see drive_off. Does nothing if no pin is known."""
    drive_off(_pump_pins)


def drive_off(pins):
    """Drive pins off, all of them whatever happens.

    A pin that fails keeps no other on. A Ctrl-C in here, and the one after that, is
    raised once all are off: who wants the prompt often sends several.
    """
    late = None
    for pin in pins:
        for _ in range(OFF_TRIES):
            try:
                pin.value(0)
                break
            except Exception:  # one bad pin must not keep the others on
                break
            except BaseException as fault:
                late = fault
    if late:
        raise late


def stand_by(rig, fault):
    """End a boot or a wake that failed: pumps off, the fault on the console.

    With a rig: the warning LED on, a few seconds in which Ctrl-C gets out, then a long sleep, which proves no
    time, and a restart: a fault in every wake must not empty the battery. Without one: returns words for
    main.py, since only a person can mend a board file.
    """
    pumps_off()
    if rig is None:
        if not isinstance(fault, BoardError):
            _print_fault(fault)
        return str(fault) if isinstance(fault, BoardError) else repr(fault)
    _print_fault(fault)
    import time

    print("potreeve: stopped, pumps are off; restarting in %d s (Ctrl-C to stay)" % (STAY_S + RESTART_S))
    try:
        rig.power.start_watchdog(rig.board["wdt_max_ms"])
        rig.panel.led("warn", 1)
        for _ in range(STAY_S):
            rig.power.feed()
            time.sleep_ms(1000)
        rig.panel.led("warn", 0)
        rig.power.sleep(RESTART_S, 0)
    except Exception as second:
        _print_fault(second)
    rig.power.restart()


def _print_fault(fault):
    if isinstance(fault, BoardError):
        print("potreeve:", fault)
    elif hasattr(sys, "print_exception"):
        sys.print_exception(fault)
    else:
        print("potreeve: %s: %s" % (type(fault).__name__, fault))
