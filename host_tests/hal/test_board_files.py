"""Board files: those that come with Potreeve are sound, and bad ones are told what is wrong, line by line."""

import copy
import json

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.terminal.faultlist import BadInput, read_toml

MISSING = object()
ENERGY = ("active_ua", "sleep_ua", "boot_ms", "boot_ua", "pump_ua", "probe_ua", "report_uah")


def changed(base, changes):
    """The raw mapping of a board with {"table.key": value} put in (MISSING takes it out)."""
    raw = copy.deepcopy(read_toml(boards.BOARDS_DIR / f"{base}.toml"))
    for path, value in changes.items():
        *tables, key = path.split(".")
        table = raw
        for name in tables:
            table = table[name]
        if value is MISSING:
            del table[key]
        else:
            table[key] = value
    return raw


# name, board it starts from, what is changed, words the fault must have
BAD = [
    # missing
    ("name missing", "rp2040_wifi", {"name": MISSING}, "name (missing)"),
    ("mcu missing", "rp2040_wifi", {"mcu": MISSING}, 'mcu (missing): needed; add it: "rp2040" | "rp2350" | "esp32"'),
    ("pins missing", "rp2040_wifi", {"pins": MISSING}, "[pins] (missing)"),
    ("flash missing", "rp2040_wifi", {"flash": MISSING}, "[flash] (missing)"),
    ("pumps missing", "rp2040_wifi", {"pins.pumps": MISSING}, "[pins]: pumps (missing)"),
    ("blocks missing", "esp32", {"flash.blocks": MISSING}, "[flash]: blocks (missing)"),
    ("energy missing", "esp32", {"energy": MISSING}, "[energy] (missing)"),
    ("figure missing", "esp32", {"energy.sleep_ua": MISSING}, "[energy.sleep_ua] (missing)"),
    ("source missing", "esp32", {"energy.sleep_ua.source": MISSING}, "[energy.sleep_ua]: source (missing)"),
    ("mark missing", "latched", {"energy.pump_ua.mark": MISSING}, "[energy.pump_ua]: mark (missing)"),
    # wrong type
    ("wdt as text", "rp2040_wifi", {"wdt_max_ms": "8388"}, 'wdt_max_ms = "8388": wrong type; give a whole number'),
    ("latch as number", "rp2040_wifi", {"latch": 0}, "latch = 0: wrong type; give true or false"),
    ("pump as text", "rp2040_wifi", {"pins.pumps": [10, "11"]}, 'pumps[1] = "11": wrong type'),
    ("pins as list", "rp2040_wifi", {"pins": [1, 2]}, "[pins] = [1, 2]: not a table"),
    ("figure as number", "esp32", {"energy.active_ua": 100}, "[energy.active_ua] = 100: not a table"),
    ("half a microamp", "esp32", {"energy.sleep_ua.value": 0.5}, "value = 0.5: wrong type"),
    # out of range
    (
        "divider of nothing",
        "esp32",
        {"adc.battery_divider_pm": 0},
        "battery_divider_pm = 0: too small; give 50 to 1000",
    ),
    ("huge heap", "esp32", {"heap.bytes": 10**9}, "bytes = 1000000000: too large"),
    ("negative current", "esp32", {"energy.pump_ua.value": -5}, "value = -5: too small"),
    ("mark of our own", "esp32", {"energy.pump_ua.mark": "Q"}, '"V" | "T" | "D" | "M"'),
    ("nine pumps", "esp32", {"pins.pumps": list(range(12, 21))}, "has 9 items"),
    ("no pumps", "esp32", {"pins.pumps": [], "pins.probes": []}, "pumps = []: has 0 items"),
    ("MTreg too small", "rp2040_wifi", {"sensors.light_mtreg": 12}, "light_mtreg = 12: too small; give 31 to 254"),
    ("window too long", "rp2040_wifi", {"pins.probe_window_ms": 1000}, "probe_window_ms = 1000: too large"),
    # unknown
    ("misspelt key", "rp2040_wifi", {"pins.buton": 3}, 'buton = 3: unknown key (did you mean "button"?)'),
    ("misspelt table", "rp2040_wifi", {"sensor": {}}, 'sensor = {}: unknown key (did you mean "sensors"?)'),
    ("misspelt figure", "esp32", {"energy.sleep_uaa": {}}, 'unknown key (did you mean "sleep_ua"?)'),
    (
        "unknown chip",
        "rp2040_wifi",
        {"mcu": "rp2041"},
        'mcu = "rp2041": not one of the choices (did you mean "rp2040"?)',
    ),
    ("unknown sensor", "rp2040_wifi", {"sensors.climate": "bme820"}, '(did you mean "bme280"?)'),
    # pins
    ("same pin twice", "rp2040_wifi", {"pins.button": 6}, "pumps[0] = 6: the same pin as button"),
    ("two pumps on a pin", "esp32", {"pins.pumps": [18, 18, 23]}, "pumps[1] = 18: the same pin as pumps[0]"),
    ("radio's pin", "rp2040_wifi", {"pins.battery_adc": 29}, "battery_adc = 29: belongs to the VSYS divider"),
    ("no such pin", "rp2350_wifi", {"pins.led_ok": 40}, "led_ok = 40: no such pin on a usual rp2350 board"),
    (
        "no voltage there",
        "rp2040_wifi",
        {"pins.battery_adc": 15},
        "battery_adc = 15: can't read a voltage; use one of 26, 27, 28",
    ),
    ("ADC beside Wi-Fi", "esp32", {"pins.probes": [14, 35, 36]}, "probes[0] = 14: can't read a voltage beside Wi-Fi"),
    (
        "pump on an input",
        "esp32",
        {"pins.pumps": [33, 34, 23], "pins.probes": [35, 36]},
        "pumps[1] = 34: is an input only",
    ),
    ("pump on a boot pin", "esp32", {"pins.pumps": [12, 19, 23]}, "pumps[0] = 12: sets the boot mode"),
    ("master switch on a boot pin", "esp32", {"pins.pump_enable": 15}, "pump_enable = 15: sets the boot mode"),
    ("pump on the flash", "esp32", {"pins.pumps": [6, 19, 23]}, "pumps[0] = 6: belongs to the flash chip"),
    ("button that can't wake", "esp32", {"pins.button": 17}, "button = 17: can't end a deep sleep"),
    (
        "button without pull-up",
        "esp32",
        {"pins.button": 39, "pins.battery_adc": 33},
        "button = 39: has no pull-up inside",
    ),
    ("data on a clock pin", "rp2040_wifi", {"pins.i2c_sda": 3}, "i2c_sda = 3: not a pin of I2C 0"),
    ("the other bus", "rp2040_wifi", {"pins.i2c_id": 1}, "i2c_scl = 13: not a pin of I2C 1"),
    # channels
    ("more probes than pumps", "rp2040_wifi", {"pins.probes": [0, 1, 2, 3]}, "more probes (4) than pumps (3)"),
    ("switch without input", "rp2040_wifi", {"pins.probe_adc": MISSING}, "given without probe_adc"),
    ("input without switch", "esp32", {"pins.probe_adc": 33}, "probe_adc = 33: given without probe_select"),
    ("no such input", "rp2040_wifi", {"pins.probes": [0, 1, 9]}, "probes[2] = 9: no such input with 3 address lines"),
    ("an input twice", "rp2040_wifi", {"pins.probes": [0, 1, 1]}, "probes[2] = 1: the same input twice"),
    ("pulses through a switch", "rp2040_wifi", {"pins.probe_kind": "pulses"}, "an analogue switch with pulse probes"),
    (
        "probes slower than the watchdog",
        "rp2040_wifi",
        {
            "pins.probe_kind": "pulses",
            "pins.probes": [0, 1, 2],
            "pins.probe_select": [],
            "pins.probe_adc": -1,
            "pins.probe_window_ms": 200,
        },
        "reading all probes takes 5400 ms",
    ),
    # sleep, watchdog, latch
    (
        "watchdog too long",
        "rp2040_wifi",
        {"wdt_max_ms": 9000},
        "wdt_max_ms = 9000: more than an rp2040 can do; give 8388 ms",
    ),
    ("watchdog too long", "rp2350_wifi", {"wdt_max_ms": 16778}, "more than an rp2350 can do; give 16777 ms"),
    ("sleep beyond watchdog", "rp2040_wifi", {"sleep_max_ms": 8388}, "not below wdt_max_ms = 8388"),
    ("latch without hold", "latched", {"pins.latch_hold": MISSING}, "latch_hold = -1: needed when latch = true"),
    ("hold without latch", "rp2040_wifi", {"pins.latch_hold": 15}, "latch_hold = 15: given but latch = false"),
    ("latch that keeps RAM", "latched", {"keeps_ram": True}, "contradicts latch = true"),
    ("latch without bus", "latched", {"pins.i2c_sda": -1}, "latch = true: needs the I2C bus"),
    ("countdown too long", "latched", {"sleep_max_ms": 86400000}, "longer than the external clock's countdown"),
    ("no deep sleep", "rp2040_wifi", {"keeps_ram": False}, "has no sleep that loses its memory"),
    # sensors, build, flash, energy
    ("sensor without bus", "esp32", {"pins.i2c_scl": MISSING}, 'sensors.climate = "bme280": needs the I2C bus'),
    ("photodiode without pin", "esp32", {"sensors.light": "photodiode"}, "add pins.light_adc"),
    (
        "photodiode without slope",
        "esp32",
        {"sensors.light": "photodiode", "pins.light_adc": 33},
        "photodiode_lx_per_v = 0",
    ),
    ("half a knee", "esp32", {"sensors.photodiode_knee_mv": 900}, "knee and upper slope go together"),
    ("one address for two", "esp32", {"sensors.light_address": 0x76}, "the same address as climate_address"),
    ("build of another chip", "rp2040_wifi", {"micropython": "RPI_PICO2_W"}, "a build for another chip than rp2040"),
    ("odd flash", "rp2040_wifi", {"flash.prog_bytes": 250}, "prog_bytes = 250: not a multiple of read_bytes = 32"),
    ("odd block", "rp2040_wifi", {"flash.block_bytes": 4097}, "block_bytes = 4097: not a multiple of prog_bytes"),
    ("odd lookahead", "rp2040_wifi", {"flash.lookahead_bytes": 20}, "not a multiple of 8"),
    ("asleep thirstier than awake", "esp32", {"energy.sleep_ua.value": 70000}, "more than the awake current"),
    # a display
    ("another controller", "esp32_full", {"extras.display": "sh1106"}, 'display = "sh1106": not one of'),
    ("address as printed", "esp32_full", {"extras.display_address": 0x78}, "give half of it, 0x3c"),
    ("nobody there", "esp32_full", {"extras.display_address": 0x40}, "no ssd1306 answers there; give 0x3c or 0x3d"),
    ("two at one address", "esp32_full", {"sensors.light_address": 0x3C}, "the same address as sensors.light_address"),
    ("no button", "esp32_full", {"pins.button": -1}, "only a press of the button lights it; add pins.button"),
    ("no bus", "esp32_full", {"pins.i2c_sda": -1}, "display: needs the I2C bus"),
    ("no figure", "esp32_full", {"energy.display_ua": MISSING}, "[energy.display_ua] (missing): needed with a display"),
    ("figure alone", "esp32_full", {"extras.display": "none"}, "[energy.display_ua]: given, but no display is wired"),
]


