"""How the virtual board's interpreter starts and ends: power, hard and soft resets."""

import json
import os
import socket
import subprocess
import sys
from pathlib import Path

from potreeve_tools.virtual import chipstate

DEVICE = Path(__file__).resolve().parent / "device"
STANDINS = DEVICE.parents[1] / "standins"
WORD_RATIO = 2
# Room for the stand-ins of chip and prompt, for names (see device/start.py), and for what is typed: a board compiles
# that as it comes in, this prompt must hold it in one piece, three times over. Two thousand vectors in one start leave
# more names and gaps here than on a board, whose objects are half as large.
OWN_HEAP_BYTES = 393_216
CHIP_NAMES = {"rp2040": "RP2040", "rp2350": "RP2350", "esp32": "ESP32"}

# First of all (Linux has a way): end with the process that holds the rig, whatever is being computed. Elsewhere the
# wire's end is noticed at the next question, see device/wire.py.
LAUNCHER = (
    "import sys, ctypes; sys.platform == 'linux' and ctypes.CDLL(None).prctl(1, 9); "
    "sys.path.append(sys.argv.pop(1)); from micropython_run import run_main; sys.argv[0] = 'micropython'; "
    "sys.exit(run_main(sys.argv))"
)


class Starts:
    """Part of VirtualBoard: the interpreter's process, one for each start."""

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
            "image": str(self.image.resolve()),
            "flash": flash,
            "mcu": board["mcu"],
            "version": list(self.version) + [""],
            "machine": machine,
            "build": board["micropython"],
            "serial": self.serial,
            "radio": bool(self.radio),
            "air": list(self.air) if self.air else None,
            "raw": int(raw),
            "banner": f'\r\nMicroPython v{version} on a virtual board; {machine}\r\nType "help()" for more '
            f"information.\r\n",
        }
        mine, theirs = socket.socketpair()
        keys, their_keys = socket.socketpair()
        heap = WORD_RATIO * board["heap"]["bytes"] + OWN_HEAP_BYTES
        command = [
            sys.executable,
            "-S",
            "-c",
            LAUNCHER,
            str(site_folder()),
            "-X",
            f"heapsize={heap // 1024}k",
            str(DEVICE / "start.py"),
            str(theirs.fileno()),
        ]
        self._process = subprocess.Popen(
            command,
            stdin=their_keys,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            pass_fds=[theirs.fileno()],
            env={"MICROPYPATH": f"{DEVICE}:{STANDINS}", "PATH": "/usr/bin:/bin"},
            start_new_session=True,
        )
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


def site_folder():
    """Where the interpreter's package lives."""
    import micropython_unix

    return Path(micropython_unix.__file__).parent
