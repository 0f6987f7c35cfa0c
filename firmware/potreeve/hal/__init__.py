"""The hardware: one thin adapter per device, and the order in which they come to life.

`open_rig()` is the only door. Nothing in here decides; arithmetic worth
testing lives in potreeve.logic.

Order at boot, on every path: the board file is read (without it no pump pin is
known, and none is driven), a latched board's power is held, every pump pin is
driven off, and only then is anything else imported, read or switched. A board
whose flash was broken off stops there.
"""

import json
import sys

from machine import Pin

OLDEST = (1, 26)
NEWEST_TESTED = (1, 29)
RESTART_S = 60
OFF_TRIES = 8

# Stands on the board from a flash's first change to its last; see _check_finished.
UNFINISHED = "unfinished"

# Pins that can make water flow, kept so that they can be driven off at any time.
_pump_pins = []


class BoardError(Exception):
    """The board file can't be used, or the interpreter is too old. The text names the remedy."""


class Rig:
    """What the wake cycle works with; every attribute is an adapter, `board` the board file's mapping."""

    def __init__(self, board):
        self.board = board


def open_rig(root="/"):
    """Return the Rig described by ROOT/board.json, pumps off; raises BoardError.

    root: folder of the board file, ending in "/"; data go to ROOT/data.
    """
    path = root + "board.json"
    board = _read_board(path)
    pins = board["pins"]
    hold = Pin(pins["latch_hold"], Pin.OUT, value=1) if board["latch"] else None
    _drive_off(pins)
    try:
        _check_finished(root)
        _check_interpreter(sys.implementation)
        return _build(board, hold, root)
    except BoardError:
        _warn(pins)
        raise
    except (KeyError, ValueError, TypeError) as fault:
        _warn(pins)
        raise BoardError("%s: not usable: %r; write it anew from its board file" % (path, fault))


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
    """End a boot that failed: pumps off, the fault on the console, the warning LED on.

    With a rig: waits RESTART_S (the watchdog is fed, Ctrl-C gets out) and
    restarts the board. Without one, returns to the prompt, since only a person
    can mend the board file; if no pump pin is known, all pads go back to their
    reset state, for a soft reset would have left a running pump running.
    """
    pumps_off()
    _print_fault(fault)
    if rig is None:
        if not _pump_pins:
            _release_pads(sys.platform)
        print("potreeve: not started, pumps are off")
        return
    import time

    print("potreeve: stopped, pumps are off; restarting in %d s (Ctrl-C to stay)" % RESTART_S)
    try:
        rig.panel.led("warn", 1)
        for _ in range(RESTART_S):
            rig.power.feed()
            time.sleep_ms(1000)
    except Exception as second:
        _print_fault(second)
    rig.power.restart()


def _read_board(path):
    """Return the board file's mapping once its pump pins are known to be sound."""
    try:
        with open(path) as file:
            board = json.load(file)
    except OSError as fault:
        raise BoardError("%s: can't be read (%s); write it with the flash tool" % (path, fault))
    except ValueError:
        raise BoardError("%s: not valid JSON; write it anew" % path)
    try:
        pins = board["pins"]
        pumps = pins["pumps"]
        enable = pins["pump_enable"]
        hold = pins["latch_hold"]
        sound = isinstance(pumps, list) and len(pumps) > 0 and (hold >= 0 if board["latch"] else True)
        for pin in [enable, hold] + pumps:
            sound = sound and type(pin) is int and -1 <= pin <= 48
        sound = sound and -1 not in pumps
    except (KeyError, TypeError):
        sound = False
    if not sound:
        raise BoardError("%s: its pump or latch pins are missing or wrong; write it anew" % path)
    return board


def _drive_off(pins):
    """Drive master switch and pump pins off; raises BoardError, after trying all, if one can't be."""
    del _pump_pins[:]
    refused = []
    enable = pins["pump_enable"]
    for number in ([enable] if enable >= 0 else []) + pins["pumps"]:
        try:
            _pump_pins.append(Pin(number, Pin.OUT, value=0))
        except Exception:  # whatever one pin says, the next must still be driven
            refused.append(number)
    if refused:
        _warn(pins)
        raise BoardError("/board.json: pump pins %s can't be driven on this board; correct the board file" % refused)


def _check_finished(root):
    """Raise BoardError while some files are of one firmware and some of another.

    The flash tool puts the mark first and takes it away last. What it sends in
    between may not even import, so this stands before all imports but main.py's.
    """
    try:
        open(root + UNFINISHED).close()
    except OSError:
        return
    raise BoardError("unfinished: the last flash was broken off; run potreeve flash again")


def _check_interpreter(implementation):
    """Raise BoardError on a MicroPython that must not run this; note one that is newer than tested."""
    if implementation.name != "micropython":
        return
    version = tuple(implementation.version[:2])
    if version < OLDEST:
        raise BoardError(
            "MicroPython %d.%d is too old, 1.26 or newer is needed: before it, timed sleep could return at once "
            "and drain the battery, and a watchdog that bit in its sleep could hang the board; put a newer one on"
            % version
        )
    if version > NEWEST_TESTED:
        print("potreeve: note: MicroPython %d.%d is newer than tested (1.26 to 1.29)" % version)


def _build(board, hold, root):
    """Return the Rig with all adapters. Imports come this late so that none can delay the pumps' off."""
    from potreeve.hal import battery, bus, climate, clock, code, light, panel, power, probes, pumps, radio, rtc, store

    rig = Rig(board)
    i2c = bus.open_bus(board)
    chip = rtc.Pcf85063(i2c) if board["latch"] else None
    rig.battery = battery.Battery(board)
    enable = _pump_pins[0] if board["pins"]["pump_enable"] >= 0 else None
    rig.pumps = pumps.Pumps(board, enable, _pump_pins[1:] if enable else _pump_pins[:], rig.battery)
    rig.probes = probes.open_probes(board)
    rig.climate = climate.open_climate(board, i2c)
    rig.light = light.open_light(board, i2c)
    rig.clock = clock.Clock(chip)
    rig.store = store.Store(root + "data")
    rig.code = code.Code(root)
    rig.panel = panel.Panel(board)
    # On a latched board this says: the power is held, the button may be let go.
    rig.panel.led("ok", 1 if hold else 0)
    rig.power = power.open_power(board, rig.panel.button_pin, hold, chip)
    rig.radio = radio.NoRadio()
    return rig


def _warn(pins):
    """Light the warning LED if the board file names one; never raises."""
    try:
        if pins["led_warn"] >= 0:
            Pin(pins["led_warn"], Pin.OUT, value=1)
    except Exception:  # a light is a courtesy
        pass


def _release_pads(platform):
    """Put the header's pads back to their state at reset: inputs, pulled down. Drives nothing."""
    numbers = ()
    if platform == "rp2":
        numbers = tuple(range(23)) + (26, 27, 28)
    elif platform == "esp32":
        numbers = (4, 13, 14, 18, 19, 21, 22, 23, 25, 26, 27, 32, 33)
    for number in numbers:
        try:
            Pin(number, Pin.IN, Pin.PULL_DOWN)
        except Exception:  # a pad this board does not have
            pass


def _print_fault(fault):
    if isinstance(fault, BoardError):
        print("potreeve:", fault)
    elif hasattr(sys, "print_exception"):
        sys.print_exception(fault)
    else:
        print("potreeve: %s: %s" % (type(fault).__name__, fault))