@pytest.mark.parametrize("name, base, changes, words", BAD, ids=[f"{row[1]}: {row[0]}" for row in BAD])
def test_a_bad_board_file_is_told_what_is_wrong(name, base, changes, words):
    with pytest.raises(BadInput) as caught:
        boards.parse(changed(base, changes), "my_board.toml")
    faults = caught.value.faults
    assert any(words in fault for fault in faults), faults
    for fault in faults:
        assert fault.startswith("my_board.toml") and "\n" not in fault and "; " in fault


def test_one_slip_is_one_line():
    """Faults must not echo: these slips stand alone."""
    for changes in (
        {"wdt_max_ms": 9000},
        {"pins.buton": 3},
        {"energy.sleep_ua.source": MISSING},
        {"pins.battery_adc": 29},
    ):
        with pytest.raises(BadInput) as caught:
            boards.parse(changed("rp2040_wifi", changes), "my_board.toml")
        assert len(caught.value.faults) == 1, caught.value.faults


def test_all_faults_are_collected():
    changes = {"wdt_max_ms": 9000, "pins.buton": 3, "energy.sleep_ua.mark": "X", "flash.blocks": "212"}
    with pytest.raises(BadInput) as caught:
        boards.parse(changed("rp2040_wifi", changes), "my_board.toml")
    assert len(caught.value.faults) == 4


