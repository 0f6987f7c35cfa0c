"""What the virtual chip's interpreter asks, and the answers. One method per question."""

import fcntl
import socket
import sys
import termios
import time

from potreeve_tools.virtual import chipstate
from potreeve_tools.virtual.bench import SCRATCH_4, USB_REGISTER, WATCHDOG_CONTROL

FRAME = 128
NONE = ""
# Of the battery, drivers take 16 readings at once: one question brings them all.
AGAIN = 15


class Answers:
    """Part of VirtualBoard: reads frames, answers, and keeps the sleep that is being waited for."""

    def _hear_chip(self, wire):
        if self._process is None or wire is not self._wire:
            return
        try:
            # What came with it in the same round of events may have taken it already.
            frame = wire.recv(FRAME, socket.MSG_DONTWAIT)
            while frame and len(frame) < FRAME:
                frame += wire.recv(FRAME - len(frame))
        except OSError:
            frame = b""
        if not frame:
            if self._process is not None and self._process.poll() is not None:
                self._reset("fault", chipstate.WDT if self._is_rp2 else chipstate.HARD)
            return
        number, kind, *words = frame.decode().split()
        # A new question while it sleeps: the sleep was interrupted.
        if self._sleep is not None:
            self._leave_sleep()
        self._number = number
        answer = getattr(self, "_ask_" + kind)(*words)
        if number == "0" or self._process is None:
            return
        if self._interrupt_at is not None and self._sleep is not None:
            answer = self._leave_sleep()
        if answer is not None:
            self._answer(number, answer)

    def _answer(self, number, answer):
        """Answer a question; one that comes while Ctrl-C is waiting is answered with that."""
        count = len(self.chip.events)
        if self._interrupt_at is not None:
            self._interrupt_at, count = None, "!"
        self._send_frame(f"{number} {count} {answer}")

    def _send_frame(self, text):
        try:
            self._wire.sendall(text.encode().ljust(FRAME)[:FRAME])
        except OSError:
            pass

    # ---- without an answer ---------------------------------------------------------------

    def _ask_x(self, executing):
        self._executing = executing == "1"
        if self._executing and not self._booted:
            self._booted = True
            if self._want_interrupt:
                self._want_interrupt = False
                self._interrupt()
        if not self._executing:
            self._interrupt_at = None
            if self.chip.events:
                self._send_frame("0 1")

    def _ask_f(self):
        """It is at its flash."""
        if self._interrupt_at is not None:
            self._interrupt_at = time.monotonic()

    def _ask_sr(self, raw):
        self._soft_reset(raw == "1")

    def _ask_hr(self):
        self._reset("reset", chipstate.WDT if self._is_rp2 else chipstate.HARD)

    def _ask_bl(self):
        """Into the bootloader: the port is gone until a hard reset or a power cycle."""
        self._kill()
        self.wiring.release()
        self.chip.stop_watchdog()
        self._off = True
        self.log.append("bootloader")
        if self._end is not None:
            self._end.close()
            self._end = None

    def _ask_ds(self, ms):
        """Deep sleep: the interpreter is gone, the chip starts again at the end."""
        wake_pin = self.chip.wake_pin
        self._kill()
        self.wiring.release()
        self.chip.stop_watchdog()
        self.chip.wake_pin = wake_pin
        self._lie_down(
            self.time.now_us() + int(ms) * 1000, chipstate.DEEPSLEEP if not self._is_rp2 else chipstate.WDT, 4
        )

    # ---- time ----------------------------------------------------------------------------

    def _ask_t(self):
        now_us = self.time.now_us()
        if self.time.awake == 0:
            self.time.jump_to(now_us + chipstate.TICK_COST_US)
        return now_us

    def _ask_sl(self, us, kind):
        begin_us = self.time.now_us()
        self._sleep = (begin_us, begin_us + max(0, int(us)), kind)
        self._sleep_number = self._number
        if kind == "l":
            self.wiring.sleep_begins(True)
            self.time.set_rate(self.time.asleep, self._next_due()[0])
            if self.chip.events:
                # An interrupt that is pending already: no chip falls asleep over it.
                self._sleep_ends()
        return None

    def _leave_sleep(self):
        begin_us, end_us, kind = self._sleep
        self._sleep = None
        if kind == "l":
            self.wiring.sleep_begins(False)
            self.time.set_rate(self.time.awake)
        return min(end_us, self.time.now_us()) - begin_us

    def _sleep_ends(self):
        light = self._sleep[2] == "l"
        slept_us = self._leave_sleep()
        if light and self._starved():
            return
        self.chip.events += self.wiring.edges(slept_us, self.chip.irqs)
        self._answer(self._sleep_number, slept_us)

    def _ask_rt(self):
        """The port's own wall clock: 2021 (rp2) or 2000 (esp32) until somebody sets it."""
        now_s = self.wiring.follow()
        known = 0 if self.board["latch"] else self.world.clock.utc_s(now_s)
        return known or (1609459200 if self._is_rp2 else 946684800) + int(now_s)

    def _ask_rs(self, utc_s):
        if not self.board["latch"]:
            self.world.clock.set_utc(int(utc_s), self.wiring.follow())
        return NONE

    def _ask_ev(self):
        return self.chip.events.pop(0) if self.chip.events else NONE

    def _ask_wd(self, ms):
        done = self.chip.start_watchdog(int(ms), self.time.now_us(), self.board["wdt_max_ms"])
        if done == 0 and self.board["mcu"] in SCRATCH_4:
            self.chip.scratch[4] = 0x6AB73121
        return done

    def _ask_wf(self):
        self.chip.feed(self.time.now_us())
        return NONE

    def _ask_tm(self, number, period, mode):
        period_us = max(1, int(period)) * 1000
        self.chip.timers[int(number)] = (self.time.now_us() + period_us, period_us, mode == "1")
        return NONE

    def _ask_td(self, number):
        self.chip.timers.pop(int(number), None)
        return NONE

    def _ask_rc(self):
        return self.chip.cause

    def _ask_wr(self):
        return self.chip.wake_reason

    def _ask_wk(self, pin, level):
        self.chip.wake_pin = int(pin)
        return NONE

    def _ask_kn(self):
        """How many typed bytes the interpreter has not read yet."""
        count = bytearray(4)
        fcntl.ioctl(self._unread, termios.FIONREAD, count)
        return int.from_bytes(count, sys.byteorder)

    # ---- pins ----------------------------------------------------------------------------

    def _ask_pm(self, pin, mode, pull, value):
        done = self.wiring.set_mode(int(pin), int(mode), int(value))
        self._look_at_hold(int(pin))
        return None if self._process is None else done

    def _ask_po(self, pin, level):
        self.wiring.drive(int(pin), int(level))
        self._look_at_hold(int(pin))
        return None if self._process is None else NONE

    def _look_at_hold(self, pin):
        if self.board["latch"] and pin == self.board["pins"]["latch_hold"] and not self.wiring.usb:
            if (
                not self.wiring.levels.get(pin, 0)
                and not self.wiring.chips[0x51].interrupt()
                and not self.wiring.is_pressed()
            ):
                self.log.append("power cut")
                self._cut_power()

    def _ask_pi(self, pin):
        return self.wiring.level(int(pin))

    def _ask_pq(self, pin, trigger):
        self.chip.irqs[int(pin)] = int(trigger)
        return NONE

    def _ask_ad(self, pin):
        return self._converted(int(pin), self.wiring.read_u16(int(pin)))

    def _ask_uv(self, pin):
        reading = max(0, self.wiring.read_u16(int(pin)))
        return self._converted(int(pin), reading * self.board["adc"]["vref_mv"] * 1000 // 65535)

    def _converted(self, pin, value):
        """The answer: a reading, and how often it is the same again as long as nothing else is asked."""
        return f"{value} {AGAIN}" if pin == self.board["pins"]["battery_adc"] else value

    # ---- bus and registers ---------------------------------------------------------------

    def _ask_is(self, sda, scl):
        return " ".join(
            str(address) for address in sorted(self.wiring.chips) if self.wiring.i2c(int(sda), int(scl), address)
        )

    def _ask_iw(self, sda, scl, address, data=""):
        chip = self.wiring.i2c(int(sda), int(scl), int(address))
        if chip is None:
            return "-"
        if data:
            chip.write(bytes.fromhex(data))
        return "+"

    def _ask_ir(self, sda, scl, address, register, length):
        chip = self.wiring.i2c(int(sda), int(scl), int(address))
        if chip is None:
            return "-"
        if int(register) >= 0:
            chip.write(bytes([int(register)]))
        return chip.read(int(length)).hex()

    def _ask_or(self, pin):
        chip = self.wiring.one_wire(int(pin))
        return int(chip is not None and chip.reset())

    def _ask_ow(self, pin, data):
        chip = self.wiring.one_wire(int(pin))
        if chip is not None:
            chip.write(bytes.fromhex(data))
        return NONE

    def _ask_ob(self, pin):
        chip = self.wiring.one_wire(int(pin))
        return 1 if chip is None else chip.read_bit()

    def _ask_oy(self, pin):
        chip = self.wiring.one_wire(int(pin))
        return 0xFF if chip is None else chip.read_byte()

    def _ask_mr(self, address):
        address = int(address)
        mcu = self.board["mcu"]
        if address == USB_REGISTER:
            return 0x10000 if self.wiring.usb else 0
        if address == SCRATCH_4.get(mcu):
            return self.chip.scratch.get(4, 0)
        if address == WATCHDOG_CONTROL.get(mcu):
            return 0x40000000 if self.chip.wdt_ms else 0
        return self.chip.scratch.get(address, 0)

    def _ask_mw(self, address, value):
        self.chip.scratch[int(address)] = int(value)
        return NONE
