"""Opening the rig: pumps off first, bad board files, old interpreters; and standing by when a boot fails."""

import devices
from casekit import ENABLE, PUMPS, opened, raises
from ends import Restart


def case_pumps_are_off_before_anything_else(ctx):
    ctx.open(ctx.board("rp2040_wifi"))
    kinds = [event[:3] for event in ctx.bench.events]
    wanted = []
    for pin in (ENABLE,) + PUMPS:
        wanted += [("mode", pin, 1), ("pin", pin, 0)]
    assert kinds[: len(wanted)] == wanted, kinds


def case_a_latched_board_holds_its_power_first(ctx):
    ctx.bench.devices[0x51] = devices.Pcf85063()
    ctx.open(ctx.board("latched"))
    assert [event[:3] for event in ctx.bench.events[:2]] == [("mode", 15, 1), ("pin", 15, 1)]
    assert ctx.bench.writes()[1:5] == [(10, 0), (6, 0), (7, 0), (8, 0)]


def case_every_board_opens(ctx):
    for name in ("rp2040_wifi", "rp2040_wifi_four", "rp2350_wifi", "esp32", "latched"):
        ctx.bench.clear()
        rig = ctx.open(ctx.board(name))
        pumps = ctx.board(name)["pins"]["pumps"]
        assert rig.pumps.count == len(pumps) and rig.board["name"] == name
        assert not [level for pin, level in ctx.bench.writes(*pumps) if level]


def _refused(ctx, text):
    """Open a rig from that text of a board file; the BoardError's words."""
    with open(ctx.folder + "board.json", "w") as file:
        file.write(text)
    return str(raises(ctx.hal.BoardError, lambda: ctx.hal.open_rig(ctx.folder)))


def case_a_broken_board_file_drives_no_pin(ctx):
    import json

    texts = ["", "{", "[]", "7", "null", "{}", '{"pins": {}}', '{"pins": 3, "latch": false}']
    for key, value in (
        ("pumps", []),
        ("pumps", "10"),
        ("pumps", [10, "11"]),
        ("pumps", [10, -1]),
        ("pumps", [True]),
        ("pumps", [99]),
        ("pump_enable", None),
        ("pump_enable", "13"),
        ("latch_hold", 1000),
    ):
        board = ctx.board("rp2040_wifi")
        board["pins"][key] = value
        texts.append(json.dumps(board))
    board = ctx.board("latched")
    board["pins"]["latch_hold"] = -1
    texts.append(json.dumps(board))
    for text in texts:
        words = _refused(ctx, text)
        assert "board.json" in words and "write it anew" in words, words
        assert ctx.bench.events == [], (text, ctx.bench.events)


def case_a_missing_board_file_drives_no_pin(ctx):
    words = str(raises(ctx.hal.BoardError, lambda: ctx.hal.open_rig(ctx.folder + "nowhere/")))
    assert "can't be read" in words and ctx.bench.events == []


def case_a_gap_elsewhere_is_found_with_pumps_off(ctx):
    import json

    for table, key in (("pins", "button"), ("sensors", "climate"), ("adc", "vref_mv"), ("pins", "probes")):
        ctx.bench.clear()
        board = ctx.board("rp2040_wifi")
        del board[table][key]
        words = _refused(ctx, json.dumps(board))
        assert key in words, words
        assert ctx.bench.writes()[:4] == [(10, 0), (6, 0), (7, 0), (8, 0)]
        assert ctx.bench.writes()[-1] == (17, 1)  # the warning LED
        assert not [level for _, level in ctx.bench.writes(*PUMPS) if level]


def case_a_pin_that_refuses_does_not_keep_the_next_one_on(ctx):
    ctx.bench.refused_pins = (6,)
    words = str(raises(ctx.hal.BoardError, lambda: ctx.open(ctx.board("rp2040_wifi"))))
    assert "[6]" in words
    assert ctx.bench.writes()[:3] == [(10, 0), (7, 0), (8, 0)]


def case_an_old_interpreter_is_refused_with_the_reason(ctx):
    from potreeve.hal import opening

    class Old:
        name = "micropython"
        version = (1, 25, 0, "")

    words = str(raises(ctx.hal.BoardError, lambda: opening._check_interpreter(Old)))
    assert "1.25" in words and "sleep" in words and "watchdog" in words and "1.26" in words
    for version in ((1, 26, 0), (1, 29, 3, "preview"), (1, 30, 0), (2, 0, 0)):
        Old.version = version
        opening._check_interpreter(Old)


