"""The virtual board's cable: plugged in, pulled in mid-transfer, and what goes over it in both directions."""

import os
import select
import signal
import time

from potreeve_tools.virtual import chipstate
from potreeve_tools.virtual.ends import PtyEnd, TcpEnd

# Ctrl-C reaches the board when it next asks something of its chip. The desktop interpreter's own way, a signal, leaves
# whatever it is doing at once, even the collector or the file system, as no board does: so only after this long.
COMPUTING_S = 1.0


class Cable:
    """Part of VirtualBoard: the port's end, what the client types and what the interpreter says."""

    def _plug_in(self):
        self._end = PtyEnd(self._link) if self._tcp is None else TcpEnd(self._tcp)
        self._let_pulled_go()
        if self._tcp is not None:
            self._tcp = self._end.number

    def _let_pulled_go(self):
        pulled, self._pulled = self._pulled, None
        if pulled is not None:
            pulled.close()

    def _pull(self, power_too=False):
        self._cut_after = None
        end, self._end = self._end, None
        self.log.append("unplugged")
        if end is not None:
            end.close(keep=True)
            self._pulled = end
        self.wiring.follow()
        self.wiring.usb = False
        if power_too:
            self._kill()
            self.wiring.release()
            self.world.reset()
            self.chip.stop_watchdog()
            self._off, self._waking = True, None
        elif self.board["latch"] and not self.wiring.levels.get(self.board["pins"]["latch_hold"], 0):
            self._cut_power()

    def _put_back(self):
        if self._end is None:
            self._plug_in()
        self.log.append("plugged in")
        self.wiring.follow()
        self.wiring.usb = self._usb_cable
        if self._off:
            self._power_on("power on")

    def _hear_client(self, source):
        if self._end is None:
            return
        data = self._end.ready(source)
        if not data:
            return
        cut = None
        if self._cut_after is not None:
            left, power_too = self._cut_after
            if len(data) >= left:
                data, cut = data[:left], power_too
            else:
                self._cut_after = (left - len(data), power_too)
        self._type(data)
        if cut is not None:
            self._pull(cut)

    def _type(self, data):
        """Bytes for the board: Ctrl-C interrupts what runs, the rest is input."""
        if b"\x03" in data:
            self._catch_up()
        if self._process is None or self.asleep:
            return
        if self._executing and b"\x03" in data:
            _, _, data = data.rpartition(b"\x03")
            self._interrupt()
        if data:
            self._keys.setblocking(True)
            self._keys.settimeout(0.5)
            try:
                self._keys.sendall(data)
            except OSError:
                pass
            self._keys.setblocking(False)

    def _catch_up(self):
        """Take in what the chip has already said: it may be at its prompt by now."""
        while self._process is not None and select.select([self._wire], [], [], 0)[0]:
            self._hear_chip(self._wire)

    def _interrupt(self):
        if not self._booted:
            self._want_interrupt = True
            return
        if self._interrupt_at is None:
            self._interrupt_at = time.monotonic()
        if self._sleep is not None:
            self._answer(self._sleep_number, self._leave_sleep())

    def _interrupt_hard(self):
        """Nothing was asked for a while: it only computes, and a signal does no harm."""
        if self._interrupt_at is not None and time.monotonic() - self._interrupt_at > COMPUTING_S:
            self._interrupt_at = None
            if self._process is not None:
                self._process.send_signal(signal.SIGINT)

    def _hear_output(self, said):
        if self._process is None or said is not self._said:
            return  # it ended while another event of the same moment was dealt with
        try:
            data = os.read(self._said.fileno(), 65536)
        except OSError:
            return
        if data:
            self._say(self._cooked(data))
        elif self._process is not None and self._process.poll() is not None:
            # Crashed without a word: what a board would call a hard fault.
            self._reset("fault", chipstate.WDT if self._is_rp2 else chipstate.HARD)

    def _cooked(self, data):
        """Line ends as a board's serial port sends them."""
        whole = self._last_byte + data
        cooked = whole.replace(b"\r\n", b"\n").replace(b"\n", b"\r\n")
        cooked = cooked[len(self._last_byte) :] if self._last_byte != b"\r" else cooked[1:]
        self._last_byte = data[-1:] if data[-1:] == b"\r" else b""
        return cooked

    def _say(self, data):
        if self._end is not None:
            self._end.send(data)
