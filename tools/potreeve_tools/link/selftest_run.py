"""What a board proves of itself: its logic byte for byte, and every device it was given."""

import time
from typing import NamedTuple

from potreeve.logic import errors, reasons, record, wet
from potreeve.logic.moisture import RAIL_HIGH_RAW, RAIL_LOW_RAW

from potreeve_tools.image import compiled
from potreeve_tools.link import calibrate_bench, faults, logs_export, selftest_tub, selftest_vectors
from potreeve_tools.link.device import program
from potreeve_tools.terminal import exits
from potreeve_tools.words import sentences as words

OLDEST = (1, 26)
LEAST_HEAP_BYTES = 24_000
LEAST_FLASH_BYTES = 40_960
CLOCK_OFF_S = 120
WATER_MS = 500
# The clock chip of boards that cut their own power (its data sheet's only address).
RTC_ADDRESS = 0x51

GOOD, NOTE, BAD = "good", "note", "bad"


class Result(NamedTuple):
    """One thing that was looked at: its name, GOOD, NOTE or BAD, what was seen, what to do (empty where nothing is)."""

    name: str
    verdict: str
    seen: str
    do: str = ""


def run(link, facts, water, on_result, progress=None):
    """List of Result; each is also given to on_result as soon as it is known. progress(done, of all) of the vectors."""
    results = []

    def add(name, verdict, seen, do=""):
        results.append(Result(name, verdict, seen, do))
        on_result(results[-1])

    _itself(link, add)
    _logic(link, add, progress)
    if not link.info.get("serving"):
        add(
            "devices",
            BAD,
            "the board does not go into service mode, so its devices were not tried",
            "run potreeve flash",
        )
        return results
    _devices(link, facts, add)
    _probes(link, facts, add)
    if water:
        _water(link, facts, add)
    return results


def _itself(link, add):
    info = link.info
    version = ".".join(map(str, info["version"]))
    old = tuple(info["version"][:2]) < OLDEST
    add(
        "MicroPython",
        BAD if old else GOOD,
        f"{version} on {info['machine']}",
        "put 1.26 or newer on the board" if old else "",
    )
    heap = info["free_heap"]
    add(
        "heap",
        BAD if heap < LEAST_HEAP_BYTES else GOOD,
        f"{heap} bytes free",
        "restart the board and try again" if heap < LEAST_HEAP_BYTES else "",
    )
    free, size = info["free_bytes"], info["flash_bytes"]
    add(
        "flash",
        BAD if free < LEAST_FLASH_BYTES else GOOD,
        f"{free // 1024} of {size // 1024} KiB free",
        "remove files that are not Potreeve's" if free < LEAST_FLASH_BYTES else "",
    )


OPTIONAL = sorted(name[:-3].rpartition("/")[2] for name in (*compiled.DRIVERS, *compiled.RADIO) if "/logic/" in name)
"""Modules of logic that only boards with that sensor, or with a radio, are sent."""

ABSENT = """
answer=[]
for n in names:
 try: __import__('potreeve.logic.'+n)
 except ImportError: answer.append(n)
"""


def _logic(link, add, progress):
    """Every vector, in pieces, against this desktop's logic."""
    began = time.monotonic()
    wrong, count = [], 0
    try:
        for module, expected, got in _answers(link, progress):
            count += len(expected)
            wrong += [(module, want, have) for want, have in zip(expected, got, strict=True) if want != have]
    except faults.DeviceFault as fault:
        # The board's files differ from this tool's, or its memory is short.
        add("logic", BAD, f"after {count} vectors: {fault.lines[0]}", "run potreeve flash, then try again")
        return
    if wrong:
        module, want, have = wrong[0]
        where = ", ".join(dict.fromkeys(one for one, _, _ in wrong))
        add(
            "logic",
            BAD,
            f"{len(wrong)} of {count} vectors differ (in {where}), the first in {module}: {have[:60]} instead of "
            f"{want[:60]}",
            "run potreeve flash; if it stays, the chip or its memory is faulty",
        )
        return
    add("logic", GOOD, f"{count} vectors, the same byte for byte ({time.monotonic() - began:.0f} s)")


