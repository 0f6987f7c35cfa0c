"""Stands in for MicroPython's `onewire`: what is on a wire is `bench.wires`, by pin."""

from bench import bench


class OneWire:
    def __init__(self, pin):
        self._number = pin.number

    def _chip(self):
        return bench.wires.get(self._number)

    def reset(self, required=False):
        bench.log("wire", self._number, "reset")
        chip = self._chip()
        return chip is not None and chip.reset()

    def write(self, data):
        bench.log("wire", self._number, bytes(data))
        if self._chip() is not None:
            self._chip().write(bytes(data))

    def readbit(self):
        return 1 if self._chip() is None else self._chip().read_bit()

    def readbyte(self):
        return 0xFF if self._chip() is None else self._chip().read_byte()
