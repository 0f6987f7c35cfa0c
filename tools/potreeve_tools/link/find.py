"""Which serial port is the board on."""

import os

from serial.tools import list_ports

from potreeve_tools.terminal import exits

# USB vendor ids (USB-IF's list; from memory): Raspberry Pi, Espressif, and the makers of USB-serial chips on ESP32
# boards.
VENDORS = {
    0x2E8A: "RP2 board",
    0x303A: "ESP32 board",
    0x10C4: "CP210x serial chip",
    0x1A86: "CH340 serial chip",
    0x0403: "FTDI serial chip",
}
# The bootloaders of RP2040 and RP2350 show a drive, not a serial port.
ALWAYS = (0x2E8A, 0x303A)


def candidates(ports=None):
    """Ports that may be a board, the surest first. ports: as list_ports.comports() gives them."""
    found = [port for port in (list_ports.comports() if ports is None else ports) if port.vid in VENDORS]
    return sorted(found, key=lambda port: (port.vid not in ALWAYS, port.device))


def describe(port):
    """One line for a person: what it is and its serial number."""
    serial = f", serial number {port.serial_number}" if port.serial_number else ""
    return f"{port.device}  {VENDORS.get(port.vid, port.description)}{serial}"


def find_port(ports=None):
    """The device of the only board there is; raises Stop when there is none, or a choice."""
    found = candidates(ports)
    if len(found) == 1:
        return found[0].device
    if not found:
        raise exits.Stop(
            exits.NO_DEVICE,
            [
                "no board found on any USB port.",
                "Plug one in with a cable that carries data, or name its port with --port; to try without hardware, "
                "run potreeve virtual-board in another window and give the port it prints.",
            ],
        )
    raise exits.Stop(
        exits.NO_DEVICE,
        [
            f"there are {len(found)} boards; say which one with --port:",
            *[f"  --port {describe(port)}" for port in found],
        ],
    )


def serial_number(device, ports=None):
    """The USB serial number behind a port, or None; by it a board is found again under another name."""
    for port in list_ports.comports() if ports is None else ports:
        if port.device == device:
            return port.serial_number
    return None


def device_of(number, ports=None):
    """The port of the board with this USB serial number, or None."""
    for port in list_ports.comports() if ports is None else ports:
        if number and port.serial_number == number:
            return port.device
    return None


def real_path(port):
    """A port's own path behind symbolic links; addresses such as socket:// as they are."""
    return os.path.realpath(port) if "://" not in port and os.path.islink(port) else port
