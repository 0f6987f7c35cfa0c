"""The display of a board file's optional table [extras], checked."""

from potreeve_tools.image.compiled import has_extra
from potreeve_tools.terminal.faultlist import Key, fault_line

DISPLAY_KEYS = (
    Key(
        "display", "choice", choices=("ssd1306", "none"), default="none", help="controller of a 128 x 64 display on I2C"
    ),
    Key("display_address", "int", 0x08, 0xFF, default=0x3C, help="the chip's: 0x3c, or 0x3d"),
)
DISPLAY_ADDRESSES = (0x3C, 0x3D)
"""What the chip's pin SA0 chooses from (data sheet, from memory)."""

DISPLAY_FIGURES = {"display_ua": (0, 1_000_000, "uA")}
"""Figures of [energy] that a board with a display needs."""


def display_faults(data, energy, where):
    """Faults of a display among the board's other parts. energy: {name: Figure}."""
    if not has_extra(data, "display"):
        return (
            [f"{where}: [energy.display_ua]: given, but no display is wired; remove it, or add extras.display"]
            if "display_ua" in energy
            else []
        )
    pins, sensors, extras = data["pins"], data["sensors"], data["extras"]
    table, address, faults = f"{where} [extras]", extras.get("display_address"), []
    if pins.get("i2c_sda", -1) < 0 or pins.get("i2c_scl", -1) < 0:
        faults.append(f"{table} display: needs the I2C bus; add pins.i2c_sda and pins.i2c_scl")
    if pins.get("button", -1) < 0:
        faults.append(f"{table} display: only a press of the button lights it; add pins.button")
    if address in (2 * good for good in DISPLAY_ADDRESSES):
        faults.append(
            fault_line(
                table,
                "display_address",
                f"0x{address:02x}",
                "the address with the bit for writing, as some modules have it printed",
                f"give half of it, 0x{address // 2:02x}",
            )
        )
    elif address is not None and address not in DISPLAY_ADDRESSES:
        faults.append(
            fault_line(table, "display_address", f"0x{address:02x}", "no ssd1306 answers there", "give 0x3c or 0x3d")
        )
    for key in ("climate", "light"):
        by_bus = sensors.get(key) not in ("none", "photodiode", None)
        if by_bus and address is not None and sensors.get(key + "_address") == address:
            faults.append(
                fault_line(
                    table,
                    "display_address",
                    f"0x{address:02x}",
                    f"the same address as sensors.{key}_address",
                    "give each part its own",
                )
            )
    if "display_ua" not in energy:
        faults.append(
            f"{where}: [energy.display_ua] (missing): needed with a display; add it with value (uA, of the display "
            "alone, lit), source and mark"
        )
    return faults
