"""The virtual board: a serial port, real MicroPython behind it, the simulated rig as its hardware.

    with VirtualBoard("rp2040_wifi", image="board.img") as board:
        ...                      # board.port is what pyserial opens

One thread of this process owns everything behind the port; the methods hand
their work to it and wait. The interpreter is a child process, ended at every
reset, soft ones too, with a new one in its place: pins keep their levels over a
soft reset and lose them at a hard one, as on a board.
"""

import json
import math
import os
import queue
import select
import selectors
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from potreeve_tools import boards
from potreeve_tools.virtual import chipstate
from potreeve_tools.virtual.answers import Answers
from potreeve_tools.virtual.bench import Wiring
from potreeve_tools.virtual.ends import PtyEnd, TcpEnd
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig
from potreeve_tools.world.world import World

DEVICE = Path(__file__).resolve().parent / "device"
FRAME = 128
NEVER = chipstate.NEVER
HOUR_US = 3_600_000_000
# Ctrl-C reaches the board when it next asks something of its chip. The desktop interpreter's own way, a signal, leaves
# whatever it is doing at once, even the collector or the file system, as no board does: so only after this long.
COMPUTING_S = 1.0
WORD_RATIO = 2
# Room for the stand-ins of chip and prompt, and for what is typed: a board compiles that as it comes in, this prompt must
# hold it in one piece, three times over.
OWN_HEAP_BYTES = 131_072
START_TIMEOUT_S = 20.0
VERSION = (1, 29, 0)

CHIP_NAMES = {"rp2040": "RP2040", "rp2350": "RP2350", "esp32": "ESP32"}


