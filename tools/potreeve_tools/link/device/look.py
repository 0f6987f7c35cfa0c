"""What a board is and in what state, whatever runs on it."""


def _look():
    import gc
    import json
    import os
    import sys

    import machine

    what = sys.implementation
    seen = {
        "name": what.name,
        "version": list(what.version[:3]),
        "machine": getattr(what, "_machine", ""),
        "build": getattr(what, "_build", ""),
        "mpy": getattr(what, "_mpy", 0) & 1023,
        "platform": sys.platform,
    }
    try:
        seen["id"] = "".join(["%02x" % byte for byte in machine.unique_id()])
    except Exception:
        seen["id"] = ""
    try:
        disk = os.statvfs("/")
        seen["flash_bytes"] = disk[0] * disk[2]
        seen["free_bytes"] = disk[0] * disk[3]
    except Exception:
        seen["flash_bytes"] = seen["free_bytes"] = 0
    names = os.listdir("/")
    seen["main"] = "main.py" in names or "main.mpy" in names
    seen["firmware"] = "potreeve" in names
    seen["board"] = None
    try:
        with open("/board.json") as file:
            seen["board"] = json.load(file).get("name")
    except Exception:
        pass
    service = sys.modules.get("potreeve.service")
    seen["serving"] = bool(service is not None and service.active())
    # What main.py left: it feeds the watchdog while it waits for somebody to mend what it must not start.
    seen["refuses"] = str(globals().get("why")) if globals().get("fed") else ""
    seen["watchdog"] = None
    try:
        if sys.platform == "rp2":
            # Bit 30 of the watchdog's control register: enabled (RP2040 data sheet 4.7.6; hardware notes).
            place = 0x400D8000 if "RP2350" in seen["machine"] else 0x40058000
            # One that main.py feeds bites nobody.
            seen["watchdog"] = bool(machine.mem32[place] & (1 << 30)) and not seen["refuses"]
    except Exception:
        pass
    gc.collect()
    seen["free_heap"] = gc.mem_free()
    return seen
