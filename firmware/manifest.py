"""Freezes the firmware into MicroPython itself, where it needs no room in the heap for its code.

    make BOARD=RPI_PICO_W FROZEN_MANIFEST=THIS_FILE        (in MicroPython's ports/rp2)

The board file is still needed on the board: potreeve flash writes it, or copy a device form to /board.json.
Written by potreeve_tools.link.flash.listing.
"""

include("$(PORT_DIR)/boards/manifest.py")
metadata(version="0.1.0")
module("main.py")
package(
    "potreeve",
    files=(
        "__init__.py",
        "app.py",
        "commands.py",
        "hal/__init__.py",
        "hal/bh1750.py",
        "hal/bme280.py",
        "hal/latched.py",
        "hal/opening.py",
        "hal/parts.py",
        "hal/photodiode.py",
        "hal/power.py",
        "hal/probes.py",
        "hal/pulses.py",
        "hal/pumps.py",
        "hal/radio.py",
        "hal/sht4x.py",
        "hal/store.py",
        "keep.py",
        "logic/__init__.py",
        "logic/air.py",
        "logic/battery.py",
        "logic/commanded.py",
        "logic/cycle.py",
        "logic/debounce.py",
        "logic/demand.py",
        "logic/diode.py",
        "logic/dosing.py",
        "logic/energy.py",
        "logic/errors.py",
        "logic/ladder.py",
        "logic/ledger.py",
        "logic/light.py",
        "logic/limits.py",
        "logic/moisture.py",
        "logic/outbox.py",
        "logic/proof.py",
        "logic/radio_keys.py",
        "logic/reasons.py",
        "logic/record.py",
        "logic/remote.py",
        "logic/schedule.py",
        "logic/segments.py",
        "logic/servicing.py",
        "logic/settings.py",
        "logic/sht4x.py",
        "logic/signals.py",
        "logic/stages.py",
        "logic/state.py",
        "logic/timekeep.py",
        "logic/tray.py",
        "logic/units.py",
        "logic/watch.py",
        "logic/water.py",
        "mqtt.py",
        "reporting.py",
        "sending.py",
        "service.py",
        "serving.py",
    ),
)
