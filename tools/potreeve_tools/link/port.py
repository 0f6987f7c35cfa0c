"""One conversation with a board.

    with open_board(port, say=print) as board:
        board.info["version"]
        board.run("answer = 6 * 7")                    # -> 42
        board.write_file("data/x.json", b"{}")

Opening gets the board's attention, switches its pumps off and puts it into
service mode, where no watchdog runs; leaving lets it go on. Whatever fails is a
Stop with a plain sentence, a next step and an exit code.
"""

import contextlib
import io
import struct
import time

import serial
from mpremote.transport import TransportError
from mpremote.transport_serial import SerialTransport

from potreeve_tools.link import faults, find
from potreeve_tools.link.boardfiles import BoardFiles
from potreeve_tools.link.device import program
from potreeve_tools.link.talking import FEED_S, Talking
from potreeve_tools.link.wire import Counted, Traffic
from potreeve_tools.terminal import exits

READ_TIMEOUT_S = 3.0
JUST_CLOSED_S = 1.0
# How long a restarting board may take until its port is back, by the book a second or two.
BACK_S = 15.0
# How long to listen for a sign that it has started, and the signs. It checks all of its files first, which takes a slow
# flash some seconds; one that says nothing at all is rare, so the wait may be long.
BOOT_S = 20.0
# How often it is restarted for service mode: on a slow link a Ctrl-C may still arrive before it has got there.
SERVICE_TRIES = 3
BOOTED = (b"service mode", b">>> ", b"not started", b"unfinished", b"stopped")
# The desk's own clock is believed within these, 2026 to 2099: this program is not older.
CLOCK_FROM_S, CLOCK_TO_S = 1767225600, 4102444800
# So far off is worth a word.
CLOCK_TOLD_S = 300
# After Ctrl-C: how long the board may take to listen.
BREAK_S = 0.5

RESET = "import machine\nmachine.reset()"
LEAVE = "from potreeve import service\nservice.leave()"


def open_board(port=None, say=None, wait_s=20.0, service=True, leave="auto"):
    """Return a Board, connected; use it as a context manager.

    port: what pyserial opens; None looks for the only board there is. say:
    called with a sentence when a person has to wait or act (None: nobody is
    told). wait_s: how long to try to get its attention. service: False leaves
    a board that tends in peace as far as possible: no restart into service mode
    (only for a look of a second or two: its watchdog may run). leave: what
    happens at the end: "tend" restarts it into tending, "stay" leaves it in
    service mode (which ends by itself), "auto" leaves it as it was found.
    Raises LinkFault.
    """
    board = Board(find.real_path(port or find.find_port()), say or (lambda text: None), leave)
    try:
        board.connect(wait_s, service)
    except BaseException:
        board.drop()
        raise
    return board


