"""What stands in for potreeve.hal while the firmware is rehearsed.

Runs under CPython and under MicroPython, so it keeps to the latter's language.
It decides nothing: each call either answers from what the rig last said or asks
the rig over the link. One exchange per sleep carries everything a wake reads.

The link is a function text -> text:

    b                                       boot: JSON with board, settings, sense
    l PART                                  a part of the ledger, before a pulse
    p CHANNEL MS                            pulse -> "actual_ms sag_mv brown_out"
    s SECONDS AWAKE_MS REFUSED PANEL RECORDS  sleep -> sense, or "q" at the end
    n                                       the text of newly sent settings
    r RECORDS                               records for the broker -> how many it says it took
    d MS                                    the display was lit for so long
    w MS                                    the radio was on for so long

A sense is integers: cause pressed_ms slept_ms left_ms battery_mv temp rh lx utc usb
trouble, and nine samples per channel; with a thermometer in the soil then its nine bytes as one number, -1 where it
does not answer; on a board with extras then millivolts of the tray's sensor, driven forth and back (see hal/wet.py),
and what the tub's gives (see hal/tub.py). pressed_ms: of the press that ended the sleep;
left_ms: how much of it is left when the firmware looks. `trouble` and PANEL (what the panel showed)
are bits of troubles.py.

PARTs (hex, small ones: the heap is a board's) make up the ledger slot written
last, read back from the store: what was safely on flash when the pump was
switched on. REFUSED counts store calls that failed since the last sleep.
"""

import json

from ends import Finished, Restart
from rig import Part, Rig, Time
from ticks import ticks_diff
from troubles import BEEP, BLANK, LED_OK, LED_WARN, MUTE, SINCE_POWER_MS, SPOILT, TIRED_SHIFT, UNSENT, UNSHOWN

HEAD = 11
BURST = 9
PART_BYTES = 128

# Time a wake takes apart from pumping: reading, deciding, storing. From memory
# of such boards, not measured; the energy figures depend on it.
AWAKE_MS = 1500

# Reaching a listener of the rehearsal's, and each piece of the queue it is given: invented. Where the settings have a
# radio
# and the rehearsal an `air`, the firmware's own radio runs instead, and real sockets (airwaves.py).
REACH_MS = 2000
PIECE_MS = 300

# So long the soil's thermometer measures, of the time of a wake (see hal/soil.py).
SOIL_MS = 190

BUTTON = 3
KEPT = 6


class Link(Time):
    """The exchange with the simulated rig, and what it last said."""

    def __init__(self, ask):
        self.ask = ask
        hello = json.loads(ask("b"))
        self.board = hello["board"]
        self.settings = hello["settings"]
        self.hear(hello["sense"])
        self.broker = hello.get("broker", False)
        self.air = hello.get("air")
        self.ca = hello.get("ca", "")
        self.records = []
        self.now_ms = SINCE_POWER_MS if hello.get("goes_on") else hello["ticks_ms"]
        self.cause = self.sense[0]
        self.slot = None
        self.refused = 0
        self.shown = 0
        self.dice = 12345

    def hear(self, sense):
        """The button is down for the press it announces, from then on."""
        self.sense = sense
        self.press_ms = sense[3]

    def trouble(self, bit):
        return self.sense[10] & bit

    def tired(self):
        """True when this write fails on a worn flash."""
        bad_pm = self.sense[10] >> TIRED_SHIFT
        if not bad_pm:
            return False
        self.dice = (self.dice * 1103 + 12345) % 65536
        return self.dice % 1000 < bad_pm

    def sleep(self, seconds, awake_ms):
        records = "".join(self.records)
        self.records = []
        answer = self.ask("s %d %d %d %d %s" % (seconds, awake_ms, self.refused, self.shown, records))
        self.refused = 0
        self.shown = 0
        if answer == "q":
            raise Finished()
        self.hear([int(word) for word in answer.split()])
        self.pass_ms(self.sense[2])
        self.cause = self.sense[0]
        if self.cause != KEPT:
            raise Restart(self.cause)
        return self.sense[2], self.sense[1]