def _answers(link, progress):
    """Yield (module, answers here, answers there) piece by piece."""
    shipped = selftest_vectors.load()
    desktop = selftest_vectors.Desktop()
    spare = set(link.run(ABSENT, "looking which sensors' sums it has", names=OPTIONAL))
    modules = [module for module in shipped if module != "made" and module not in spare]
    total = sum(len(shipped[module]["vectors"]) for module in modules)
    done = 0
    made = selftest_vectors.prelude(shipped, "made")
    desktop.made(made)
    link.run(selftest_vectors.RUNNER, "getting ready for its logic's test")
    link.run("MADE={}\nexec(s,MADE)", "getting ready for its logic's test", s=made)
    for module in modules:
        source = selftest_vectors.prelude(shipped, module)
        desktop.begin(source)
        # What was left of the module before goes first: the next helpers need room in one piece as they come in.
        link.run("import gc\n_n=None\ngc.collect()", f"testing its logic ({module})")
        link.run("_n={'MADE':MADE}\nexec(s,_n)\ns=None\ngc.collect()", f"testing its logic ({module})", s=source)
        for piece in selftest_vectors.pieces(shipped[module]["vectors"]):
            here = desktop.answer(module, piece)
            there = link.run(
                "gc.collect()\nanswer=list(answers(m,_n,eval(s,_n)))\ns=None",
                f"testing its logic ({module})",
                timeout_s=120.0,
                m=module,
                s=piece,
            )
            if len(there) != len(here):
                there = (there + [""] * len(here))[: len(here)]
            yield module, here, there
            done += len(here)
            if progress:
                progress(min(done, total), total)
    link.run("_n=MADE=None\ngc.collect()", "clearing up")


def _devices(link, facts, add):
    told = link.run(program("devices") + "answer=_devices()", "trying its devices", timeout_s=20.0)
    on = told["pumps_on"] or told["master_on"]
    add(
        "pins",
        BAD if on else GOOD,
        f"pump pins that are on: {told['pumps_on'] or 'the master switch'}" if on else "all pumps are off",
        "unplug the pumps' supply now; then look at the driver" if on else "",
    )
    add(
        "button",
        NOTE if told["button"] == 1 else GOOD,
        "pressed, or shorted" if told["button"] == 1 else "not pressed",
        "let go of it and try again" if told["button"] == 1 else "",
    )
    whole = told["whole"]
    add(
        "files",
        GOOD if whole is True else BAD,
        "as installed" if whole is True else "an installed file differs from its manifest",
        "" if whole is True else "run potreeve flash",
    )
    _i2c(told["i2c"], facts.board, add)
    _battery(told["battery_mv"], facts.board, add)
    _sensors(told, facts.board, add)
    _soil(told.get("soil_cdeg"), add)
    _tray(told, facts.settings, add)
    selftest_tub.check(told, facts, add)
    _clock(told, link.clock_off_s, add)


def _soil(cdeg, add):
    """The soil's thermometer, where one is wired."""
    if cdeg is None:
        return
    if isinstance(cdeg, (list, tuple)) or cdeg == record.NO_TEMP:
        seen = "no sound reading" if cdeg == record.NO_TEMP else f"can't be read: {cdeg[1]}"
        add("soil's thermometer", BAD, seen, words.ERRORS[errors.SOIL_SENSOR][1])
    else:
        add("soil's thermometer", GOOD, f"{cdeg / 100:.2f} °C")


def _tray(told, settings, add):
    """The tray's sensor, where one is wired."""
    mv = told.get("tray_mv")
    if mv is None:
        return
    if mv[0] == "!":
        add("tray's sensor", BAD, f"can't be read: {mv[1]}", words.ERRORS[errors.TRAY_SENSOR][1])
        return
    said = wet.classify(*mv, settings or {})
    seen = f"{logs_export.TRAY_SENSOR[said]}: {mv[0]} mV driven forth, {mv[1]} mV back"
    if said == record.TRAY_DRY:
        add("tray's sensor", GOOD, seen)
    elif said == record.TRAY_WET:
        add("tray's sensor", NOTE, seen, "empty the tray and wipe the sensor")
    else:
        add("tray's sensor", BAD, seen, words.ERRORS[errors.TRAY_SENSOR][1])


def _i2c(found, board, add):
    sensors = board["sensors"]
    wanted = {}
    if sensors["climate"] != "none":
        wanted[sensors["climate_address"]] = f"climate sensor ({sensors['climate']})"
    if sensors["light"] == "bh1750":
        wanted[sensors["light_address"]] = "light sensor (bh1750)"
    if compiled.has_extra(board, "display"):
        wanted[board["extras"]["display_address"]] = f"display ({board['extras']['display']})"
    if board["latch"]:
        wanted[RTC_ADDRESS] = "clock chip"
    if found is None or (found and found[0] == "!"):
        add(
            "I2C",
            BAD if wanted else NOTE,
            "no bus" if found is None else f"the bus does not work: {found[1]}",
            "check its two wires" if wanted else "",
        )
        return
    seen = ", ".join(f"0x{address:02x}" for address in found) or "nothing answers"
    missing = [f"{what} at 0x{address:02x}" for address, what in wanted.items() if address not in found]
    add(
        "I2C",
        BAD if missing else GOOD,
        f"{seen}; missing: {', '.join(missing)}" if missing else seen,
        "check the sensor's wires and address" if missing else "",
    )