class VirtualBoard(Answers):
    """See the module.

    board: a name, a board file, or a device form. rig: a rig file or a Rig
    (None: the reading room). seed: fixes all that chance decides, and the
    board's serial number. image: file that holds the flash (None: one of its
    own, deleted at the end). tcp: None for a pseudo-terminal, else a port
    number, 0 for any. link: path of a symbolic link to the terminal. awake,
    asleep: simulated seconds per real second; awake=0 makes time pass only in
    sleeps; asleep may be infinite. usb: whether the cable brings USB's power
    (a serial converter's does not). version: the MicroPython version it claims.
    radio: whether the image has `network` (None: if the board's build has).
    """

    def __init__(self, board="rp2040_wifi", rig=None, seed=1, image=None, tcp=None, link=None, awake=1.0, asleep=600.0,
                 usb=True, version=VERSION, radio=None, faults=(), world=None):
        self.board = board if isinstance(board, dict) else boards.load(board).device_dict()
        self.name = self.board["name"]
        self._tcp, self._link = tcp, str(link) if link else None
        self._own_image = image is None
        if image is None:
            handle, image = tempfile.mkstemp(prefix="potreeve-", suffix=".img")
            os.close(handle)
        self.image = Path(image)
        self.time = chipstate.SimTime(awake, asleep)
        if world is None:
            world = World(rig if hasattr(rig, "pots") else load_rig(rig or DEFAULT_RIG), self.board, seed, faults=faults)
        self.world = world
        self.wiring = Wiring(world, self.board, self.time.now_us)
        self.wiring.usb = bool(usb)
        self.chip = chipstate.ChipState(self.board["mcu"])
        self.version = tuple(version)
        self.radio = self.board["mcu"].startswith("esp32") or self.board["micropython"].endswith("_W") if radio is None else radio
        self.serial = f"virt-{self.name}-{seed}"
        self.started = 0
        """How often the interpreter was started."""
        self.log = []
        """What happened to it: "power on", "watchdog", "reset", "soft reset", ..."""
        self._usb_cable = bool(usb)
        self._end = None
        self._process = None
        self._wire = None
        self._thread = None
        self._stop = False
        self._jobs = queue.Queue()
        self._cut_after = None
        self._sleep = None
        self._executing = False
        self._want_interrupt = False
        self._interrupt_at = None
        self._waking = None
        self._off = True

    # ---- for users -----------------------------------------------------------------------

    @property
    def port(self):
        """What pyserial opens; None while unplugged."""
        return self._end.port if self._end is not None else None

    @property
    def asleep(self):
        """Whether it sleeps (lightly, deeply, or with its power cut): it hears nothing then."""
        return self._off or self._waking is not None or (self._sleep is not None and self._sleep[2] == "l")

    @property
    def running(self):
        """Whether code of the board runs, rather than the prompt waits."""
        return self._executing

    def start(self):
        """Plug it in and switch it on; returns self."""
        self._prepare_image()
        self._nudge_r, self._nudge_w = socket.socketpair()
        self._nudge_r.setblocking(False)
        self._thread = threading.Thread(target=self._run, name="virtual board", daemon=True)
        self._plug_in()
        self._thread.start()
        self.do(self._power_on, "power on")
        return self

    def stop(self):
        """Switch it off and take everything away, but not a named image."""
        if self._thread is None or not self._thread.is_alive():
            return
        self._stop = True
        self._nudge()
        self._thread.join(10)
        self._thread = None
        self._nudge_r.close()
        self._nudge_w.close()
        if self._own_image:
            self.image.unlink(missing_ok=True)

    def __enter__(self):
        return self.start() if self._thread is None else self

    def __exit__(self, *fault):
        self.stop()

    def unplug(self, after_bytes=None, power_too=False):
        """Pull the cable now, or in the middle of what the client sends, after so many more bytes.

        power_too: the board lives from the cable, so it loses power at the same moment.
        """
        if after_bytes is None:
            self.do(self._pull, power_too)
        else:
            self.do(setattr, self, "_cut_after", (after_bytes, power_too))

    def plug(self):
        """Put the cable back (perhaps under another name: see `port`); a board without power starts."""
        self.do(self._put_back)

    def hard_reset(self):
        """As the reset button."""
        self.do(self._reset, "reset", chipstate.WDT if self._is_rp2 else chipstate.HARD)

    def power_cycle(self):
        """Take all power away and give it back."""
        self.do(self._power_cycle)

    def press(self, ms):
        """Hold the button for ms of the board's time; wakes it where a press does."""
        self.do(self._press, ms)

    def sense(self):
        """What the sensors say now, as the world has it."""
        return self.do(self.wiring.sense)

    def truth(self):
        """The world's truth(), brought up to now."""
        return self.do(lambda: (self.wiring.follow(), self.world.truth())[1])

    def skip(self, s):
        """Let simulated seconds pass at once."""
        self.do(lambda: self.time.jump_to(self.time.now_us() + int(s * 1e6)))

    def wait(self, what, timeout_s=10.0):
        """Wait until what() is true; returns whether it came to be."""
        until = time.monotonic() + timeout_s
        while not what():
            if time.monotonic() > until:
                return False
            time.sleep(0.005)
        return True

    # ---- the thread ----------------------------------------------------------------------

    def do(self, call, *args):
        """Run call(*args) in the board's thread; returns or raises what it does."""
        if threading.current_thread() is self._thread:
            return call(*args)
        box, done = [], threading.Event()
        self._jobs.put((call, args, box, done))
        self._nudge()
        if not done.wait(30):
            raise RuntimeError("the virtual board hangs")
        kind, value = box[0]
        if kind == "raise":
            raise value
        return value

    def _nudge(self):
        try:
            self._nudge_w.send(b"x")
        except OSError:
            pass

    def _run(self):
        try:
            while not self._stop:
                self._step()
        finally:
            self._kill()
            if self._end is not None:
                self._end.close()
                self._end = None

    def _step(self):
        wait_s = self._turn()
        if self._interrupt_at is not None:
            self._interrupt_hard()
            wait_s = min(wait_s, 0.1)
        with selectors.DefaultSelector() as selector:
            selector.register(self._nudge_r, selectors.EVENT_READ, self._do_jobs)
            if self._end is not None:
                for fd in self._end.sources():
                    selector.register(fd, selectors.EVENT_READ, self._hear_client)
            if self._process is not None:
                selector.register(self._wire, selectors.EVENT_READ, self._hear_chip)
                selector.register(self._said, selectors.EVENT_READ, self._hear_output)
            for key, _ in selector.select(min(wait_s, 1.0)):
                key.data(key.fileobj)

    def _do_jobs(self, _):
        try:
            self._nudge_r.recv(4096)
        except OSError:
            pass
        while True:
            try:
                call, args, box, done = self._jobs.get_nowait()
            except queue.Empty:
                return
            try:
                box.append(("return", call(*args)))
            except BaseException as fault:
                box.append(("raise", fault))
            done.set()

    # ---- time ----------------------------------------------------------------------------

    def _turn(self):
        """Do all that is due; returns real seconds until something else is."""
        for _ in range(100_000):
            due_us, act = self._next_due()
            if due_us > self.time.now_us():
                if self.time.rate == self.time.asleep:
                    self.time.stop_at(due_us)
                quick = self.time.rate == math.inf or (self._sleep is not None and self.time.rate == 0)
                if due_us == NEVER or not quick:
                    return self.time.real_s(due_us)
            self.time.jump_to(due_us)
            act()
        return 0.0

    def _next_due(self):
        due = [(NEVER, None), (self.chip.wdt_due_us, self._bite)]
        timer_us, number = self.chip.next_timer()
        due.append((timer_us, lambda: self._fire(number)))
        if self._sleep is not None:
            due.append((self._sleep[1], self._sleep_ends))
        if self._waking is not None:
            due.append((self._waking[0], self._wake))
        if self.wiring.brown_out_us is not None:
            due.append((self.wiring.brown_out_us, self._brown_out))
        return min(due, key=lambda pair: pair[0])

    def _fire(self, number):
        self.chip.fire_timer(number)
        self._raise_event()

    def _raise_event(self):
        """Something wants to be heard: end a sleep early, or nudge a prompt that waits."""
        if self._sleep is not None:
            self._sleep_ends()
        elif not self._executing and self._process is not None:
            self._send_frame("0 1")

    def _bite(self):
        self.chip.scratch[4] = 0x6AB73121
        self._reset("watchdog", chipstate.WDT, bitten=True)

    def _brown_out(self):
        self._power_cycle("brown-out")

    def _starved(self):
        """True when neither battery nor USB carries it; then it is off, and tries again in an hour."""
        self.wiring.follow()
        if self.wiring.usb or self.world.powered:
            return False
        if self._process is not None:
            self.log.append("battery empty")
            self._kill()
            self.wiring.release()
            self.world.reset()
            self.chip.lose_power()
        self._lie_down(self.time.now_us() + HOUR_US, chipstate.PWRON, 0)
        return True

    # ---- power and resets ----------------------------------------------------------------

    @property
    def _is_rp2(self):
        return self.board["mcu"].startswith("rp2")

    def _prepare_image(self):
        flash = self.board["flash"]
        size = flash["block_bytes"] * flash["blocks"]
        if not self.image.exists() or self.image.stat().st_size != size:
            self.image.write_bytes(b"\xff" * size)

    def _power_on(self, why):
        self.chip.lose_power()
        self._boot(why, raw=False)

    def _power_cycle(self, why="power cycle"):
        self._kill()
        self.wiring.release()
        self.wiring.brown_out_us = None
        self.world.reset()
        self._power_on(why)

    def _reset(self, why, cause, bitten=False):
        """A hard reset: pads released, wall clock lost where the chip loses it."""
        self._kill()
        self.wiring.release()
        self.wiring.brown_out_us = None
        self.chip.cause = cause
        self.chip.stop_watchdog()
        if not bitten:
            self.chip.scratch.pop(4, None)
        self.world.reset()
        if self.board["latch"] and not self.wiring.usb and not bitten:
            self.log.append(why)
            self._cut_power()
            return
        self._boot(why, raw=False)

    def _boot(self, why, raw):
        self.log.append(why)
        self._waking, self._sleep, self._off = None, None, False
        self.wiring.sleep_begins(False)
        self.time.set_rate(self.time.awake)
        self.chip.begin()
        self._launch(raw)

    def _launch(self, raw):
        board, flash = self.board, self.board["flash"]
        version = ".".join(map(str, self.version))
        chip = CHIP_NAMES.get(board["mcu"], board["mcu"].upper())
        machine = f"virtual {board['name']} with {chip}"
        config = {
            "image": str(self.image.resolve()), "flash": flash, "mcu": board["mcu"], "version": list(self.version) + [""],
            "machine": machine, "build": board["micropython"], "serial": self.serial, "radio": bool(self.radio), "raw": int(raw),
            "banner": f"\r\nMicroPython v{version} on a virtual board; {machine}\r\nType \"help()\" for more information.\r\n",
        }
        mine, theirs = socket.socketpair()
        keys, their_keys = socket.socketpair()
        heap = WORD_RATIO * board["heap"]["bytes"] + OWN_HEAP_BYTES
        command = [sys.executable, "-S", "-c", LAUNCHER, str(site_folder()), "-X", f"heapsize={heap // 1024}k", str(DEVICE / "start.py"),
                   str(theirs.fileno())]
        self._process = subprocess.Popen(command, stdin=their_keys, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                                         pass_fds=[theirs.fileno()], env={"MICROPYPATH": str(DEVICE), "PATH": "/usr/bin:/bin"},
                                         start_new_session=True)
        theirs.close()
        # The other end stays open here as well, to see what is still unread.
        self._wire, self._keys, self._unread, self._said = mine, keys, their_keys, self._process.stdout
        keys.sendall(json.dumps(config).encode() + b"\n")
        os.set_blocking(self._said.fileno(), False)
        self._keys.setblocking(False)
        self._executing, self._want_interrupt, self._interrupt_at = True, False, None
        self._booted = False
        self._last_byte = b""
        self.started += 1

    def _kill(self):
        """The interpreter is gone from one moment to the next."""
        process, self._process = self._process, None
        self._sleep = None
        if process is None:
            return
        process.kill()
        process.wait()
        self._drain(process.stdout)
        process.stdout.close()
        self._hang_up()
        self._executing = False

    def _hang_up(self):
        for each in (self._wire, self._keys, self._unread):
            each.close()

    def _drain(self, said):
        try:
            data = said.read()
        except (OSError, ValueError):
            return
        if data:
            self._say(self._cooked(data))

    def _soft_reset(self, raw):
        process, self._process = self._process, None
        try:
            process.wait(5)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        self._drain(process.stdout)
        process.stdout.close()
        self._hang_up()
        if not self._is_rp2:
            self.chip.cause = chipstate.SOFT
        self._say(b"MPY: soft reboot\r\n")
        self._boot("soft reset", raw)

    # ---- cable ---------------------------------------------------------------------------

    def _plug_in(self):
        self._end = PtyEnd(self._link) if self._tcp is None else TcpEnd(self._tcp)
        if self._tcp is not None:
            self._tcp = self._end.number

    def _pull(self, power_too=False):
        self._cut_after = None
        end, self._end = self._end, None
        self.log.append("unplugged")
        if end is not None:
            end.close()
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

    def _hear_client(self, fd):
        if self._end is None:
            return
        data = self._end.ready(fd)
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
        cooked = cooked[len(self._last_byte):] if self._last_byte != b"\r" else cooked[1:]
        self._last_byte = data[-1:] if data[-1:] == b"\r" else b""
        return cooked

    def _say(self, data):
        if self._end is not None:
            self._end.send(data)


LAUNCHER = ("import sys; sys.path.append(sys.argv.pop(1)); from micropython_run import run_main; sys.argv[0] = 'micropython'; "
            "sys.exit(run_main(sys.argv))")


def site_folder():
    """Where the interpreter's package lives."""
    import micropython_unix

    return Path(micropython_unix.__file__).parent