def case_standing_by_sleeps_most_of_the_time_then_restarts(ctx):
    """A fault in every wake: a board that stayed awake would empty 2,500 mAh in days."""
    rig = opened(ctx)
    rig.power.start_watchdog(8000)
    start_us = ctx.bench.now_us
    assert raises(Restart, lambda: ctx.hal.stand_by(rig, ValueError("broken"))).args[0] == "reset"
    took_ms = (ctx.bench.now_us - start_us) // 1000
    asleep_ms = sum([event[1] for event in ctx.bench.events if event[0] == "lightsleep"])
    assert asleep_ms >= 800000 and took_ms - asleep_ms <= 15000
    assert ctx.bench.writes()[:6] == [(10, 0), (6, 0), (7, 0), (8, 0), (17, 1), (17, 0)]


def case_standing_by_a_chip_that_can_sleeps_deeply(ctx):
    rig = opened(ctx, "esp32")
    assert raises(Restart, lambda: ctx.hal.stand_by(rig, ValueError("broken"))).args[0] == "deepsleep"
    assert ctx.bench.rtc_memory  # no start may take it for the sleep that was planned


def case_standing_by_survives_a_second_fault(ctx):
    rig = opened(ctx)
    rig.panel = None
    assert raises(Restart, lambda: ctx.hal.stand_by(rig, ValueError("broken"))).args[0] == "reset"


def case_standing_by_without_a_rig_leaves_the_word_to_main(ctx):
    assert ctx.hal.stand_by(None, ctx.hal.BoardError("broken")) == "broken"
    opened(ctx)
    assert "ValueError" in ctx.hal.stand_by(None, ValueError(1))
    assert ctx.bench.writes() == [(10, 0), (6, 0), (7, 0), (8, 0)]


def case_a_device_that_holds_the_bus_is_clocked_free(ctx):
    """Reset in the middle of a reading, it waits for the clock with the data line down."""
    ctx.bench.bus_held = 9
    opened(ctx)
    assert ctx.bench.bus_held == 0
    for held in (1, 8, 40):
        ctx.bench.clear()
        ctx.bench.bus_held = held
        rig = ctx.open(ctx.board("rp2040_wifi"))
        clocks = ctx.bench.writes(13).count((13, 0))
        assert clocks <= 9 and (held > 9 or ctx.bench.bus_held == 0 and clocks == held), held
        assert rig.climate.read() is None
    ctx.bench.clear()
    ctx.open(ctx.board("rp2040_wifi"))
    assert ctx.bench.writes(12, 13) == []


def case_what_a_board_is_not_wired_for_is_not_loaded(ctx):
    import sys

    def loaded():
        return {name[13:] for name in sys.modules if name.startswith("potreeve.hal.")}

    ctx.open(ctx.board("rp2040_wifi"))
    assert loaded() == {"parts", "power", "probes", "pumps", "store", "bme280", "bh1750"}, loaded()
    ctx.fresh()
    ctx.bench.devices[0x51] = devices.Pcf85063()
    ctx.open(ctx.board("latched"))
    assert loaded() == {"parts", "power", "probes", "pumps", "store", "bme280", "bh1750", "latched"}, loaded()
    ctx.fresh()
    board = ctx.board("esp32")
    board["sensors"]["climate"] = board["sensors"]["light"] = "none"
    ctx.open(board)
    assert loaded() == {"parts", "power", "probes", "pumps", "store"}, loaded()


def case_a_driver_that_is_missing_is_told_as_damage(ctx):
    """Not as a fault of the board file, and with the warning LED on."""

    for junk in (None, ValueError("incompatible .mpy file")):
        ctx.fresh()
        ctx.bench.events.clear()

        def missing(board, junk=junk):
            raise junk or ImportError("no module named 'potreeve.hal.bme280'")

        from potreeve.hal import opening

        opening._drivers = missing
        words = str(raises(ctx.hal.BoardError, lambda: ctx.open(ctx.board("rp2040_wifi"))))
        assert "damaged" in words and "board.json" not in words
        assert ctx.bench.writes()[-1] == (17, 1)
