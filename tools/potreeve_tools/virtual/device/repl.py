"""The prompt of a board, as MicroPython's own: friendly, raw, raw-paste, Ctrl-A to Ctrl-E.

It is written here because the desktop build's own ends the process where a
board restarts itself, and would not hear timers while it waits for a key.
"""

import io
import select
import sys

RAW_BANNER = b"raw REPL; CTRL-B to exit\r\n"
# Half of MicroPython's own buffer for input.
WINDOW = 128


class Reboot(Exception):
    """Ctrl-D at the prompt."""


class Prompt:
    """wire: to the rig; space: the globals of what is typed; banner: text; raw: whether to start raw."""

    def __init__(self, wire, space, banner, raw):
        self.wire = wire
        self.space = space
        self.banner = banner
        self.raw = raw
        self.key = bytearray(1)
        # Read ahead in raw-paste mode, where bytes come in blocks.
        self.front = b""
        self.keys = open(0, "rb")
        self.out = open(1, "wb")
        self.poll = select.poll()
        self.poll.register(self.keys, select.POLLIN)
        self.poll.register(wire.file, select.POLLIN)

    def run(self):
        """Until Ctrl-D or SystemExit; `raw` says which prompt it was."""
        if not self.raw:
            self.say(self.banner)
        while True:
            if self.raw:
                self.run_raw()
            else:
                self.run_friendly()

    def say(self, text):
        try:
            self.out.write(text)
        except KeyboardInterrupt:
            # Nothing runs that could be interrupted.
            pass

    def read(self):
        """The next byte; hears timers and pins meanwhile."""
        if self.front:
            c = self.front[0]
            self.front = self.front[1:]
            return c
        while True:
            try:
                for ready in self.poll.poll():
                    if ready[0] is self.wire.file:
                        self.wire.nudge()
                    else:
                        if not self.keys.readinto(self.key):
                            raise SystemExit
                        return self.key[0]
            except KeyboardInterrupt:
                return 3

    def run_raw(self):
        self.say(RAW_BANNER)
        line = bytearray()
        self.say(b">")
        while True:
            c = self.read()
            if c == 1:
                if len(line) == 2 and line[0] == 5:
                    self.paste(line[1])
                    line = bytearray()
                    self.say(b">")
                else:
                    line = bytearray()
                    self.say(RAW_BANNER + b">")
            elif c == 2:
                self.say(b"\r\n")
                self.raw = False
                self.say(self.banner)
                return
            elif c == 3:
                line = bytearray()
            elif c == 4:
                self.say(b"OK")
                if not line:
                    self.say(b"\r\n")
                    raise Reboot
                self.execute(bytes(line), "exec", True)
                line = bytearray()
                self.say(b">")
            else:
                line.append(c)

    def paste(self, kind):
        if kind != 65:
            self.say(b"R\x00")
            return
        self.say(b"R\x01" + bytes([WINDOW & 255, WINDOW >> 8, 1]))
        text = bytearray()
        left = WINDOW
        while True:
            c = self.read()
            if c == 3 or c == 4:
                break
            text.append(c)
            left -= 1
            if left:
                more = self.waiting(left)
                text.extend(more)
                left -= len(more)
            if left == 0:
                left = WINDOW
                self.say(b"\x01")
        self.say(b"\x04")
        if c == 4:
            self.execute(bytes(text), "exec", True)
        else:
            self.say(b"\x04" + "Traceback (most recent call last):\r\nKeyboardInterrupt: \r\n".encode() + b"\x04")

    def waiting(self, most):
        """What is there already, up to Ctrl-C or Ctrl-D, most bytes of it."""
        count = self.wire.number_of("kn")
        data = self.front + self.keys.read(count) if count else self.front
        end = 0
        while end < len(data) and end < most and data[end] != 3 and data[end] != 4:
            end += 1
        self.front = data[end:]
        return data[:end]

    def execute(self, text, kind, marked):
        """Compile and run; with marks, Ctrl-D after the output and after the error."""
        said = ""
        try:
            self.wire.tell("x", 1)
            exec(compile(text, "<stdin>", kind), self.space)
        except SystemExit:
            if marked:
                self.say(b"\x04\x04")
            raise
        except BaseException as fault:
            said = traceback(fault)
        calmly(self.wire.tell, "x", 0)
        self.say(b"\x04" + said.encode() + b"\x04" if marked else said.encode())

    def run_friendly(self):
        lines = []
        line = bytearray()
        self.say(b">>> ")
        while True:
            c = self.read()
            if c == 13 or c == 10:
                self.say(b"\r\n")
                lines.append(bytes(line).decode())
                line = bytearray()
                text = "\n".join(lines)
                if goes_on(lines):
                    self.say(b"... ")
                    continue
                lines = []
                if text.strip():
                    self.execute(text + "\n", "single", False)
                self.say(b">>> ")
            elif c == 1:
                self.say(b"\r\n")
                self.raw = True
                return
            elif c == 2:
                self.say(b"\r\n")
                self.say(self.banner)
                self.say(b">>> ")
                lines, line = [], bytearray()
            elif c == 3:
                lines, line = [], bytearray()
                self.say(b"\r\n>>> ")
            elif c == 4:
                if not line and not lines:
                    self.say(b"\r\n")
                    raise Reboot
            elif c == 5:
                self.paste_friendly()
                self.say(b">>> ")
            elif c == 8 or c == 127:
                if line:
                    line = line[:-1]
                    self.say(b"\x08 \x08")
            elif c >= 32 or c == 9:
                line.append(c)
                self.say(bytes([c]))

    def paste_friendly(self):
        self.say(b"\r\npaste mode; Ctrl-C to cancel, Ctrl-D to finish\r\n=== ")
        text = bytearray()
        while True:
            c = self.read()
            if c == 3:
                self.say(b"\r\n")
                return
            if c == 4:
                self.say(b"\r\n")
                self.execute(bytes(text), "exec", False)
                return
            text.append(10 if c == 13 else c)
            self.say(b"\r\n=== " if c == 13 else bytes([c]))


def calmly(call, *args):
    """Call, again if Ctrl-C comes in between; for what may be said twice."""
    while True:
        try:
            return call(*args)
        except KeyboardInterrupt:
            pass


def goes_on(lines):
    """Whether more lines belong to what is being typed."""
    if len(lines) > 1:
        return bool(lines[-1].strip())
    first = lines[0].rstrip()
    return first.endswith(":") or first.endswith("\\") or first.startswith("@")


def traceback(fault):
    """As a board prints it, without the frames of this file."""
    text = io.StringIO()
    sys.print_exception(fault, text)
    return "\r\n".join([line for line in text.getvalue().split("\n") if "/virtual/device/" not in line])
