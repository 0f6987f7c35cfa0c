"""An SSD1306 on the bus: takes what is written to it as its data sheet says, and holds the display's memory.

Only what a driver in its horizontal addressing mode needs; a command it does not know is a fault. Runs under CPython
and MicroPython.
"""

# Bytes that follow a command.
FOLLOW = {0x81: 1, 0xA8: 1, 0xD3: 1, 0xDA: 1, 0xD5: 1, 0x8D: 1, 0x20: 1, 0x21: 2, 0x22: 2, 0xD9: 1, 0xDB: 1}
PLAIN = (0xA4, 0xA6, 0xA0, 0xA1, 0xC0, 0xC8, 0xE3, 0xAE, 0xAF)

# A byte on the bus is eight bits and an acknowledge; a write has a start, an address and a stop.
BITS = 9
AROUND = 2


class Ssd1306:
    """memory: 1024 bytes, eight rows of 128; lit: whether its dots shine. left: how many writes it still takes, None
    for all. writes, bits: how many there were, and what they were on the wire."""

    def __init__(self):
        # What it holds after power-on is chance.
        self.memory = bytearray(b"\xa5" * 1024)
        self.on = self.pump = self.whole = False
        self.mode = 2
        self.columns, self.rows = (0, 127), (0, 7)
        self.column = self.row = 0
        self.left = None
        self.writes = self.bits = 0

    @property
    def lit(self):
        return self.on and self.pump

    def answers(self):
        """False once it is gone."""
        return self.left is None or self.left > 0

    def write(self, data):
        """One write from start to stop; OSError where nobody is there any more."""
        if not self.answers():
            raise OSError(5)
        if self.left is not None:
            self.left -= 1
        self.writes += 1
        self.bits += BITS * (1 + len(data)) + AROUND
        if data[0] == 0x40:
            self._fill(data)
        elif data[0] == 0:
            self._obey(data)
        else:
            raise ValueError("no such control byte: %d" % data[0])

    def read(self, length):
        """Its status: bit 6 says dark."""
        return bytes([0 if self.on else 0x40] * length)

    def _fill(self, data):
        if self.mode:
            raise ValueError("data came before the addressing mode")
        for at in range(1, len(data)):
            self.memory[128 * self.row + self.column] = data[at]
            self.column += 1
            if self.column > self.columns[1]:
                self.column = self.columns[0]
                self.row = self.row + 1 if self.row < self.rows[1] else self.rows[0]

    def _obey(self, data):
        at = 1
        while at < len(data):
            command = data[at]
            count = FOLLOW.get(command, 0)
            self._do(command, data[at + 1 : at + 1 + count])
            at += 1 + count

    def _do(self, command, more):
        if command in (0xAE, 0xAF):
            self.on = command == 0xAF
        elif command == 0x8D:
            self.pump = more[0] & 4 == 4
        elif command == 0x20:
            self.mode = more[0]
        elif command == 0x21:
            self.columns = more[0], more[1]
            self.column = more[0]
        elif command == 0x22:
            self.rows = more[0], more[1]
            self.row = more[0]
        elif not (command in FOLLOW or command in PLAIN or 0x40 <= command < 0x80):
            raise ValueError("no such command: 0x%02x" % command)