def test_an_unknown_name_gets_a_hint():
    with pytest.raises(BadInput, match=r'did you mean "rp2040_wifi"'):
        boards.load("rp2040wifi")
    with pytest.raises(BadInput, match="can't be read"):
        boards.load("nowhere/board.toml")


@pytest.mark.parametrize("name", boards.names())
def test_boards_that_come_with_potreeve(name):
    board = boards.load(name)
    assert board.name == name and board.path.name == f"{name}.toml"
    shown = {"display_ua"} if board.data.get("extras", {}).get("display", "none") != "none" else set()
    assert set(board.energy) == set(ENERGY) | shown
    device = board.device_dict()
    assert device["energy"]["active_ua"] == board.energy["active_ua"].value
    assert json.loads(board.device_json()) == device and board.device_json() == boards.load(name).device_json()
    assert len(device["pins"]["pumps"]) == len(device["pins"]["probes"]) == (4 if name.endswith("_four") else 3)
    assert board.flash["block_bytes"] == 4096 and board.heap_bytes == device["heap"]["bytes"]


def _numbers(value):
    if isinstance(value, dict):
        for item in value.values():
            yield from _numbers(item)
    elif isinstance(value, list):
        for item in value:
            yield from _numbers(item)
    else:
        yield value


@pytest.mark.parametrize("name", boards.names())
def test_the_device_gets_no_fractions_and_small_integers(name):
    for value in _numbers(boards.load(name).device_dict()):
        assert isinstance(value, str | int)
        assert isinstance(value, str) or -(2**30) <= value < 2**30


