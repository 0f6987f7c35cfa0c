"""The virtual chip's end of its wire to the simulated rig: one question, one answer, FRAME bytes each.

Every frame is as long as the next, so an interrupt between two of them never
leaves half a frame behind. An answer carries the question's number; answers to
questions that were interrupted are passed over. Number 0 is a nudge: something
(a timer, a pin) wants to be heard.
"""

import os

FRAME = 128
# Held fast before the chip puts on its disguise: the one way out that nothing of the board's own can catch.
_system = os.system


class Wire:
    """fd: the inherited socket. hear: called when the chip has something to say."""

    def __init__(self, fd):
        self.file = open(fd, "r+b")
        self.frame = bytearray(FRAME)
        self.number = 0
        self.hear = None
        self.hearing = False
        # A converter's last answer: what was asked of which pin, what it said, and how often it would say so again.
        self.asked = self.pin = self.said = None
        self.again = 0

    def tell(self, *words):
        """Send without waiting for an answer."""
        self._write("0 " + " ".join([str(word) for word in words]))

    def ask(self, *words):
        """Send and wait; returns the answer's words."""
        self.number = self.number % 9999 + 1
        number = self.number
        self._write("%d %s" % (number, " ".join([str(word) for word in words])))
        while True:
            answer = self._read()
            if int(answer[0]) == number:
                break
        if answer[1] == "!":
            # Ctrl-C: raised here, where nothing of the interpreter's own is half done.
            raise KeyboardInterrupt
        if answer[1] != "0":
            self.attend()
        return answer[2:]

    def number_of(self, *words):
        """Ask for one whole number."""
        return int(self.ask(*words)[0])

    def converted(self, what, pin):
        """Ask what a converter says of a pin; not as long as it would say the same again, and nothing else was asked
        meanwhile."""
        if self.again and pin == self.pin and what == self.asked:
            self.again -= 1
            return self.said
        answer = self.ask(what, pin)
        self.asked, self.pin, self.said = what, pin, int(answer[0])
        if len(answer) > 1:
            self.again = int(answer[1])
        return self.said

    def attend(self):
        """Run the handlers of whatever is pending, unless one of them is asking."""
        if self.hearing or self.hear is None:
            return
        self.hearing = True
        try:
            while True:
                event = self.ask("ev")
                if not event:
                    return
                self.hear(event)
        finally:
            self.hearing = False

    def nudge(self):
        """Take in a frame that came without a question."""
        self._read()
        self.attend()

    def _write(self, text):
        self.again = 0
        try:
            self.file.write((text + " " * FRAME)[:FRAME])
        except OSError:
            _end()

    def _read(self):
        if not self.file.readinto(self.frame):
            _end()
        return bytes(self.frame).decode().split()


def _end():
    """The rig is gone, as after a kill: a chip without one must not go on, asking a closed wire for ever."""
    _system("kill -9 $PPID")
