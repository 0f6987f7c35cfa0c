"""The order in which a board comes to life, loaded for that and then forgotten.

On every path: the board file is read (without it no pump pin is known, and none
is driven), a latched board's power is held, every pump pin is driven off, and only
then is anything else imported, read or switched.
"""

import json
import sys

from machine import Pin

from potreeve.hal import BoardError, Rig

OLDEST = (1, 26)
NEWEST_TESTED = (1, 29)


def open_rig(root, pump_pins):
    """Return the Rig described by ROOT/board.json, pumps off; raises BoardError.

    pump_pins: takes in the pins that can make water flow, off.
    """
    path = root + "board.json"
    board = _read_board(path)
    pins = board["pins"]
    hold = Pin(pins["latch_hold"], Pin.OUT, value=1) if board["latch"] else None
    _drive_off(pins, pump_pins)
    try:
        _check_interpreter(sys.implementation)
        return _build(board, hold, root, pump_pins)
    except BoardError:
        _warn(pins)
        raise
    except (KeyError, ValueError, TypeError) as fault:
        _warn(pins)
        raise BoardError("%s: not usable: %r; write it anew from its board file" % (path, fault))


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
        raise BoardError("%s: wrong pump or latch pins; write it anew" % path)
    return board


def _drive_off(pins, pump_pins):
    """Drive master switch and pump pins off; raises BoardError, after trying all, if one can't be."""
    del pump_pins[:]
    refused = []
    enable = pins["pump_enable"]
    for number in ([enable] if enable >= 0 else []) + pins["pumps"]:
        try:
            pump_pins.append(Pin(number, Pin.OUT, value=0))
        except Exception:  # whatever one pin says, the next must still be driven
            refused.append(number)
    if refused:
        _warn(pins)
        raise BoardError("/board.json: no pump pins here: %s; correct the board file" % refused)


def _check_interpreter(implementation):
    """Raise BoardError on a MicroPython that must not run this; note one that is newer than tested."""
    if implementation.name != "micropython":
        return
    version = tuple(implementation.version[:2])
    if version < OLDEST:
        raise BoardError("MicroPython %d.%d is too old for its sleep and watchdog, 1.26 or newer is needed" % version)
    if version > NEWEST_TESTED:
        print("potreeve: note: MicroPython %d.%d is newer than tested (1.26 to 1.29)" % version)


def _build(board, hold, root, pump_pins):
    """Return the Rig. Imports come this late so that none can delay the pumps' off, and only what is wired is
    loaded."""
    try:
        drivers = _drivers(board)
        from potreeve.hal import parts, pumps, store
    except KeyError:
        # The board file's own gap.
        raise
    except Exception as fault:
        raise BoardError("damaged: potreeve/hal (%r)" % fault)
    probes, climate, light, power, latched = drivers
    sensors = board["sensors"]
    rig = Rig(board)
    i2c = parts.open_bus(board)
    chip = latched.Pcf85063(i2c) if latched else None
    rig.battery = parts.Battery(board)
    enable = pump_pins[0] if board["pins"]["pump_enable"] >= 0 else None
    rig.pumps = pumps.Pumps(board, enable, pump_pins[1:] if enable else pump_pins[:], rig.battery)
    rig.probes = probes(board)
    rig.climate = climate(i2c, sensors["climate_address"]) if climate else parts.Absent()
    rig.light = light(board, i2c) if light else parts.Absent()
    rig.clock = parts.Clock(chip)
    rig.store = store.Store(root + "data")
    rig.code = store.Code(root)
    _add_extras(rig, board, i2c)
    rig.panel = parts.Panel(board)
    # On a latched board this says: the power is held, the button may be let go.
    rig.panel.led("ok", 1 if hold else 0)
    presses = rig.panel.presses
    rig.power = latched.LatchedPower(board, presses, hold, chip) if latched else power(board, presses)
    rig.power.carry(rig.clock, 0)
    rig.radio = parts.Radio()
    return rig


def _add_extras(rig, board, i2c):
    """What the board file wires besides."""
    extras = board.get("extras") or {}
    if extras.get("tray_probe"):
        from potreeve.hal import wet

        rig.tray_sensor = wet.TrayProbe(board)
        rig.extras = True
    kind = extras.get("tub_kind", "none")
    if kind == "floats":
        from potreeve.hal.tub import Floats

        rig.tub_sensor = Floats(board)
        rig.extras = True
    elif kind == "strip":
        from potreeve.hal.strip import Strip

        rig.tub_sensor = Strip(board, rig.probes)
        rig.extras = True
    number = extras.get("soil_pin", -1)
    if number >= 0:
        from potreeve.hal.soil import SoilSensor

        rig.soil_sensor = SoilSensor(number)
        rig.extras = True
    if extras.get("display") == "ssd1306" and i2c:
        from potreeve.hal import display

        rig.display = display.Ssd1306(i2c, extras["display_address"])


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
    elif kind == "htu21d" and bus:
        from potreeve.hal.htu21d import Htu21d as climate
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
