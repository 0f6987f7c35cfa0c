"""The board starts here: watchdog, pumps off, check sums, and only then the wake cycle.

This is text, and it imports nothing of ours before every sum is right: damage to text is a fault that
is told, damage to a compiled module can hang its loader for good.
"""

import json
import sys
import time
from binascii import crc32

try:
    import machine

    watchdog = machine.WDT(timeout=8000)
except (ImportError, AttributeError):
    # A desktop, where nothing was installed.
    machine = None

# A board that can't start says why for so long, sleeps for so long, and says it again.
SAYS_S = 60
SLEEPS_S = 1800

# What may be a pump's pin, where no board file says.
PADS = {"rp2": tuple(range(23)) + (26, 27, 28), "esp32": (4, 13, 14, 18, 19, 21, 22, 23, 25, 26, 27, 32, 33)}

# The board file's pins, once the pumps are off by them.
pins = None
# Feeds the watchdog of a board that waits, at its prompt, too.
fed = None


def unfit():
    """Why the installed files must not run, "" where they may. Pumps are off as soon as their pins are sure."""
    if there("/unfinished"):
        hold()
        return "unfinished: the last flash was broken off"
    sums = {}
    # Without one the board was set up by hand.
    if there("/manifest.json"):
        try:
            with open("/manifest.json") as file:
                sums = dict(json.load(file)["files"])
        except Exception:
            return "damaged: manifest.json"
    # The board file before all others: by its word pins are driven.
    for path in ["board.json"] + list(sums):
        if path in sums and crc("/" + path) != sums[path]:
            return "damaged: " + path
        if not pins:
            hold()
        watchdog.feed()
    return ""


def there(path):
    try:
        open(path).close()
    except OSError as fault:
        return fault.args[0] != 2
    return True


def crc(path):
    """CRC-32 of a file, -1 where it can't be read."""
    total = 0
    try:
        with open(path, "rb") as file:
            piece = file.read(512)
            while piece:
                total = crc32(piece, total)
                piece = file.read(512)
        return total & 0xFFFFFFFF
    except OSError:
        return -1


def hold():
    """Hold a latched board's power and drive all pumps off; what is wrong with a board file is hal's to say."""
    global pins
    try:
        with open("/board.json") as file:
            board = json.load(file)
        found = board["pins"]
        off = [found["pump_enable"]] + found["pumps"]
        if board["latch"]:
            machine.Pin(found["latch_hold"], machine.Pin.OUT, value=1)
        for number in off:
            if number >= 0:
                machine.Pin(number, machine.Pin.OUT, value=0)
        pins = found
    except Exception:
        pass


def release():
    """Put pads back to their state at reset, for a soft reset leaves a running pump running."""
    for number in PADS.get(sys.platform, ()):
        try:
            machine.Pin(number, machine.Pin.IN, machine.Pin.PULL_DOWN)
        except Exception:
            pass


def wait(why):
    """Say why nothing runs, every second, and blink; where no computer is seen, sleep most of the time."""
    global fed
    if not pins:
        release()
    try:
        # The prompt is fed, too: whoever mends this by Ctrl-C needs more than eight seconds.
        fed = machine.Timer(0 if sys.platform == "esp32" else -1)
        fed.init(mode=machine.Timer.PERIODIC, period=2000, callback=lambda _: watchdog.feed())
    except Exception:
        pass
    while True:
        for second in range(SAYS_S):
            print("potreeve: %s; not started, pumps are off; run potreeve flash" % why)
            warn(1 - second % 2)
            watchdog.feed()
            time.sleep_ms(1000)
        began = time.ticks_ms()
        while time.ticks_diff(time.ticks_ms(), began) < SLEEPS_S * 1000 and not host():
            watchdog.feed()
            machine.lightsleep(6000)
            time.sleep_ms(20)


def warn(on):
    try:
        machine.Pin(pins["led_warn"], machine.Pin.OUT, value=on)
    except Exception:
        pass


def host():
    """True where the chip tells that a computer is on its USB; the register is in hal/power.py."""
    return sys.platform == "rp2" and machine.mem32[0x50110050] & 0x10010 == 0x10000


why = unfit() if machine else ""
if not why:
    try:
        from potreeve import hal

        # A folder without its first file would import, too.
        open_rig = hal.open_rig
    except Exception as fault:
        # Set up by hand, and half of it missing or compiled for another MicroPython.
        why = "unfinished (%r)" % fault
if not why:
    rig = None
    try:
        rig = open_rig()
        rig.checked = machine is not None
        # From here on hal stands by, and the firmware needs the room.
        del unfit, there, crc, hold, release, wait, warn, host, PADS, pins
        from potreeve import service

        service.attend(rig)
        from potreeve import app

        app.run(rig)
    except Exception as fault:
        why = hal.stand_by(rig, fault)
    finally:
        hal.pumps_off()
if why and machine:
    wait(why)
elif why:
    print("potreeve:", why)
