"""MicroPython onto an ESP32, by esptool, which is not among Potreeve's own packages."""

import importlib.util
import subprocess
import sys

from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

WANTED = "esptool==5.6.0"
OFFSET = "0x1000"
"""Where the boot loader of a plain ESP32 starts; its S3 and C3 relatives differ (from memory)."""

# Header of an image: first byte, and the chip's number in bytes 12 and 13 (ESP-IDF's image format, from memory).
MAGIC = 0xE9
CHIPS = {0: "esp32", 2: "esp32s2", 5: "esp32c3", 9: "esp32s3", 13: "esp32c6"}


def check(path):
    """Raise BadInput unless the file is an image for a plain ESP32."""
    try:
        with open(path, "rb") as file:
            head = file.read(16)
    except OSError as fault:
        raise BadInput(
            [f"{path}: can't be read: {fault.strerror or fault}; check the path and its permissions"]
        ) from None
    if len(head) < 16 or head[0] != MAGIC:
        raise BadInput([f"{path}: no ESP32 image (its first byte is not 0x{MAGIC:02x}); give MicroPython's .bin file"])
    chip = CHIPS.get(int.from_bytes(head[12:14], "little"), "another chip")
    if chip != "esp32":
        raise BadInput(
            [
                f"{path}: for {chip}; Potreeve's board file esp32 needs a plain ESP32's. Give MicroPython's .bin for "
                f"ESP32_GENERIC"
            ]
        )


def write(path, port, say):
    """Write the image with esptool. Raises Stop when it is missing or fails."""
    if importlib.util.find_spec("esptool") is None:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                f"an ESP32 needs esptool, which is not installed: {sys.executable} -m pip install {WANTED}",
                "Then run the same command again.",
            ],
        )
    say(f"Writing {path.name} with esptool ...")
    done = subprocess.run(
        [sys.executable, "-m", "esptool", "--chip", "esp32", "--port", port, "write-flash", OFFSET, str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        said = [line for line in (done.stdout + done.stderr).splitlines() if line.strip()]
        raise exits.Stop(
            exits.NOT_VERIFIED,
            [
                f"esptool failed on {port}: {said[-1] if said else 'it gave no reason'}",
                "Hold the board's BOOT button while it starts, and run the same command again.",
            ],
        )
    say("Written; esptool has checked it.")
