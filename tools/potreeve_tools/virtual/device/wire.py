"""The virtual chip's end of its wire to the simulated rig: one question, one answer, FRAME bytes each.

Every frame is as long as the next, so an interrupt between two of them never
leaves half a frame behind. An answer carries the question's number; answers to
questions that were interrupted are passed over. Number 0 is a nudge: something
(a timer, a pin) wants to be heard.
"""

FRAME = 128


class Wire:
    """fd: the inherited socket. hear: called when the chip has something to say."""

    def __init__(self, fd):
        self.file = open(fd, "r+b")
        self.frame = bytearray(FRAME)
        self.number = 0
        self.hear = None
        self.hearing = False

    def tell(self, *words):
        """Send without waiting for an answer."""
        text = " ".join([str(word) for word in words])
        self.file.write(("0 " + text + " " * FRAME)[:FRAME])

    def ask(self, *words):
        """Send and wait; returns the answer's words."""
        self.number = self.number % 9999 + 1
        number = self.number
        text = "%d %s" % (number, " ".join([str(word) for word in words]))
        self.file.write((text + " " * FRAME)[:FRAME])
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

    def _read(self):
        self.file.readinto(self.frame)
        return bytes(self.frame).decode().split()