def _battery(mv, board, add):
    if board["pins"]["battery_adc"] < 0:
        add(
            "battery",
            NOTE,
            "no pin is wired for it, so no pump is ever run",
            "wire the divider, and name its pin in the board file",
        )
    elif isinstance(mv, list) or not 1500 <= mv <= 16000:
        add(
            "battery",
            BAD,
            f"reads {mv if isinstance(mv, int) else mv[1]} mV",
            "check the battery, its divider and battery_divider_pm",
        )
    else:
        add("battery", GOOD, f"{mv / 1000:.2f} V")


def _sensors(told, board, add):
    climate, lx = told["climate"], told["lx"]
    if board["sensors"]["climate"] != "none":
        if climate is None or climate[0] == "!":
            add("climate", BAD, "no reading", words.ERRORS[errors.CLIMATE][1])
        else:
            add("climate", GOOD, f"{climate[0] / 100:.1f} °C, {climate[1] / 10:.0f} % humidity")
    if board["sensors"]["light"] != "none":
        if isinstance(lx, list) or lx < 0:
            add("light", BAD, "no reading", words.ERRORS[errors.LIGHT][1])
        else:
            add("light", GOOD, f"{lx} lx")


def _clock(told, was_off_s, add):
    """was_off_s: before the desk set it; see link.port."""
    slept, utc_s = told["slept_ms"], told["utc_s"]
    if not 200 <= slept <= 400:
        add("counter", BAD, f"200 ms of sleep were {slept} ms by its counter", "restart the board and try again")
    else:
        add("counter", GOOD, f"200 ms of sleep were {slept} ms")
    if isinstance(utc_s, list):
        add("clock", BAD, "it does not answer", words.ERRORS[errors.CLOCK][1])
    elif not utc_s:
        add("clock", NOTE, "not set: records have no wall time; no decision needs one")
    else:
        off = utc_s - int(time.time()) if was_off_s is None else was_off_s
        seen = "right" if abs(off) <= CLOCK_OFF_S else f"{abs(off)} s {'fast' if off > 0 else 'slow'}"
        if was_off_s is None:
            seen += "; it had no time before this computer gave it one"
        elif abs(off) > CLOCK_OFF_S:
            seen += " before this computer set it"
        add("clock", NOTE if abs(off) > CLOCK_OFF_S else GOOD, seen)


def _probes(link, facts, add):
    names = [table["name"] for table in facts.settings["channels"]] if facts.settings else []
    channels = range(len(facts.board["pins"]["probes"]))
    bursts = calibrate_bench.Bench(link).bursts(channels, 3, 50)
    for channel in channels:
        name = f"probe {names[channel] if channel < len(names) else channel}"
        raw, spread = sorted(bursts[channel])[1]
        if raw >= RAIL_HIGH_RAW or raw <= RAIL_LOW_RAW:
            add(
                name,
                BAD if channel < len(names) or not names else NOTE,
                f"{raw} counts: at a rail",
                "check plug and cable of the probe",
            )
        else:
            add(name, GOOD, f"{raw} counts, scatter {spread}")


def _water(link, facts, add):
    if facts.settings is None:
        add("pumps", BAD, "there are no settings, so no cap is known and no pump is run", "push settings first")
        return
    bench = calibrate_bench.Bench(link)
    for channel, table in enumerate(facts.settings["channels"]):
        told = bench.pulse(channel, WATER_MS)
        name = f"pump {table['name']}"
        if told["reason"] != reasons.NONE or not told["ms"]:
            what, do = words.refused(told)
            add(name, NOTE, f"not run: {what}", do)
            continue
        sag = f", battery down to {told['sag_mv'] / 1000:.2f} V" if told["sag_mv"] else ""
        late = told["ms"] > WATER_MS + 200
        add(
            name,
            BAD if late else GOOD,
            f"on for {told['ms']} ms{sag}; look whether water came",
            "it ran too long: unplug it and look at the driver" if late else "",
        )


def verdict(results):
    """The exit code that the results ask for."""
    return exits.FAILED if any(result.verdict == BAD for result in results) else exits.OK
