"""Pulses without end in real time, its pins' levels written down, until Ctrl-C comes from outside. For the unix build.

usage: sigint.py JOB RESULT     JOB: {"main": main.py's text}; RESULT gets a line "time_ns pin level" per write

The real main.py, hal.pumps_off and pump driver; only the pins and the app are
stood in for.
"""

import json
import sys
import time

from pins import Machine, Pin

# Far longer than what a busy machine may add: a Ctrl-C that waits for a pulse's end shows.
PULSE_MS = 3000


class Battery:
    def read_mv(self):
        return 3900


class Nothing:
    """A device nobody minds here."""

    def __getattr__(self, name):
        return lambda *args: 0


class Rig:
    def __init__(self, pumps):
        self.pumps = pumps
        self.panel = Nothing()
        self.power = Nothing()


class App:
    def run(self, rig):
        while True:
            rig.pumps.pulse(0, PULSE_MS, lambda: None)


class Service:
    def attend(self, rig):
        pass


def main():
    with open(sys.argv[1]) as file:
        job = json.load(file)
    result = open(sys.argv[2], "w")
    sys.modules["machine"] = Machine()
    import potreeve
    from potreeve import hal
    from potreeve.hal import pumps

    def told(pin, level):
        result.write("%d %d %d\n" % (time.time_ns(), pin.place, level))

    pins = [Pin(place, told) for place in range(4)]
    potreeve.app = sys.modules["potreeve.app"] = App()
    potreeve.service = sys.modules["potreeve.service"] = Service()

    def open_rig():
        hal._pump_pins[:] = pins
        hal.pumps_off()
        return Rig(pumps.Pumps({"mcu": "unix"}, pins[0], pins[1:], Battery()))

    hal.open_rig = open_rig
    exec(job["main"], {"__name__": "__main__"})


main()
