"""Contradictions in a board file: values that are fine alone but not together."""

from potreeve_tools.boards import extras
from potreeve_tools.boards.chips import CHIPS, known_build
from potreeve_tools.terminal.faultlist import fault_line

OUTPUTS = ("probe_power", "pump_enable", "led_ok", "led_warn", "buzzer", "latch_hold")
SINGLE = (*OUTPUTS, "button", "i2c_sda", "i2c_scl", "light_adc", "battery_adc", "usb_sense", "probe_adc")
COUNTDOWN_MAX_MS = 254 * 60 * 1000
"""Longest sleep a PCF85063A-class clock vouches for: 255 periods of a minute, the first of which may be short."""
BURST = 9


def contradictions(data, energy, where):
    """Return faults of a board whose keys were checked one by one.

    data: checked tables (faulty keys left out). energy: {name: Figure}.
    where: the file's name. A check is skipped when a key it needs is missing.
    """
    faults = []
    chip = CHIPS.get(data.get("mcu"))
    if chip:
        faults += _chip_limits(data, chip, where)
        faults += _pins(data, chip, where)
    faults += _channels(data["pins"], data.get("wdt_max_ms"), where)
    faults += _sleep(data, where)
    faults += _sensors(data, where)
    faults += _extras(data, where)
    faults += extras.display_faults(data, energy, where)
    faults += _flash(data["flash"], where)
    if {"sleep_ua", "active_ua"} <= set(energy) and energy["sleep_ua"].value > energy["active_ua"].value:
        faults.append(
            fault_line(
                f"{where} [energy.sleep_ua]",
                "value",
                energy["sleep_ua"].value,
                "more than the awake current (energy.active_ua)",
                "check both figures",
            )
        )
    return faults


def _wires(pins, analogue, extras):
    """Yield (key as written, pin, what it must do): every wire of the board file."""
    for key in SINGLE:
        pin = pins.get(key, -1)
        if pin >= 0:
            job = "drive" if key in OUTPUTS else "adc" if key.endswith("_adc") else "any"
            yield key, pin, job
    for place, pin in enumerate(pins.get("pumps", ())):
        yield f"pumps[{place}]", pin, "drive"
    for place, pin in enumerate(pins.get("probe_select", ())):
        yield f"probe_select[{place}]", pin, "drive"
    if not pins.get("probe_select"):
        for place, pin in enumerate(pins.get("probes", ())):
            yield f"probes[{place}]", pin, "adc" if analogue else "any"
    for place, pin in enumerate(extras.get("tray_probe", ())):
        yield f"tray_probe[{place}]", pin, "adc" if place == 2 else "drive"
    for place, pin in enumerate(extras.get("tub_pins", ())):
        yield f"tub_pins[{place}]", pin, "adc" if extras.get("tub_kind") == "strip" else "any"
    if extras.get("soil_pin", -1) >= 0:
        yield "soil_pin", extras["soil_pin"], "drive"


def _pins(data, chip, where):
    """Return faults of pins: used twice, not there, or not able to do their job."""
    where = f"{where} [pins]"
    pins = data["pins"]
    faults, owner = [], {}
    for key, pin, job in _wires(pins, pins.get("probe_kind") != "pulses", data.get("extras", {})):
        if pin in owner:
            faults.append(
                fault_line(where, key, pin, f"the same pin as {owner[pin]}", "give each wire a pin of its own")
            )
        owner.setdefault(pin, key)
        wrong, remedy = unfit(key, pin, job, data)
        if wrong:
            faults.append(fault_line(where, key, pin, wrong, remedy))
    return faults


def unfit(key, pin, job, data):
    """(what is wrong, remedy) of one wire by itself, or ("", "").

    key: as written in [pins]; job: "drive", "adc" or "any"; data: a board's mapping of a known mcu.
    """
    mcu = data["mcu"]
    chip = CHIPS[mcu]
    if pin in chip.taken or pin not in chip.pins:
        wrong = f"belongs to {chip.taken[pin]}" if pin in chip.taken else f"no such pin on a usual {mcu} board"
        return wrong, f"use one of {_list(one for one in chip.pins if not unfit(key, one, job, data)[0])}"
    if job == "adc" and pin not in chip.adc:
        return "can't read a voltage" + (" beside Wi-Fi" if mcu == "esp32" else ""), f"use one of {_list(chip.adc)}"
    if job == "drive" and pin in chip.inputs:
        return "is an input only", "use a pin that can drive"
    if pin in chip.boot and (key.startswith("pump") or key == "latch_hold"):
        return "sets the boot mode and may pulse at reset", "use another pin for anything that moves water or power"
    if pin in chip.boot and key == "soil_pin":
        return "sets the boot mode, and this wire is pulled up", "use another pin"
    if (key == "button" or key.startswith("tub_pins") and job != "adc") and pin in chip.inputs:
        return "has no pull-up inside", "use another pin"
    if key == "button" and chip.wake is not None and data.get("keeps_ram") is False and pin not in chip.wake:
        return "can't end a deep sleep on this chip", f"use one of {_list(chip.wake)}"
    return "", ""


