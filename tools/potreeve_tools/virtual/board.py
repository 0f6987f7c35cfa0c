"""The virtual board: a serial port, real MicroPython behind it, the simulated rig as its hardware.

    with VirtualBoard("rp2040_wifi", image="board.img") as board:
        ...                      # board.port is what pyserial opens

One thread of this process owns everything behind the port; the methods hand
their work to it and wait. The interpreter is a child process, ended at every
reset, soft ones too, with a new one in its place: pins keep their levels over a
soft reset and lose them at a hard one, as on a board.
"""

import math
import os
import queue
import selectors
import socket
import tempfile
import threading
import time
from pathlib import Path

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.image.compiled import has_wifi
from potreeve_tools.virtual import chipstate
from potreeve_tools.virtual.answers import Answers
from potreeve_tools.virtual.bench import Wiring
from potreeve_tools.virtual.cable import Cable
from potreeve_tools.virtual.rest import Rest
from potreeve_tools.virtual.starts import Starts
from potreeve_tools.world import rooms
from potreeve_tools.world.rigfile import load_rig
from potreeve_tools.world.world import World

NEVER = chipstate.NEVER
HOUR_US = 3_600_000_000
VERSION = (1, 29, 0)


class VirtualBoard(Answers, Rest, Starts, Cable):
    """See the module.

    board: a name, a board file, or a device form. rig: a rig file or a Rig
    (None: the reading room, a pot for each pump). seed: fixes all that chance decides, and the
    board's serial number. image: file that holds the flash (None: one of its
    own, deleted at the end). tcp: None for a pseudo-terminal, else a port
    number, 0 for any. link: path of a symbolic link to the terminal. awake,
    asleep: simulated seconds per real second; awake=0 makes time pass only in
    sleeps; asleep may be infinite. hurry: while a pump runs, what the board waits is over at once, and only what it
    computes takes real time: a person who should come in between comes too late. usb: whether the cable brings power
    (a serial converter's does not). version: the MicroPython version it claims.
    radio: whether the image has `network` (None: if the board's build has). air: (name, key) of an access point within
    reach; what a board sends then leaves by this machine's sockets.
    """

    def __init__(
        self,
        board="rp2040_wifi",
        rig=None,
        seed=1,
        image=None,
        tcp=None,
        link=None,
        awake=1.0,
        asleep=600.0,
        usb=True,
        version=VERSION,
        radio=None,
        faults=(),
        world=None,
        air=None,
        hurry=False,
    ):
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
            world = World(
                rig if hasattr(rig, "pots") else load_rig(rig) if rig else rooms.rig_for(self.board),
                self.board,
                seed,
                faults=faults,
            )
        self.world = world
        self.wiring = Wiring(world, self.board, self.time.now_us)
        self.wiring.usb = bool(usb)
        self.chip = chipstate.ChipState(self.board["mcu"])
        self.version = tuple(version)
        self.air, self.hurry = air, hurry
        self.radio = has_wifi(self.board) if radio is None else radio
        self.serial = f"virt-{self.name}-{seed}"
        self.started = 0
        """How often the interpreter was started."""
        self.log = []
        """What happened to it: "power on", "watchdog", "reset", "soft reset", ..."""
        self._usb_cable = bool(usb)
        self._end = self._pulled = None
        self._selector = self._heard = None
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
        self._let_go_us = NEVER
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
        """Let simulated seconds pass at once; a board that feeds its watchdog gets to do so meanwhile."""
        end_us = self.do(self.time.now_us) + int(s * 1e6)
        while True:
            fed_us = self.chip.wdt_due_us
            if self.do(self._leap, end_us):
                return
            self.wait(lambda fed_us=fed_us: self.chip.wdt_due_us != fed_us, 0.5)

    def _leap(self, end_us):
        """Jump to end_us, but no further than a third of the watchdog's time-out; whether that was all."""
        step_us = self.chip.wdt_ms * 1000 // 3 or NEVER
        self.time.jump_to(min(end_us, self.time.now_us() + step_us))
        return self.time.now_us() >= end_us

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
            self._let_pulled_go()
            if self._selector is not None:
                self._selector.close()

    def _step(self):
        wait_s = self._turn()
        if self._interrupt_at is not None:
            self._interrupt_hard()
            wait_s = min(wait_s, 0.1)
        for key, _ in self._listening().select(min(wait_s, 1.0)):
            key.data(key.fileobj)

    def _listening(self):
        """What waits for all that may be heard: made anew when that changes, not for every question of the chip."""
        heard = self._process, self._end, self._end.sources() if self._end is not None else []
        if self._heard != heard:
            self._heard = heard
            if self._selector is not None:
                self._selector.close()
            self._selector = selectors.DefaultSelector()
            self._selector.register(self._nudge_r, selectors.EVENT_READ, self._do_jobs)
            for source in heard[2]:
                self._selector.register(source, selectors.EVENT_READ, self._hear_client)
            if self._process is not None:
                self._selector.register(self._wire, selectors.EVENT_READ, self._hear_chip)
                self._selector.register(self._said, selectors.EVENT_READ, self._hear_output)
        return self._selector

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
                quick = self.time.rate == math.inf or (self._sleep is not None and self._naps_pass())
                if due_us == NEVER or not quick:
                    return self.time.real_s(due_us)
            self.time.jump_to(due_us)
            act()
        return 0.0

    def _naps_pass(self):
        """Whether the sleep the board is in takes no real time."""
        return self.time.rate == 0 or (self.hurry and bool(self.wiring.running))

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
        due.append((self._let_go_us, self._let_go))
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
