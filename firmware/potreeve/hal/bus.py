"""The I2C bus that climate sensor, light sensor and external clock share."""

from machine import I2C, Pin


def open_bus(board):
    """The bus of the board file, 100 kHz (long wires on a sill), or None if it names no pins."""
    pins = board["pins"]
    if pins["i2c_sda"] < 0 or pins["i2c_scl"] < 0:
        if board["latch"]:
            raise ValueError("a latched board needs the I2C bus")
        return None
    return I2C(pins["i2c_id"], sda=Pin(pins["i2c_sda"]), scl=Pin(pins["i2c_scl"]), freq=100000)