def _list(pins):
    return ", ".join(str(pin) for pin in sorted(pins))


def _chip_limits(data, chip, where):
    faults = []
    if data.get("wdt_max_ms", 0) > chip.wdt_max_ms:
        faults.append(
            fault_line(
                where,
                "wdt_max_ms",
                data["wdt_max_ms"],
                f"more than an {data['mcu']} can do",
                f"give {chip.wdt_max_ms} ms or less",
            )
        )
    if "micropython" in data and not known_build(data["mcu"], data["micropython"]):
        faults.append(
            fault_line(
                where,
                "micropython",
                data["micropython"],
                f"a build for another chip than {data['mcu']}",
                f'give e.g. "{chip.builds[0]}"',
            )
        )
    pins = data["pins"]
    if chip.fixed_i2c and pins.get("i2c_sda", -1) >= 0 and pins.get("i2c_scl", -1) >= 0 and "i2c_id" in pins:
        # RP2040 data sheet, function select table: GPIO 4n, 4n+1 are I2C0's data and clock, 4n+2, 4n+3 I2C1's.
        for key, place in (("i2c_sda", 0), ("i2c_scl", 1)):
            if pins[key] % 4 != 2 * pins["i2c_id"] + place:
                faults.append(
                    fault_line(
                        f"{where} [pins]",
                        key,
                        pins[key],
                        f"not a pin of I2C {pins['i2c_id']} on this chip",
                        f"use a GPIO that leaves {2 * pins['i2c_id'] + place} when divided by 4",
                    )
                )
    return faults


def _channels(pins, wdt_max_ms, where):
    """Return faults of the channels' lists: probes against pumps and the analogue switch."""
    where = f"{where} [pins]"
    faults = []
    probes, select = pins.get("probes"), pins.get("probe_select", [])
    if probes is not None and "pumps" in pins and len(probes) > len(pins["pumps"]):
        faults.append(
            fault_line(
                where,
                "probes",
                probes,
                f"more probes ({len(probes)}) than pumps ({len(pins['pumps'])})",
                "a channel is a probe and a pump: remove probes or add pumps",
            )
        )
    if pins.get("probe_kind") == "pulses" and "probe_window_ms" in pins and wdt_max_ms:
        read_ms = BURST * pins["probe_window_ms"] * len(probes or ())
        if read_ms > wdt_max_ms // 3:
            faults.append(
                fault_line(
                    where,
                    "probe_window_ms",
                    pins["probe_window_ms"],
                    f"reading all probes takes {read_ms} ms, too much of the watchdog's {wdt_max_ms} ms",
                    f"give {wdt_max_ms // (3 * BURST * len(probes))} ms or less",
                )
            )
    if not select:
        if pins.get("probe_adc", -1) >= 0:
            faults.append(
                fault_line(
                    where,
                    "probe_adc",
                    pins["probe_adc"],
                    "given without probe_select",
                    "add the analogue switch's address lines as probe_select, or remove it",
                )
            )
        return faults
    if pins.get("probe_adc", -1) < 0:
        faults.append(
            fault_line(
                where,
                "probe_select",
                select,
                "given without probe_adc",
                "add probe_adc, the input behind the analogue switch",
            )
        )
    if pins.get("probe_kind") == "pulses":
        faults.append(
            fault_line(
                where,
                "probe_select",
                select,
                "an analogue switch with pulse probes",
                'give each probe a pin of its own, or probe_kind = "analogue"',
            )
        )
    for place, channel in enumerate(probes or ()):
        if channel >= 1 << len(select):
            faults.append(
                fault_line(
                    where,
                    f"probes[{place}]",
                    channel,
                    f"no such input with {len(select)} address lines",
                    f"give 0 to {(1 << len(select)) - 1}",
                )
            )
        elif channel in probes[:place]:
            faults.append(
                fault_line(where, f"probes[{place}]", channel, "the same input twice", "give each probe its own")
            )
    return faults


