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
# After a fault: so long awake, so long asleep.
STAY_S = 10
RESTART_S = 890
OFF_TRIES = 8

# Stands on the board from a flash's first change to its last; see _check_finished.
UNFINISHED = "unfinished"

# Pins that can make water flow, kept so that they can be driven off at any time.
_pump_pins = []


class BoardError(Exception):
    """The board file can't be used, or the interpreter is too old. The text names the remedy."""


class Rig:
    """What the wake cycle works with; every attribute is an adapter, `board` the board file's mapping.

    checked: True once main.py has found every installed file as its manifest says.
    """

    checked = False

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
    """Return the Rig. Imports come this late so that none can delay the pumps' off, and only what is wired is loaded."""
    try:
        drivers = _drivers(board)
        from potreeve.hal import parts, pumps, store
    except KeyError:
        # The board file's own gap.
        raise
    except Exception as fault:
        raise BoardError("damaged: something of potreeve/hal is missing or not whole (%r)" % fault)
    probes, climate, light, power, latched = drivers
    sensors = board["sensors"]
    rig = Rig(board)
    i2c = parts.open_bus(board)
    chip = latched.Pcf85063(i2c) if latched else None
    rig.battery = parts.Battery(board)
    enable = _pump_pins[0] if board["pins"]["pump_enable"] >= 0 else None
    rig.pumps = pumps.Pumps(board, enable, _pump_pins[1:] if enable else _pump_pins[:], rig.battery)
    rig.probes = probes(board)
    rig.climate = climate(i2c, sensors["climate_address"]) if climate else parts.Absent()
    rig.light = light(board, i2c) if light else parts.Absent()
    rig.clock = parts.Clock(chip)
    rig.store = store.Store(root + "data")
    rig.code = store.Code(root)
    rig.panel = parts.Panel(board)
    # On a latched board this says: the power is held, the button may be let go.
    rig.panel.led("ok", 1 if hold else 0)
    presses = rig.panel.presses
    rig.power = latched.LatchedPower(board, presses, hold, chip) if latched else power(board, presses)
    rig.radio = parts.NoRadio()
    return rig


def _drivers(board):
    """(probes, climate, light, power, module of a latched board): None for what is not wired."""
    bus = board["pins"]["i2c_sda"] >= 0 and board["pins"]["i2c_scl"] >= 0
    climate = light = power = latched = None
    if board["pins"]["probe_kind"] == "pulses":
        from potreeve.hal.pulses import PulseProbes as probes
    else:
        from potreeve.hal.probes import AnalogueProbes as probes
    kind = board["sensors"]["climate"]
    if kind == "bme280" and bus:
        from potreeve.hal.bme280 import Bme280 as climate
    elif kind == "sht4x" and bus:
        from potreeve.hal.sht4x import Sht4x as climate
    kind = board["sensors"]["light"]
    if kind == "bh1750" and bus:
        from potreeve.hal.bh1750 import Bh1750 as light
    elif kind == "photodiode":
        from potreeve.hal.photodiode import Photodiode as light
    if board["latch"]:
        from potreeve.hal import latched
    elif board["keeps_ram"]:
        from potreeve.hal.power import Power as power
    else:
        from potreeve.hal.power import DeepPower as power
    return probes, climate, light, power, latched


def _warn(pins):
    """Light the warning LED if the board file names one; never raises."""
    try:
        if pins["led_warn"] >= 0:
            Pin(pins["led_warn"], Pin.OUT, value=1)
    except Exception:  # a light is a courtesy
        pass


def _print_fault(fault):
    if isinstance(fault, BoardError):
        print("potreeve:", fault)
    elif hasattr(sys, "print_exception"):
        sys.print_exception(fault)
    else:
        print("potreeve: %s: %s" % (type(fault).__name__, fault))