class Board(Talking, BoardFiles):
    """A connected board. port: its name. info: what it said of itself (see device/look.py). traffic: a Traffic."""

    def __init__(self, port, say, leave="auto"):
        self.port, self.say, self.leave = port, say, leave
        self.traffic = Traffic()
        self.info = {}
        self.found_serving = False
        self.clock_off_s = None
        """How far its clock was ahead of the desk's before it was set; None where it had no time, or was not set."""
        self._transport = None
        self._usb_number = None if "://" in port else find.serial_number(port)
        self._touched = 0.0
        self._fed = False

    # ---- coming and going ----------------------------------------------------------------

    def connect(self, wait_s, service=True):
        """Open the port, get attention, pumps off, and into service mode."""
        self._open()
        self._get_attention(wait_s)
        self.found_serving = self.info["serving"]
        if service and not self.info["serving"] and self.info["firmware"]:
            self._into_service(wait_s)
        self._set_clock()

    def _open(self):
        until = time.monotonic() + JUST_CLOSED_S
        while True:
            try:
                self._transport = SerialTransport(self.port, timeout=READ_TIMEOUT_S)
                break
            except TransportError:
                fault = faults.cannot_open(self.port, self._why_closed())
            except (OSError, ValueError) as why:
                fault = faults.cannot_open(self.port, why)
            # A program that just ended may hold it a moment longer.
            if faults.HELD not in str(fault) or time.monotonic() > until:
                raise fault
            time.sleep(0.1)
        self._transport.serial = Counted(self._transport.serial, self.traffic)

    def _why_closed(self):
        """mpremote keeps the reason to itself: ask pyserial again."""
        try:
            serial.serial_for_url(self.port, exclusive=True).close()
        except (OSError, ValueError) as fault:
            return fault
        return OSError("it is open now; try again")

    def _get_attention(self, wait_s):
        """Ctrl-C until there is a raw prompt; then pumps off, first of all."""
        begin = time.monotonic()
        transport, told = self._transport, False
        transport.serial.timeout = 0.1
        while True:
            try:
                with contextlib.redirect_stdout(io.StringIO()):
                    transport.enter_raw_repl(soft_reset=False, timeout_overall=0.7)
                self._take_prompt()
                transport.serial.timeout = READ_TIMEOUT_S
                self._exec(program("pumps_off") + "_pumps_off()", "switching its pumps off")
                break
            except (TransportError, faults.LinkFault) as fault:
                if isinstance(fault, faults.LinkFault) and not self._is_open():
                    raise
                transport.serial.timeout = 0.1
                # One stray byte is no reason to do without raw-paste for good.
                transport.use_raw_paste = True
            except OSError as fault:
                raise faults.gone(self.port) from fault
            waited_s = time.monotonic() - begin
            if not told and waited_s > 1.0:
                told = True
                self.say(
                    f"The board does not answer yet: it is asleep or busy. Trying for {wait_s:.0f} s; "
                    "a press of its button wakes it."
                )
            if waited_s >= wait_s:
                raise faults.no_attention(self.port, waited_s)
        self._prepare()

    def _prepare(self):
        self._exec(program("helpers"), "being prepared")
        self.info = self.run(program("look") + "answer=_look()", doing="saying what it is")

    def enter_service(self, wait_s=20.0):
        """Restart it until it is in service mode, or says that it can't start its firmware; True if it serves."""
        for _ in range(SERVICE_TRIES):
            self.restart(wait_s)
            if self.info["serving"] or self.info["refuses"]:
                break
        return self.info["serving"]

    def _into_service(self, wait_s):
        """Ask for service mode with its mark and restart; a running watchdog ends with that.

        Firmware that can't start does not follow. Then the board is kept at its prompt, its pumps off, to be mended:
        main.py feeds the watchdog while it waits for that, or else it is fed from here.
        """
        if self.info["refuses"] or self.enter_service(wait_s) or self.info["refuses"]:
            return
        if self.info["watchdog"] is not False:
            self._exec(f"{program('feeding')}_feed_for({FEED_S})", "being kept awake")
            self._fed = True

    def _set_clock(self):
        """Give a board in service the desk's time, in UTC. Nothing is decided by it; it dates records."""
        now_s = int(time.time())
        if not self.info["serving"] or not CLOCK_FROM_S <= now_s < CLOCK_TO_S:
            return
        try:
            before_s = self.run(f"{program('clock')}answer=_set_clock({now_s})", "having its clock set")
        except faults.DeviceFault:
            return  # an external clock that does not answer: selftest says so
        self.clock_off_s = before_s - now_s if before_s else None
        if before_s and abs(before_s - now_s) > CLOCK_TOLD_S:
            off_min = abs(before_s - now_s) // 60
            off = f"{off_min // 1440} days" if off_min > 2880 else f"{off_min} minutes"
            self.say(f"The board's clock was {off} off; it has this computer's time now.")

    def _restart(self, wait_s):
        """Hard reset, and connect again: the port may go and come back, even under another name."""
        self._no_answer(RESET)
        left, self._fed = self.info.get("id"), False
        self._close_port()
        until = time.monotonic() + BACK_S
        time.sleep(0.1)
        while True:
            self.port = find.device_of(self._usb_number) or self.port
            try:
                self._open()
                break
            except faults.LinkFault as fault:
                if time.monotonic() > until:
                    raise faults.not_back(self.port, fault) from fault
                time.sleep(0.2)
        self._wait_for_boot()
        self._get_attention(wait_s)
        if left and self.info["id"] and self.info["id"] != left:
            raise faults.another(self.port)

    def _wait_for_boot(self):
        """Listen until it says that it is in service or at its prompt: Ctrl-C before that would keep it out of
        service."""
        port, heard = self._transport.serial, b""
        until = time.monotonic() + BOOT_S
        port.timeout = 0.2
        try:
            while time.monotonic() < until and not any(word in heard for word in BOOTED):
                # A prompt answers this; what it said when it appeared may have gone by.
                port.write(b"\r")
                heard += self._take(port)
        except OSError as fault:
            raise faults.gone(self.port) from fault
        finally:
            with contextlib.suppress(OSError):
                port.timeout = READ_TIMEOUT_S

    def restart(self, wait_s=20.0):
        """Restart the board (into service mode again, if its firmware is whole) and connect anew."""
        with contextlib.suppress(faults.DeviceFault):  # a full file system: USB may do instead
            self._exec(program("asking") + "_ask_service()", "being put into service mode")
        self._restart(wait_s)

    def soft_reset(self):
        """A clean heap: soft reset without main.py. Service mode does not survive it: for boards without firmware, or
        to be followed by restart()."""
        try:
            with contextlib.redirect_stdout(io.StringIO()):
                self._transport.enter_raw_repl(soft_reset=True, timeout_overall=10)
        except TransportError as fault:
            raise faults.silent(self.port, "restarting") from fault
        except OSError as fault:
            raise faults.gone(self.port) from fault
        self._prepare()

    def close(self, leave=None):
        """Let the board go on, see `leave` of open_board, and close the port."""
        leave = leave or self.leave
        if leave == "auto":
            leave = "stay" if self.found_serving or not self.info.get("firmware") else "tend"
        try:
            if self._transport is not None and self._transport.in_raw_repl:
                if leave == "tend" and self.info.get("serving"):
                    self._no_answer(LEAVE)
                elif leave == "tend":
                    self._no_answer(RESET)
                else:
                    self._transport.exit_raw_repl()
        except (OSError, TransportError, struct.error, faults.LinkFault):
            pass  # it is gone already; its service mode ends by itself
        self.drop()

    def drop(self):
        """Close the port without a word to the board."""
        self._close_port()

    def _close_port(self):
        transport, self._transport = self._transport, None
        if transport is not None:
            # A port that has vanished can't even be closed without complaint.
            with contextlib.suppress(OSError, TransportError):
                transport.close()

    def __enter__(self):
        return self

    def __exit__(self, kind, fault, trace):
        if isinstance(fault, faults.LinkFault):
            self.drop()
        elif isinstance(fault, KeyboardInterrupt) or getattr(fault, "code", None) == exits.INTERRUPTED:
            self.break_off()
        else:
            self.close()

    def break_off(self):
        """Stop what runs on the board, let it go on if it hears that at once, and close the port: a person waits."""
        transport = self._transport
        with contextlib.suppress(OSError, TransportError, struct.error, faults.LinkFault):
            transport.serial.timeout = transport.serial.write_timeout = BREAK_S
            # Also ends what it was being sent, so that a prompt comes.
            transport.serial.write(b"\r\x03\x03")
            if not self._falls_quiet(BREAK_S):
                raise TransportError("still talking")
            with contextlib.redirect_stdout(io.StringIO()):
                transport.enter_raw_repl(soft_reset=False, timeout_overall=BREAK_S)
            self._take_prompt()
            self.close()
        self.drop()