def _sleep(data, where):
    """Return faults of sleep, watchdog and latch against each other."""
    faults = []
    pins = data["pins"]
    hold = pins.get("latch_hold", -1)
    latch, keeps = data.get("latch"), data.get("keeps_ram")
    if latch and keeps:
        faults.append(
            fault_line(
                where, "keeps_ram", keeps, "contradicts latch = true: a latch cuts the power", "set keeps_ram = false"
            )
        )
    if latch and hold < 0:
        faults.append(
            fault_line(
                f"{where} [pins]",
                "latch_hold",
                hold,
                "needed when latch = true",
                "add the pin that holds the power switch on",
            )
        )
    if latch is False and hold >= 0:
        faults.append(
            fault_line(
                f"{where} [pins]", "latch_hold", hold, "given but latch = false", "set latch = true or remove it"
            )
        )
    if latch and data.get("sleep_max_ms", 0) > COUNTDOWN_MAX_MS:
        faults.append(
            fault_line(
                where,
                "sleep_max_ms",
                data["sleep_max_ms"],
                "longer than the external clock's countdown",
                f"give {COUNTDOWN_MAX_MS} ms or less",
            )
        )
    if keeps is False and latch is False and CHIPS.get(data.get("mcu")) and CHIPS[data["mcu"]].wake is None:
        faults.append(
            fault_line(
                where,
                "keeps_ram",
                keeps,
                f"an {data['mcu']} without a latch has no sleep that loses its memory",
                "set keeps_ram = true",
            )
        )
    if keeps and data.get("sleep_max_ms", 0) >= data.get("wdt_max_ms", 1 << 30):
        faults.append(
            fault_line(
                where,
                "sleep_max_ms",
                data["sleep_max_ms"],
                f"not below wdt_max_ms = {data['wdt_max_ms']}: the watchdog would bite in its sleep",
                f"give {data['wdt_max_ms'] * 3 // 4} ms or less",
            )
        )
    return faults


def _sensors(data, where):
    """Return faults of sensors that lack their wires or settings."""
    faults = []
    pins, sensors = data["pins"], data["sensors"]
    bus = pins.get("i2c_sda", -1) >= 0 and pins.get("i2c_scl", -1) >= 0
    if not bus:
        users = [
            f'sensors.{key} = "{sensors[key]}"'
            for key in ("climate", "light")
            if sensors.get(key) in ("bme280", "sht4x", "htu21d", "bh1750")
        ]
        users += ["latch = true"] if data.get("latch") else []
        for user in users:
            faults.append(f"{where}: {user}: needs the I2C bus; add pins.i2c_sda and pins.i2c_scl")
    if sensors.get("light") == "photodiode":
        if pins.get("light_adc", -1) < 0:
            faults.append(f'{where} [sensors]: light = "photodiode": needs a pin; add pins.light_adc')
        if not sensors.get("photodiode_lx_per_v", 1):
            faults.append(
                fault_line(
                    f"{where} [sensors]",
                    "photodiode_lx_per_v",
                    0,
                    'needed with light = "photodiode"',
                    "give its lux per volt",
                )
            )
    if bool(sensors.get("photodiode_knee_mv")) != bool(sensors.get("photodiode_upper_lx_per_v")):
        faults.append(
            fault_line(
                f"{where} [sensors]",
                "photodiode_knee_mv",
                sensors.get("photodiode_knee_mv", 0),
                "knee and upper slope go together",
                "give both, or neither for one slope",
            )
        )
    if sensors.get("climate") != "none" and sensors.get("light") == "bh1750":
        if sensors.get("climate_address") == sensors.get("light_address", -1):
            faults.append(
                fault_line(
                    f"{where} [sensors]",
                    "light_address",
                    sensors["light_address"],
                    "the same address as climate_address",
                    "give each sensor its own",
                )
            )
    return faults


def _extras(data, where):
    """Return faults of extras that lack wires, or have some too many."""
    extras = data.get("extras", {})
    here = f"{where} [extras]"
    faults = []
    wires = extras.get("tray_probe", [])
    if wires and len(wires) != 3:
        faults.append(
            fault_line(
                here, "tray_probe", wires, f"{len(wires)} pins", "give three: a drive at each end, and a voltage in"
            )
        )
    kind, wires = extras.get("tub_kind", "none"), extras.get("tub_pins", [])
    if bool(wires) != (kind != "none"):
        faults.append(
            fault_line(here, "tub_pins", wires, f'does not go with tub_kind = "{kind}"', "give both, or neither")
        )
    if kind == "strip" and len(wires) > 1:
        faults.append(fault_line(here, "tub_pins", wires, "more than a strip needs", "give one pin"))
    return faults


def _flash(flash, where):
    """Return faults of the file system's geometry, which littlefs would refuse."""
    where = f"{where} [flash]"
    faults = []
    for small, large in (("read_bytes", "prog_bytes"), ("prog_bytes", "block_bytes")):
        if small in flash and large in flash and flash[large] % flash[small]:
            faults.append(
                fault_line(
                    where,
                    large,
                    flash[large],
                    f"not a multiple of {small} = {flash[small]}",
                    "give the flash chip's own sizes",
                )
            )
    if flash.get("lookahead_bytes", 8) % 8:
        faults.append(fault_line(where, "lookahead_bytes", flash["lookahead_bytes"], "not a multiple of 8", "give 32"))
    return faults
