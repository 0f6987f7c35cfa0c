"""The soil's temperature: a DS18B20 on one pin, wired with all three of its wires, 4.7 k from data to 3V3.

It is the only chip on its wire, so it is not asked for its number. MicroPython's images for these boards bring
`onewire` along (manifests of its ports rp2 and esp32).
"""

import time

from machine import Pin

from potreeve.logic.units import const

# To whomever listens (skip ROM): ten bits, a quarter of a degree; alarms, which nobody asks for, at their ends.
_TEN_BITS = b"\xcc\x4e\x7f\x80\x3f"
_MEASURE = b"\xcc\x44"
_TELL = b"\xcc\xbe"

# Ten bits take 188 ms, twelve 750 (data sheet, from memory): copies of the chip that take no other are waited for.
_LOOK_MS = const(10)
_LOOKS = const(80)


class SoilSensor:
    """rig.soil_sensor."""

    def __init__(self, number):
        self._number = number

    def read(self, settings):
        """Readings.soil_cdeg: record.NO_TEMP where nothing answers that can be believed."""
        # Loaded where it is needed, as what decides is.
        from potreeve.logic import ds18b20

        return ds18b20.reading(self.scratchpad())

    def scratchpad(self):
        """What the chip holds once it has measured, b"" where none answers or is never done."""
        from onewire import OneWire

        wire = OneWire(Pin(self._number))
        for command in (_TEN_BITS, _MEASURE):
            if not wire.reset():
                return b""
            wire.write(command)
        for _ in range(_LOOKS):
            time.sleep_ms(_LOOK_MS)
            # It holds the wire down for as long as it measures.
            if wire.readbit():
                break
        else:
            return b""
        if not wire.reset():
            return b""
        wire.write(_TELL)
        return bytes([wire.readbyte() for _ in range(9)])
