"""The pins of the virtual board: pumps, probes, battery, buttons, I2C, wired to the simulated world.

Time is the virtual chip's, in microseconds; the world follows it.
"""

from potreeve.logic import diode

from potreeve_tools.image.compiled import has_extra
from potreeve_tools.virtual import chips

USB_REGISTER = 0x50110050
SCRATCH_4 = {"rp2040": 0x4005801C, "rp2350": 0x400D801C}
WATCHDOG_CONTROL = {"rp2040": 0x40058000, "rp2350": 0x400D8000}
BROWN_OUT_MS = 15
# Readings taken within this time are one look at the world.
LOOK_US = 50_000
# A pump on for longer than any pulse is one that was left on.
LONG_US = 60_000_000
RISING = 8


class Wiring:
    """world: a World. board: device form. now_us: function, simulated time since the board's first start.

    Read by the tests: `pulses`, a list of (channel, ms) that really ran; `levels`.
    """

    def __init__(self, world, board, now_us):
        self.world, self.board, self.now_us = world, board, now_us
        self.pins = board["pins"]
        self._tray_probe = board.get("extras", {}).get("tray_probe", [])
        self._tub_pins = board.get("extras", {}).get("tub_pins", [])
        self.levels = {}
        self.modes = {}
        self.usb = True
        self.pressed_until_us = -1
        self.pulses = []
        self.brown_out_us = None
        self._on_us = {}
        self._look = None
        self._look_us = -LOOK_US
        self._bursts = [[] for _ in self.pins["probes"]]
        self._powered_us = 0
        self.asleep = False
        self.chips = self._make_chips()
        self._soil = chips.Ds18b20(world.soil_scratchpad, self.follow)

    def _make_chips(self):
        sensors, made = self.board["sensors"], {}
        kinds = {"bme280": chips.Bme280, "sht4x": chips.Sht4x, "htu21d": chips.Htu21d}
        kind = kinds.get(sensors["climate"])
        if kind:
            made[sensors["climate_address"]] = kind(self.sense)
        if sensors["light"] == "bh1750":
            made[sensors["light_address"]] = chips.Bh1750(self.sense)
        if has_extra(self.board, "display"):
            made[self.board["extras"]["display_address"]] = chips.Ssd1306(lambda: self.world.flags.get("display_gone"))
        if self.board["latch"]:
            clock = self.world.clock
            made[0x51] = chips.Pcf85063(
                lambda: clock.utc_s(self.follow()), lambda s: clock.set_utc(s, self.follow()), self.now_us
            )
        return made

    # ---- time ----------------------------------------------------------------------------

    def follow(self):
        """Bring the world up to the chip's time; returns the world's time in seconds."""
        world, now_us = self.world, self.now_us()
        if self._on_us:
            # The world passes a pump's time itself, once the pump is off; one left on is seen to now and then.
            for channel in [c for c, begun_us in self._on_us.items() if now_us - begun_us > LONG_US]:
                self._end_pulse(channel)
                self._on_us[channel] = now_us
            return world.now_s
        passed = now_us / 1e6 - world.now_s
        if passed > 0:
            world.advance(passed)
        spent_ms = (now_us - self._powered_us) / 1000
        self._powered_us = now_us
        if spent_ms > 0 and not self.usb:
            energy = self.board["energy"]
            world.draw(energy["sleep_ua" if self.asleep else "active_ua"], spent_ms)
            if self.display and self.display.lit:
                world.draw(energy["display_ua"], spent_ms)
        return world.now_s

    def sleep_begins(self, asleep):
        """What the board draws changes from here on."""
        self.follow()
        self.asleep = asleep

    def sense(self):
        """What the world's sensors say, at most LOOK_US old."""
        now_us = self.now_us()
        if self._look is None or now_us - self._look_us >= LOOK_US:
            self.follow()
            self._look = self.world.sense()
            self._look_us = now_us
        return self._look

    # ---- pins ----------------------------------------------------------------------------

    def set_mode(self, pin, mode, value):
        """As Pin(...) does; -1 if the chip has no such pin."""
        if not 0 <= pin <= 48:
            return -1
        if mode >= 0:
            self.modes[pin] = mode
        if mode == 0:
            self._drive(pin, 0)
        if value >= 0:
            self.drive(pin, value)
        return 0

    def drive(self, pin, level):
        """An output changes level (an input's level is not ours to set, but is remembered)."""
        self._drive(pin, level)

    def _drive(self, pin, level):
        self.levels[pin] = level
        if pin == self.pins["pump_enable"] or pin in self.pins["pumps"]:
            self._switch_pumps()

    def level(self, pin):
        """What the pin reads."""
        if pin == self.pins["button"]:
            return 0 if self.is_pressed() else 1
        if pin == self.pins["usb_sense"]:
            return 1 if self.usb else 0
        if pin in self._tub_pins and self.world.tub_kind == "floats":
            self.follow()
            return 1 - (self.world.tub_sense() >> self._tub_pins.index(pin) & 1)
        return self.levels.get(pin, 0)

    def is_pressed(self):
        return self.now_us() < self.pressed_until_us or bool(
            self.world.presses and self.world.button_level(self.follow())
        )

    def release(self):
        """All pads back to their reset state: inputs."""
        self.levels.clear()
        self.modes.clear()
        self._switch_pumps()

    @property
    def display(self):
        """The display's chip, None where none is wired."""
        return self.chips[self.board["extras"]["display_address"]] if has_extra(self.board, "display") else None

    def led(self, name):
        """Whether an LED ("ok", "warn") is lit."""
        return bool(self.levels.get(self.pins["led_" + name], 0))

    # ---- pumps ---------------------------------------------------------------------------

    @property
    def running(self):
        """Channels whose pump is on."""
        return sorted(self._on_us)

    def _switch_pumps(self):
        enable = self.pins["pump_enable"]
        master = enable < 0 or self.levels.get(enable, 0)
        for channel, pin in enumerate(self.pins["pumps"]):
            on = bool(master and self.levels.get(pin, 0))
            if on and channel not in self._on_us:
                self.follow()
                self._on_us[channel] = self.now_us()
                if self._loaded_mv() < self.world.least_mv and not self.usb:
                    self.brown_out_us = self.now_us() + BROWN_OUT_MS * 1000
            elif not on and channel in self._on_us:
                self._end_pulse(channel)

    def _end_pulse(self, channel):
        ms = (self.now_us() - self._on_us.pop(channel) + 500) // 1000
        if channel >= len(self.world.channels):
            return
        pulse = self.world.pulse(channel, ms)
        self._look = None
        self.pulses.append((channel, pulse.actual_ms))
        if pulse.brownout and self.brown_out_us is None and not self.usb:
            self.brown_out_us = self.now_us()

    def _loaded_mv(self):
        """Battery voltage under the pumps that run now."""
        world = self.world
        ma = world.active_ma
        for channel in self._on_us:
            if channel < len(world.channels):
                ma += world.channels[channel].line.current_ma(world.reservoir)
        return world.battery.loaded_mv(ma)

    # ---- converter -----------------------------------------------------------------------

    def read_u16(self, pin):
        """What the converter says of a pin, 0..65535; -1 if it is not wired to it."""
        pins = self.pins
        if pin == pins["battery_adc"]:
            return self._battery_u16()
        if pin == pins["light_adc"]:
            return self._light_u16()
        if pin in self._tray_probe[2:]:
            return self._tray_u16()
        if pin in self._tub_pins:
            return self._strip_u16()
        if pins["probe_select"]:
            if pin == pins["probe_adc"]:
                return self._probe_u16(
                    sum(self.levels.get(line, 0) << bit for bit, line in enumerate(pins["probe_select"]))
                )
        elif pin in pins["probes"]:
            return self._probe_u16(pin)
        return 0 if 26 <= pin <= 40 else -1

    def _tray_u16(self):
        """The tray's sensor: nothing unless one of its two wires is driven high and the other low."""
        drives = self._tray_probe[:2]
        if any(self.modes.get(pin, 0) == 0 for pin in drives):
            return 0
        levels = [self.levels.get(pin, 0) for pin in drives]
        self.follow()
        forth_mv, back_mv, _ = self.world.sense_extras()
        mv = {(1, 0): forth_mv, (0, 1): back_mv}.get(tuple(levels), 0)
        vref_mv = self.board["adc"]["vref_mv"]
        return min(65535, round(mv * 65535 / vref_mv))

    def _strip_u16(self):
        """The strip in the tub, which is fed by the probes' rail."""
        rail = self.pins["probe_power"]
        if rail >= 0 and not self.levels.get(rail, 0):
            return 0
        self.follow()
        return self.world.tub_sense()

    def _probe_u16(self, number):
        rail = self.pins["probe_power"]
        if number not in self.pins["probes"] or (rail >= 0 and not self.levels.get(rail, 0)):
            return 0
        channel = self.pins["probes"].index(number)
        return self._sample(channel)

    def _sample(self, channel):
        """The next of a burst's nine samples, 0 where no probe is plugged in."""
        if not self._bursts[channel]:
            self.follow()
            raw = self.world.sense().probe_raw
            if channel >= len(raw):
                return 0
            self._bursts[channel] = list(raw[channel])
        return self._bursts[channel].pop(0)

    def edges(self, slept_us, irqs):
        """What probes that pulse did in a wait that ends now: events "p PIN COUNT FIRST_US LAST_US"."""
        rail = self.pins["probe_power"]
        if self.pins["probe_kind"] != "pulses" or (rail >= 0 and not self.levels.get(rail, 0)):
            return []
        events, end_us = [], self.now_us()
        for channel, pin in enumerate(self.pins["probes"]):
            chz = self._sample(channel) if irqs.get(pin, 0) & RISING else 0
            if chz:
                period_us = 1e8 / chz
                first_us = end_us - slept_us + period_us / 2
                count = int((end_us - first_us) / period_us) + 1
                if count > 0:
                    events.append(f"p {pin} {count} {int(first_us)} {int(first_us + (count - 1) * period_us)}")
        return events

    def _battery_u16(self):
        mv = self.sense().battery_mv
        if mv and self._on_us:
            mv = min(mv, int(self._loaded_mv()))
        adc = self.board["adc"]
        # The mean of readings is cut down twice on the board: half a step keeps it from falling.
        pin_mv = mv * adc["battery_divider_pm"] / 1000
        return min(65535, max(0, round(pin_mv * 65535 / adc["vref_mv"])))

    def _light_u16(self):
        sensors, lx = self.board["sensors"], self.sense().lx
        if lx < 0 or sensors["light"] != "photodiode":
            return 0
        curve = [sensors["photodiode_" + key] for key in ("dark_mv", "lx_per_v", "knee_mv", "upper_lx_per_v")]
        vref = self.board["adc"]["vref_mv"]
        return chips.lowest(lx, 0, vref, lambda mv: diode.lux(mv, *curve)) * 65535 // vref

    # ---- registers -----------------------------------------------------------------------

    def one_wire(self, pin):
        """The chip on a one-wire pin, or None."""
        return self._soil if has_extra(self.board, "soil_pin") and pin == self.board["extras"]["soil_pin"] else None

    def i2c(self, sda, scl, address):
        """The chip at an address of the bus on these pins, or None."""
        if (sda, scl) != (self.pins["i2c_sda"], self.pins["i2c_scl"]):
            return None
        chip = self.chips.get(address)
        return chip if chip is not None and chip.answers() else None
