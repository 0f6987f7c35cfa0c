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
    assert ctx.bench.writes()[1:5] == [(13, 0), (10, 0), (11, 0), (12, 0)]


def case_every_board_opens(ctx):
    for name in ("rp2040_wifi", "rp2350_wifi", "esp32", "latched"):
        ctx.bench.clear()
        rig = ctx.open(ctx.board(name))
        pumps = ctx.board(name)["pins"]["pumps"]
        assert rig.pumps.count == 3 and rig.board["name"] == name
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
        assert ctx.bench.writes()[:4] == [(13, 0), (10, 0), (11, 0), (12, 0)]
        assert ctx.bench.writes()[-1] == (17, 1)  # the warning LED
        assert not [level for _, level in ctx.bench.writes(*PUMPS) if level]


def case_a_pin_that_refuses_does_not_keep_the_next_one_on(ctx):
    ctx.bench.refused_pins = (10,)
    words = str(raises(ctx.hal.BoardError, lambda: ctx.open(ctx.board("rp2040_wifi"))))
    assert "[10]" in words
    assert ctx.bench.writes()[:3] == [(13, 0), (11, 0), (12, 0)]


def case_an_old_interpreter_is_refused_with_the_reason(ctx):
    class Old:
        name = "micropython"
        version = (1, 25, 0, "")

    words = str(raises(ctx.hal.BoardError, lambda: ctx.hal._check_interpreter(Old)))
    assert "1.25" in words and "sleep" in words and "watchdog" in words and "1.26" in words
    for version in ((1, 26, 0), (1, 29, 3, "preview"), (1, 30, 0), (2, 0, 0)):
        Old.version = version
        ctx.hal._check_interpreter(Old)


def case_standing_by_feeds_then_restarts(ctx):
    rig = opened(ctx)
    rig.power.start_watchdog(8000)
    start_us = ctx.bench.now_us
    assert raises(Restart, lambda: ctx.hal.stand_by(rig, ValueError("broken"))).args[0] == "reset"
    assert ctx.bench.now_us - start_us >= 60000000
    assert ctx.bench.writes()[:5] == [(13, 0), (10, 0), (11, 0), (12, 0), (17, 1)]


def case_standing_by_survives_a_second_fault(ctx):
    rig = opened(ctx)
    rig.panel = None
    assert raises(Restart, lambda: ctx.hal.stand_by(rig, ValueError("broken"))).args[0] == "reset"


def case_pads_are_released_when_no_pump_is_known(ctx):
    ctx.bench.refused_pins = (3,)
    ctx.hal._release_pads("rp2")
    modes = [event for event in ctx.bench.events if event[0] == "mode"]
    assert len(modes) == 25 and all([mode[2] == 0 for mode in modes])
    ctx.bench.events.clear()
    ctx.hal._release_pads("esp32")
    assert ctx.bench.events and ctx.bench.writes() == []
    ctx.bench.events.clear()
    ctx.hal._release_pads("elsewhere")
    assert ctx.bench.events == []


def case_standing_by_without_a_rig_knows_what_it_knows(ctx):
    released = []
    ctx.hal._release_pads = released.append
    ctx.hal.stand_by(None, ctx.hal.BoardError("broken"))
    assert len(released) == 1
    opened(ctx)
    ctx.hal.stand_by(None, ctx.hal.BoardError("broken"))
    # Pins that are known stay driven off, which is better than a weak pull-down.
    assert len(released) == 1 and ctx.bench.writes() == [(13, 0), (10, 0), (11, 0), (12, 0)]
