"""Service mode: the board listens to a person and pumps only on command.

`attend(rig)` serves, or lets the board tend. Ctrl-C stops `attend`, not service: a
timer goes on feeding the watchdog, so that only a board that hangs is bitten, and
counting down to its end, and starts the board again then. The tool on the other end of the cable calls
ask, touch, pump and leave.
"""

from potreeve.logic import reasons, servicing
from potreeve.logic.units import const

MARK = "service"
_STEP_MS = const(20)
# How often it says that it serves; soon at first, for a computer that opens its port again after the reset.
_SAID_FIRST_MS = const(250)
_SAID_MS = const(2000)

_running = None
# 1 when a device failed while it was asked whether to serve; for the next record.
stumbled = 0
# What the mark says while the board tends.
_mark = servicing.NO_MARK
_early = 0


def attend(rig):
    """Serve until that ends in a restart, or return at once: the board tends."""
    global _mark, _early, stumbled
    stumbled = 0
    mark = read_mark(rig.store)
    usb = _try(rig.power.usb)
    held = _try(_held, rig) if servicing.watches_button(rig.power.cause) else 0
    why = servicing.enter(mark, held, usb)
    if why == servicing.NO:
        rig.power.cause = servicing.cause_of(mark, rig.power.cause)
        # A board that keeps its memory is early once; one that forgets knows of its wake, not of its reset.
        _early = rig.power.keeps_ram
        _mark = write_mark(rig.store, mark, servicing.mark_for_tending(mark, usb, 1))
        return
    write_mark(rig.store, mark, servicing.NO_MARK)
    serve(rig, why)


def watch(rig):
    """At the end of every wake: has USB come, or gone?

    Service begins with a restart: a heap of its own, and nothing of a wake half done.
    """
    global _mark, _early
    usb = rig.power.usb()
    if servicing.calls(usb, _mark):
        write_mark(rig.store, _mark, servicing.MARK_USB)
        rig.pumps.all_off()
        rig.power.restart()
    _mark = write_mark(rig.store, _mark, servicing.mark_for_tending(_mark, usb, _early))
    _early = 0


def serve(rig, why):
    """Be in service and wait. Does not return: it ends in a restart, or by Ctrl-C at the prompt."""
    global _running
    rig.pumps.all_off()
    # No board that tends has room to spare for it.
    from potreeve import serving

    _running = serving.Service(rig, why, write_mark)
    # It runs already: main.py started it, and a soft reset does not end it.
    rig.power.start_watchdog(rig.board["wdt_max_ms"])
    print("potreeve: service mode, pumps are off")
    rest_ms = _SAID_FIRST_MS
    while True:
        # Told again and again: whoever plugs in later wants to know, too.
        print("potreeve: in service mode for another %d s, longer if somebody talks" % _running.left_s)
        rig.clock.sleep_ms(rest_ms)
        rest_ms = _SAID_MS


def active():
    """True while the board is in service."""
    return _running is not None


def touch():
    """Somebody talks: the countdown starts anew."""
    if _running:
        _running.touch()


def ask(rig=None):
    """Have the next start go into service."""
    write_mark(rig.store if rig else _store(), None, servicing.MARK_ASKED)


def pump(channel, ms, cup=0):
    """Run one pump on command; see Service.pump."""
    if not _running:
        return {"ms": 0, "reason": reasons.NO_SETTINGS, "said": "not in service mode"}
    return _running.pump(channel, ms, cup)


def leave():
    """End service: restart, and tend."""
    _running.leave()


def read_mark(store):
    """The mark's text, "" if there is none or it can't be read."""
    try:
        data = store.read(MARK)
        return data.decode() if data else servicing.NO_MARK
    except (OSError, UnicodeError):
        return servicing.NO_MARK


def write_mark(store, before, after):
    """Change the mark, if that is a change; returns it. A file system that fails must not end the boot."""
    if before != after:
        try:
            if after:
                store.replace(MARK, after.encode())
            else:
                store.remove(MARK)
        except OSError:
            pass
    return after


def _try(call, *args):
    """What a device says, 0 if it fails: that must not keep the board from tending."""
    global stumbled
    try:
        return call(*args)
    except Exception:
        stumbled = 1
        return 0


def _store():
    from potreeve.hal import store

    return store.Store("/data")


def _held(rig):
    """1 if the button is held for HOLD_MS from the start; both LEDs say when that is reached."""
    for _ in range(servicing.HOLD_MS // _STEP_MS):
        if not rig.panel.button():
            return 0
        rig.clock.sleep_ms(_STEP_MS)
    rig.panel.led("ok", 1)
    rig.panel.led("warn", 1)
    return 1
