"""What each chip's pins can do. Only facts that a board file is checked against.

Pins: RP2040 and RP2350 data sheets, ESP32 data sheet, all from memory unless
said; on Wi-Fi boards GPIO 23-25 and 29 belong to the radio (pico-sdk
pico_w.h). Watchdog limits: MicroPython's rp2 port, machine_wdt.c (16777 ms on
RP2350 from MicroPython 1.29 on).
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Chip:
    """One microcontroller on a usual board.

    pins: usable GPIOs. adc: those that read voltages. inputs: those that can't
    drive. boot: pins whose level at reset means something. wake: pins that can
    end a deep sleep (None: no such sleep). taken: {pin: what has it}.
    serial: pins of its first serial port, where nothing that moves water is put anew.
    builds: how names of its MicroPython builds start.
    """

    pins: frozenset
    adc: frozenset
    inputs: frozenset
    boot: frozenset
    wake: frozenset | None
    taken: dict
    serial: frozenset
    wdt_max_ms: int
    builds: tuple
    fixed_i2c: bool


_RP2_TAKEN = {
    23: "the board's regulator or its radio",
    24: "the board's USB sensing or its radio",
    25: "the board's LED or its radio",
    29: "the VSYS divider, shared with the radio's clock line",
}
_RP2 = dict(
    pins=frozenset((*range(0, 23), 26, 27, 28)),
    adc=frozenset((26, 27, 28)),
    inputs=frozenset(),
    boot=frozenset(),
    wake=None,
    taken=_RP2_TAKEN,
    serial=frozenset((0, 1)),
    fixed_i2c=True,
)

CHIPS = {
    "rp2040": Chip(wdt_max_ms=8388, builds=("RPI_PICO_W", "RPI_PICO"), **_RP2),
    "rp2350": Chip(wdt_max_ms=16777, builds=("RPI_PICO2_W", "RPI_PICO2"), **_RP2),
    "esp32": Chip(
        pins=frozenset((0, 2, 4, 5, *range(12, 20), 21, 22, 23, 25, 26, 27, *range(32, 37), 39)),
        # ADC2 stops working while Wi-Fi runs, so only ADC1 counts.
        adc=frozenset((*range(32, 37), 39)),
        inputs=frozenset((34, 35, 36, 39)),
        boot=frozenset((0, 2, 5, 12, 15)),
        wake=frozenset((0, 2, 4, 12, 13, 14, 15, 25, 26, 27, 32, 33)),
        taken={**{pin: "the flash chip" for pin in range(6, 12)}, 1: "the serial port", 3: "the serial port"},
        serial=frozenset((1, 3)),
        wdt_max_ms=600_000,
        builds=("ESP32_GENERIC",),
        fixed_i2c=False,
    ),
}


PICO_HEADER = {
    gpio: number
    for gpio, number in zip(
        (*range(0, 23), 26, 27, 28),
        (1, 2, 4, 5, 6, 7, 9, 10, 11, 12, 14, 15, 16, 17, 19, 20, 21, 22, 24, 25, 26, 27, 29, 31, 32, 34),
        strict=True,
    )
}
"""{GPIO: number on the header} of the usual 40-pin RP2 board (its maker's pin-out, from memory)."""


def known_build(mcu, build):
    """Tell whether a MicroPython build name fits a chip: RPI_PICO2_W does not fit an rp2040.

    Other makers' boards have builds of their own, which pass: only a name that
    is one of another chip's is wrong.
    """
    return _own(mcu, build) or not any(_own(other, build) for other in CHIPS)


def _own(mcu, build):
    return any(build == start or build.startswith(start + "-") for start in CHIPS[mcu].builds)
