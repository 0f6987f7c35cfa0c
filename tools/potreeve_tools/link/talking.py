"""Talking with a board at its raw prompt: run code, hear what it says, keep its service mode going.

Takes in blocks, which is faster than mpremote's bytes; the prompt is put back for mpremote, which wants to see it.
"""

import json
import struct
import time

from mpremote.transport import TransportError, TransportExecError

from potreeve_tools.link import faults
from potreeve_tools.link.wire import Pushed

# How long service mode may go without a sign that somebody is there.
TOUCH_S = 20.0
# How long a watchdog is fed when nobody talks.
FEED_S = 900
MARK = "\x02"
TOUCH = "import potreeve.service as _s;_s.touch()\n"


class Talking:
    """What a link.port.Board says and hears once it is connected.

    Needs of it: _transport, info, port, traffic, _touched, _fed.
    """

    def run(self, code, doing="running a command", timeout_s=10.0, **given):
        """Run code on the board; returns what it left in `answer` (JSON types), None if nothing.

        given: JSON-able values, set as variables first. timeout_s: longest
        silence. Raises DeviceFault with the board's exception, LinkFault.
        """
        head = "".join(f"{name}={value!r}\n" for name, value in given.items())
        text = f"answer=None\n{head}{code}\nimport json\nprint('\\x02'+json.dumps(answer))"
        said = self._exec(text, doing, timeout_s).decode(errors="replace")
        _, mark, answer = said.rpartition(MARK)
        if not mark:
            raise faults.silent(self.port, doing)
        return json.loads(answer)

    def output(self, code, doing="running a command", timeout_s=10.0):
        """Run code on the board; returns what it printed, as bytes with the serial port's line ends."""
        return self._exec(code, doing, timeout_s)

    def _exec(self, code, doing, timeout_s=10.0):
        began = time.monotonic()
        if (self.info.get("serving") or self._fed) and began - self._touched > TOUCH_S:
            code, self._touched = (f"_feed_for({FEED_S})\n" if self._fed else TOUCH) + code, began
        try:
            self._transport.exec_raw_no_follow(code)
            said, error = self._follow(timeout_s, doing)
        except TransportExecError as fault:
            raise faults.device_fault(fault.error_output, doing) from None
        except (TransportError, struct.error) as fault:
            raise faults.silent(self.port, doing) from fault
        except OSError as fault:
            raise faults.gone(self.port) from fault
        finally:
            self.traffic.round_trips += 1
            self.traffic.seconds += time.monotonic() - began
        if error:
            raise faults.device_fault(error.decode(errors="replace"), doing)
        return said

    def _follow(self, timeout_s, doing):
        """Output and error of what runs, taken in by the block: mpremote's own takes it byte by byte."""
        port, parts, got = self._transport.serial, [], bytearray()
        quiet_since = time.monotonic()
        while len(parts) < 2:
            data = self._take(port)
            if not data:
                if time.monotonic() - quiet_since > timeout_s:
                    raise faults.silent(self.port, doing)
                continue
            quiet_since = time.monotonic()
            got += data
            while len(parts) < 2:
                place = got.find(b"\x04")
                if place < 0:
                    break
                parts.append(bytes(got[:place]))
                del got[: place + 1]
        if got != b">":
            # The prompt, which mpremote wants to see before the next command.
            if got or self._transport.read_until(1, b">", timeout=timeout_s) != b">":
                raise faults.silent(self.port, doing)
        self._put_back_prompt()
        return parts

    def _put_back_prompt(self):
        """mpremote waits for the prompt itself: hand it over when it asks."""
        port = self._transport.serial
        if not isinstance(port, Pushed):
            port = self._transport.serial = Pushed(port)
        port.push(b">")

    def _take(self, port):
        data = port.read(1)
        if not data:
            return data
        if hasattr(port, "_socket"):
            # inWaiting() of a socket only says whether, not how much.
            before, port.timeout = port.timeout, 0.002
            try:
                return data + (port.read(65536) if port.inWaiting() else b"")
            finally:
                port.timeout = before
        waiting = port.inWaiting()
        return data + port.read(waiting) if waiting else data

    def _no_answer(self, code):
        try:
            self._transport.exec_raw_no_follow(code)
            time.sleep(0.1)
        except (TransportError, OSError, struct.error):
            pass  # it may be gone before it has said "OK"

    def touch(self):
        """Keep service mode going (done by itself whenever something is run)."""
        self._touched = 0.0
        self.run("", "being kept awake")

    # ---- prompts -------------------------------------------------------------------------

    def _take_prompt(self):
        """The last of perhaps several prompts: a busy board answers every Ctrl-A of earlier attempts at once."""
        port, data = self._transport.serial, b""
        time.sleep(0.02)
        while port.inWaiting():
            data += port.read(port.inWaiting())
        if not data.endswith(b">"):
            raise TransportError("no prompt")
        self._put_back_prompt()

    def _is_open(self):
        try:
            self._transport.serial.inWaiting()
        except OSError:
            return False
        return True

    def _falls_quiet(self, within_s):
        """Take in what was on its way; True when nothing more comes."""
        port, until = self._transport.serial, time.monotonic() + within_s
        while time.monotonic() < until:
            if not port.inWaiting():
                time.sleep(0.05)
                if not port.inWaiting():
                    return True
            port.read(port.inWaiting() or 1)
        return False
