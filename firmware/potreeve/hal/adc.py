"""Voltage inputs, alike on all chips."""

from machine import ADC, Pin

SAMPLES = 16


def open_adc(board, number):
    """ADC of a GPIO, at its widest range."""
    # ADC(number) would leave the pad's pull-down on; through Pin it is set up afresh.
    if board["mcu"].startswith("esp32"):
        return ADC(Pin(number), atten=ADC.ATTN_11DB)
    return ADC(Pin(number))


def read_mv(adc, vref_mv):
    """Millivolts at the pin, the mean of the middle half of 16 readings; the port's calibration if it has one."""
    calibrated = hasattr(adc, "read_uv")
    values = sorted([adc.read_uv() // 1000 if calibrated else adc.read_u16() for _ in range(SAMPLES)])
    quarter = SAMPLES // 4
    mean = sum(values[quarter:-quarter]) // (SAMPLES - 2 * quarter)
    return mean if calibrated else (mean * vref_mv + 32767) // 65535