class SimRig(Rig):
    """What `hal.open_rig` gives the firmware here: the simulated rig, as the link tells of it."""

    def __init__(self, link, store):
        self.link = link
        board = link.board
        super().__init__(board, store, len(board["pins"]["pumps"]), link.cause, board["keeps_ram"], link)
        # What woke a board that forgets was a press, whether it is over by now or not.
        self.power.pressed_ms = link.sense[1] if link.cause == BUTTON else 0
        self._wire_extras(board.get("extras", {}))
        self.lit_ms = None
        self._wake()

    def _wire_extras(self, extras):
        if extras.get("tray_probe"):
            self.tray_sensor = Part(read=self.read_tray)
            self.extras = True
        if extras.get("display", "none") != "none":
            self.display = Part(answers=lambda: 1, show=self.show, off=self.dark)

        if extras.get("tub_kind", "none") != "none":
            self.tub_sensor = Part(read=self.read_tub)
            self.extras = True

        if extras.get("soil_pin", -1) >= 0:
            self.soil_sensor = Part(read=self.read_soil)
            self.extras = True

    def read_soil(self, settings):
        from potreeve.logic import ds18b20

        self.link.pass_ms(SOIL_MS)
        said = self.link.sense[-4]
        return ds18b20.reading(b"" if said < 0 else said.to_bytes(9, "little"))

    def read_tub(self, settings, last):
        from potreeve.logic import tub_marks

        sense = self.link.sense[-1]
        extras = self.board["extras"]
        if extras["tub_kind"] == "floats":
            return tub_marks.float_mark(sense, len(extras["tub_pins"]))
        return tub_marks.strip_mark(sense, settings.get("tub"), last)

    def read_tray(self, settings):
        from potreeve.logic import wet

        return wet.classify(self.link.sense[-3], self.link.sense[-2], settings)

    def _wake(self):
        sense = self.link.sense
        self.woke_ms = self.link.now_ms
        self.busy = False
        self.battery_mv = sense[4]
        self.air = None if sense[5] == -32768 or sense[6] < 0 else (sense[5], sense[6])
        self.lx = sense[7]
        self.utc_s = sense[8]
        self.usb = sense[9]

    def _be_busy(self):
        """Let the time of a wake pass, once. It passes from the first reading on, not with the sleep, so that a board
        that keeps its memory finds it in the time that it measured itself to be awake, as one on a sill does."""
        if not self.busy:
            self.busy = True
            self.link.pass_ms(AWAKE_MS)

    def burst(self, channel, buf):
        self._be_busy()
        at = HEAD + channel * BURST
        buf[:] = self.link.sense[at : at + BURST]
        return BURST

    def pulse(self, channel, ms, feed):
        link = self.link
        slot = self.store.read(link.slot) if link.slot else b""
        for at in range(0, len(slot), PART_BYTES):
            link.ask("l " + slot[at : at + PART_BYTES].hex())
        answer = [int(word) for word in link.ask("p %d %d" % (channel, ms)).split()]
        link.pass_ms(answer[0])
        self.pumps.sag_mv = answer[1]
        feed()
        if answer[2]:
            link.hear(answer[3:])
            raise Restart(link.sense[0])
        return answer[0]

    def led(self, name, on):
        if on:
            self.link.shown |= LED_OK if name == "ok" else LED_WARN

    def beep(self, ms):
        if ms:
            self.link.shown |= BEEP

    def show(self, strokes):
        """A page: its strokes are made here, and drawn where a display is (hal/picture.py)."""
        for _ in strokes:
            if self.link.trouble(BLANK):
                self.link.shown |= UNSHOWN
                raise OSError(5)
        if self.lit_ms is None:
            self.lit_ms = self.link.now_ms

    def dark(self):
        if self.lit_ms is not None:
            self.link.ask("d %d" % ticks_diff(self.link.now_ms, self.lit_ms))
        self.lit_ms = None

    def sleep(self, seconds, proves=1):
        link = self.link
        self._be_busy()
        awake_ms = ticks_diff(link.now_ms, self.woke_ms)
        answer = link.sleep(seconds, awake_ms)
        self.store.suffer()
        self._wake()
        return answer

    def reach(self):
        """Nobody is there to be told, or a broker at the rig's end of the link; a mute radio fails."""
        if self.link.trouble(MUTE):
            self.link.shown |= UNSENT
            raise OSError(110)
        if self.link.broker:
            self.link.pass_ms(REACH_MS)
        return self.link.broker

    def wifi(self):
        if self.link.air is None or self.link.trouble(MUTE):
            return super().wifi()
        import airwaves

        return airwaves.Wifi(self.link, self.link.air, lambda ms: self.link.ask("w %d" % ms))

    def report(self, records):
        self.link.pass_ms(PIECE_MS)
        return int(self.link.ask("r " + records.hex()))

    def manifest(self):
        """The rehearsed files are the sources themselves, until one of them is spoilt."""
        return {"potreeve/app.py": 0} if self.link.trouble(SPOILT) else None


class Hal:
    """The module `potreeve.hal` as main.py sees it."""

    def __init__(self, link, store):
        self.link = link
        self.store = store

    def open_rig(self, root="/"):
        self.store.suffer()
        return SimRig(self.link, self.store)

    def pumps_off(self):
        pass

    def stand_by(self, rig, fault):
        raise fault
