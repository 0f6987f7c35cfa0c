"""Chips on the fake I2C bus, as registers and bytes."""

BME280_FIRST = bytes(
    # T1..T3, P1..P9 of the data sheet's worked example, then a spare byte and H1.
    b"\x70\x6b\x43\x67\x18\xfc\x7d\x8e\x43\xd6\xd0\x0b\x27\x0b\x8c\x00\xf9\xff\x8c\x3c\xf8\xc6\x70\x17\x00\x4b"
)
BME280_SECOND = bytes(b"\x72\x01\x00\x13\x29\x03\x1e")


class Bme280:
    """Measures when told to (forced mode) and not before: its data start as 'skipped'."""

    def __init__(self, chip_id=0x60, adc_t=519888, adc_h=30000):
        self.registers = bytearray(256)
        self.registers[0xD0] = chip_id
        self.registers[0x88:0xA2] = BME280_FIRST
        self.registers[0xE1:0xE8] = BME280_SECOND
        self.registers[0xF7:0xFF] = b"\x80\x00\x00\x80\x00\x00\x80\x00"
        self.adc_t = adc_t
        self.adc_h = adc_h
        self.busy_polls = 2
        self.stuck = False

    def read_mem(self, register, length):
        if register == 0xF3:
            self.busy_polls -= 1
            return b"\x08" if self.stuck or self.busy_polls > 0 else b"\x00"
        return bytes(self.registers[register : register + length])

    def write_mem(self, register, data):
        self.registers[register] = data[0]
        if register == 0xF4 and data[0] & 3 == 1:
            self.busy_polls = 2
            t, h = self.adc_t, self.adc_h
            if data[0] >> 5:
                self.registers[0xFA:0xFD] = bytes((t >> 12, t >> 4 & 0xFF, t << 4 & 0xF0))
            if self.registers[0xF2] & 7:
                self.registers[0xFD:0xFF] = bytes((h >> 8, h & 0xFF))


class Answers:
    """A chip that is written commands and read answers: SHT4x, BH1750."""

    def __init__(self, answer):
        self.answer = answer
        self.commands = []

    def write(self, data):
        self.commands.append(bytes(data))

    def read(self, length):
        return self.answer[:length]


class InTurn:
    """A chip that answers each command in its own way: HTU21D. given: {command: answer}."""

    def __init__(self, given):
        self.given = given
        self.commands = []

    def write(self, data):
        self.commands.append(bytes(data))

    def read(self, length):
        return self.given[self.commands[-1]][:length]


class Pcf85063:
    """Clock chip with a countdown that obeys, or (deaf) does not."""

    def __init__(self):
        self.registers = bytearray(18)
        self.registers[4:11] = b"\x80\x00\x00\x01\x06\x01\x00"
        self.deaf = False
        self.history = []

    def read_mem(self, register, length):
        return bytes(self.registers[register : register + length])

    def write_mem(self, register, data):
        self.history.append((register, bytes(data)))
        if not self.deaf:
            self.registers[register : register + len(data)] = data


class Ds18b20:
    """A thermometer on one wire. said: the scratchpad once it has measured; takes_ms: for how long it measures, None
    for ever; there: whether it answers."""

    STARTED = b"\x50\x05\x4b\x46\x7f\xff\x0c\x10\x1c"

    def __init__(self, bench, said, takes_ms=188):
        self.bench, self.said, self.takes_ms = bench, said, takes_ms
        self.there = True
        self.now = self.STARTED
        self.done_us = 0
        self.last = self.tells = b""

    def reset(self):
        self.last = self.tells = b""
        return self.there

    def write(self, data):
        self.last += data
        if self.last == b"\xcc\x44":
            self.now = self.said
            self.done_us = None if self.takes_ms is None else self.bench.now_us + self.takes_ms * 1000
        elif self.last == b"\xcc\xbe":
            self.tells = self.now

    def read_bit(self):
        return int(self.done_us is not None and self.bench.now_us >= self.done_us)

    def read_byte(self):
        told, self.tells = self.tells[:1], self.tells[1:]
        return told[0] if told else 0xFF
