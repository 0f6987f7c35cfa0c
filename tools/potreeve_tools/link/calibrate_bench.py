"""What a calibration needs of a connected board: readings, and pulses with every cap in force."""

import time

from potreeve.logic import record

from potreeve_tools.terminal import exits

READ = """
from potreeve import service
from potreeve.logic import moisture
_r=service._running.rig
_bf=[0]*9
answer=[]
for _ in range(times):
 for c in channels:
  for i in range(9): _bf[i]=0
  try: _r.probes.burst(c,_bf)
  except Exception: pass
  answer.append(moisture.burst(_bf))
 _r.clock.sleep_ms(pause_ms)
"""

TRAY = """
from potreeve import service
_s=service._running.rig.tray_sensor
answer=[_s.millivolts() for _ in range(times)] if _s else []
"""

TUB = """
from potreeve import service
_s=service._running.rig.tub_sensor
answer=_s.raw() if raw else _s.read({})
"""

PULSE = """
from potreeve import service
answer=service.pump(channel,ms,cup)
"""

AIR = """
from potreeve import service
_r=service._running.rig
try: answer=[_r.battery.read_mv(),_r.climate.read()]
except Exception: answer=[0,None]
"""

SOIL = """
from potreeve import service
_s=service._running.rig.soil_sensor
answer=_s.read(None) if _s else None
"""

POLLS = 12
SLEEP = time.sleep
"""How a wait passes; a test on a virtual board lets its time leap instead."""


class Bench:
    """Readings and pulses of a connected link.port.Board in service mode."""

    def __init__(self, link):
        if not link.info.get("serving"):
            raise exits.Stop(
                exits.FAILED,
                [f"{link.port}: the board is not in service mode; its firmware may be damaged.", "Run potreeve flash."],
            )
        self.link = link

    def bursts(self, channels, times, pause_ms=400):
        """{channel: [(median, spread), ...]} of so many bursts of each channel."""
        channels = list(channels)
        told = self.link.run(
            READ, "reading its probes", timeout_s=60.0, channels=channels, times=times, pause_ms=pause_ms
        )
        return {
            channel: [tuple(burst) for burst in told[place :: len(channels)]] for place, channel in enumerate(channels)
        }

    def tray_mv(self, times):
        """[(forth, back)] in mV of so many readings of the tray's sensor; [] where none is wired."""
        return [tuple(pair) for pair in self.link.run(TRAY, "reading the tray's sensor", times=times)]

    def tub_mark(self):
        """What the floats in the tub say now: see logic/tub_marks.py."""
        return self.link.run(TUB, "reading the tub's floats", raw=0)

    def tub_raw(self):
        """What the strip in the tub gives now, 0..65535."""
        return self.link.run(TUB, "reading the tub's strip", raw=1)

    def pulse(self, channel, ms, cup=False, drop=False):
        """Run a pump, into its pot, into a cup, or for a first drop. Returns the dict of service.pump on the board."""
        how = 2 if drop else int(cup)
        return self.link.run(PULSE, "running a pump", timeout_s=60.0, channel=channel, ms=ms, cup=how)

    def battery_mv(self):
        """Battery in mV, 0 unknown."""
        return self.link.run(AIR, "reading its battery")[0]

    def temp_cdeg(self):
        """Temperature in hundredths of a degree, or None: the soil's where a thermometer tells it, else the air's."""
        soil = self.link.run(SOIL, "reading the soil's thermometer")
        if soil not in (None, record.NO_TEMP):
            return soil
        air = self.link.run(AIR, "reading its climate sensor")[1]
        return air[0] if air else None

    def wait(self, seconds, until=None):
        """Wait, keeping service mode alive; until(): asked every so often, True ends it early."""
        for _ in range(POLLS):
            SLEEP(seconds / POLLS)
            self.link.touch()
            if until is not None and until():
                return True
        return False