def test_the_boards_are_there():
    plain = ["esp32", "latched", "rp2040_wifi", "rp2040_wifi_four", "rp2350_wifi"]
    assert boards.names() == sorted([*plain, "esp32_full", "rp2040_full"])
    assert [name for name in boards.names() if "extras" not in boards.load(name).data] == plain


def test_a_later_board_changes_no_lot():
    """Rigs that seeds of the searches draw are named in the guides and kept as mishaps."""
    assert boards.DRAWN == ("esp32", "latched", "rp2040_wifi", "rp2350_wifi")
    assert set(boards.DRAWN) <= set(boards.names())


def test_the_board_for_four_is_the_one_for_three_and_a_fourth_channel():
    three, four = (boards.load(name).device_dict() for name in ("rp2040_wifi", "rp2040_wifi_four"))
    other = {key for key in three["pins"] if three["pins"][key] != four["pins"][key]}
    assert other == {"probes", "pumps"}
    assert four["energy"].pop("probe_ua") * 3 == three["energy"].pop("probe_ua") * 4
    assert {**four, "name": 0, "pins": 0} == {**three, "name": 0, "pins": 0}


@pytest.mark.parametrize("name", boards.names())
def test_every_wire_is_in_the_table_and_the_cautions_are_there(name):
    text = (boards.BOARDS_DIR / f"{name}.toml").read_text()
    comments = " ".join(line[1:] for line in text.splitlines() if line.startswith("#"))
    for words in (
        "Extra-low voltage",
        "drip loop",
        "0 and 45 degrees C",
        "protected cells",
        "Local codes",
        "LiFePO4 is not lithium-ion",
        "USB charger",
        "above the rim",
    ):
        assert words in " ".join(comments.split()), words
    pins = boards.load(name).data["pins"]
    table = comments.split("Wiring (GPIO")[1].split("Why these pins")[0]
    listed = set()
    for token in table.replace(",", " ").split():
        first, _, last = token.partition("-")
        if first.isdigit() and (not last or last.isdigit()):
            listed |= set(range(int(first), int(last or first) + 1))
    wires = [
        pin
        for key, pin in pins.items()
        if key not in ("i2c_id", "probe_settle_ms", "probe_window_ms") and isinstance(pin, int) and pin >= 0
    ]
    assert set(wires + pins["pumps"] + pins["probe_select"]) <= listed
