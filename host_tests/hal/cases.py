"""What the adapters must do, written once and run in CPython and in real MicroPython.

Each case_* takes a `Ctx`: .bench, .board(name) (a fresh device mapping),
.open(board) (writes the board file, opens the rig), .hal, .folder.
Only plain Python that both interpreters know.
"""

import devices
from bench import Reset

PUMPS = (10, 11, 12)
ENABLE = 13
ALL_OFF = [(10, 0), (11, 0), (12, 0), (13, 0)]


def raises(kind, call):
    """The exception of that kind which call() raises; fails if it does not."""
    try:
        call()
    except kind as fault:
        return fault
    raise AssertionError("nothing was raised")


def nothing():
    pass


def opened(ctx, name="rp2040_wifi", **pins):
    """A rig with a battery at 4000 mV, its event list emptied."""
    board = ctx.board(name)
    board["pins"].update(pins)
    ctx.bench.adc[board["pins"]["battery_adc"]] = 39718
    rig = ctx.open(board)
    ctx.bench.events.clear()
    return rig


# ---- opening the rig -------------------------------------------------------------------------


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
        ("pumps", []), ("pumps", "10"), ("pumps", [10, "11"]), ("pumps", [10, -1]), ("pumps", [True]),
        ("pumps", [99]), ("pump_enable", None), ("pump_enable", "13"), ("latch_hold", 1000),
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


# ---- pumps -----------------------------------------------------------------------------------


def case_a_pulse_switches_in_order_and_reports_its_time(ctx):
    rig = opened(ctx)
    feeds = []
    actual_ms = rig.pumps.pulse(1, 1500, lambda: feeds.append(ctx.bench.now_us))
    assert ctx.bench.writes(*PUMPS + (ENABLE,)) == [(13, 1), (11, 1)] + ALL_OFF
    on, off = [event[3] for event in ctx.bench.events if event[:2] == ("pin", 11)]
    assert 1500 <= off - on <= actual_ms <= 1525, (on, off, actual_ms)
    gaps = [b - a for a, b in zip(feeds, feeds[1:])]
    assert max(gaps) <= 500000 and len(feeds) >= 3
    assert rig.pumps.cut_off == 0


def case_a_pulse_notes_the_battery_sag(ctx):
    rig = opened(ctx)
    readings = [39718] * 16 + [30000] * 16 + [35000] * 2000
    ctx.bench.adc[27] = readings
    rig.pumps.pulse(0, 300, nothing)
    assert rig.pumps.sag_mv == 3022  # 30000 / 65535 * 3300 mV * 2
    ctx.bench.adc[27] = 0
    rig.pumps.pulse(0, 300, nothing)
    assert rig.pumps.sag_mv == 0


def case_ctrl_c_anywhere_in_a_pulse_leaves_everything_off(ctx):
    for at_ms in range(0, 330, 3):
        rig = opened(ctx)

        def interrupt():
            raise KeyboardInterrupt

        start_ms = ctx.bench.now_us // 1000
        ctx.bench.plan(start_ms + at_ms, interrupt)
        try:
            rig.pumps.pulse(2, 300, nothing)
        except KeyboardInterrupt:
            pass
        ctx.bench.unplan(interrupt)
        writes = ctx.bench.writes(*PUMPS + (ENABLE,))
        # Before the first write there is nothing to switch off.
        assert writes[-4:] == ALL_OFF or (at_ms == 0 and not writes), (at_ms, writes)
        assert [ctx.bench.levels[pin] for pin in PUMPS + (ENABLE,)] == [0, 0, 0, 0]
        on = [event[3] for event in ctx.bench.events if event[:3] == ("pin", 12, 1)]
        off = [event[3] for event in ctx.bench.events if event[:3] == ("pin", 12, 0)]
        if on and at_ms < 290:
            assert off[0] - start_ms - at_ms <= 1, (at_ms, off)


def case_an_exception_in_the_feed_leaves_everything_off(ctx):
    rig = opened(ctx)

    def bad():
        raise RuntimeError("feed")

    raises(RuntimeError, lambda: rig.pumps.pulse(0, 1000, bad))
    assert ctx.bench.writes(*PUMPS + (ENABLE,)) == [(13, 1), (10, 1)] + ALL_OFF


def case_a_battery_that_fails_mid_pulse_does_not_matter(ctx):
    rig = opened(ctx)

    def gone():
        raise OSError(5)

    ctx.bench.adc[27] = gone
    assert rig.pumps.pulse(0, 100, nothing) >= 100
    assert ctx.bench.writes(*PUMPS + (ENABLE,))[-4:] == ALL_OFF and rig.pumps.sag_mv == 0


def _hang(ctx, rig):
    """A feed that hangs for five seconds in the middle of a pulse of 400 ms; when was the pump off?"""
    start_ms = ctx.bench.now_us // 1000
    rig.pumps.pulse(0, 400, lambda: ctx.bench.pass_us(5000000))
    return [event[3] - start_ms for event in ctx.bench.events if event[:3] == ("pin", 10, 0)][0]


def case_the_hardware_timer_ends_a_pulse_that_hangs(ctx):
    rig = opened(ctx)
    assert 890 <= _hang(ctx, rig) <= 910
    assert rig.pumps.cut_off == 1
    ctx.bench.hard_timers = False
    rig = opened(ctx)
    assert 890 <= _hang(ctx, rig) <= 910
    assert ctx.bench.plans == []


def case_the_timer_is_taken_down_after_a_pulse(ctx):
    rig = opened(ctx)
    rig.pumps.pulse(0, 200, nothing)
    assert ctx.bench.plans == []


def case_a_board_without_timers_still_pumps(ctx):
    import machine

    timer = machine.Timer

    def none_left(number):
        raise OSError(12)

    machine.Timer = none_left
    try:
        rig = opened(ctx)
        assert 200 <= rig.pumps.pulse(0, 200, nothing) <= 225
    finally:
        machine.Timer = timer
    assert ctx.bench.writes(*PUMPS + (ENABLE,)) == [(13, 1), (10, 1)] + ALL_OFF


def case_a_timer_that_will_not_start_does_not_stop_the_pulse(ctx):
    rig = opened(ctx)

    def refuse(**options):
        raise OSError(12)

    rig.pumps._timer.init = refuse
    assert rig.pumps.pulse(0, 100, nothing) >= 100


def case_a_watchdog_that_bites_ends_the_pulse(ctx):
    rig = opened(ctx)
    rig.pumps._timer = None
    rig.power.start_watchdog(3000)
    fault = raises(Reset, lambda: _hang(ctx, rig))
    assert fault.args[0] == "watchdog"


def case_no_such_channel_moves_no_pin(ctx):
    rig = opened(ctx)
    for channel in (-1, 3, 99):
        raises(ValueError, lambda: rig.pumps.pulse(channel, 100, nothing))
    assert rig.pumps.pulse(0, 0, nothing) == 0
    assert rig.pumps.pulse(0, -5, nothing) == 0
    assert ctx.bench.events == []


def case_pumps_work_without_a_master_switch(ctx):
    rig = opened(ctx, pump_enable=-1)
    rig.pumps.pulse(0, 100, nothing)
    assert ctx.bench.writes() == [(10, 1), (10, 0), (11, 0), (12, 0)]


def case_one_bad_pin_does_not_keep_the_others_on(ctx):
    rig = opened(ctx)

    class Dead:
        def value(self, level):
            raise RuntimeError("pin")

    rig.pumps._pins[0] = Dead()
    ctx.hal._pump_pins[1] = Dead()
    rig.pumps.all_off()
    assert ctx.bench.writes() == [(11, 0), (12, 0), (13, 0)]
    ctx.bench.events.clear()
    ctx.hal.pumps_off()
    assert ctx.bench.writes() == [(13, 0), (11, 0), (12, 0)]


def case_a_pulse_across_the_wrap_of_the_ticks(ctx):
    ctx.bench.now_us = ((1 << 30) - 250) * 1000
    rig = opened(ctx)
    assert 1000 <= rig.pumps.pulse(0, 1000, nothing) <= 1025


# ---- probes ----------------------------------------------------------------------------------


def case_analogue_probes_through_the_switch(ctx):
    rig = opened(ctx)
    ctx.bench.adc[26] = lambda: 1000 + ctx.bench.levels[19] + 2 * ctx.bench.levels[20] + 4 * ctx.bench.levels[21]
    buf = [0] * 9
    start_us = ctx.bench.now_us
    assert rig.probes.burst(2, buf) == 9
    assert buf == [1002] * 9
    assert ctx.bench.now_us - start_us >= 100000
    assert ctx.bench.writes() == [(22, 1), (19, 0), (20, 1), (21, 0), (19, 0), (20, 0), (21, 0), (22, 0)]
    assert rig.probes.burst(3, buf) == 0 and rig.probes.burst(-1, buf) == 0


def case_the_probe_rail_settles_once_for_several_bursts(ctx):
    rig = opened(ctx)
    ctx.bench.adc[26] = 500
    rig.probes.power(1)
    settled_us = ctx.bench.now_us
    assert settled_us >= 100000
    for channel in range(3):
        rig.probes.burst(channel, [0] * 9)
    assert ctx.bench.now_us - settled_us < 50000
    assert (22, 0) not in ctx.bench.writes()
    rig.probes.power(0)
    assert ctx.bench.writes(22) == [(22, 1), (22, 0)]


def case_a_probe_that_fails_leaves_the_rail_off(ctx):
    rig = opened(ctx)

    def gone():
        raise OSError(5)

    ctx.bench.adc[26] = gone
    raises(OSError, lambda: rig.probes.burst(0, [0] * 9))
    assert ctx.bench.writes(22)[-1] == (22, 0)
    assert [ctx.bench.levels[pin] for pin in (19, 20, 21)] == [0, 0, 0]


def case_probes_on_pins_of_their_own(ctx):
    rig = opened(ctx, "esp32")
    ctx.bench.adc.update({34: 1, 35: 2, 36: 3})
    buf = [0] * 4
    assert rig.probes.burst(1, buf) == 4 and buf == [2] * 4


def case_the_esp32_reads_at_its_widest_range(ctx):
    ctx.open(ctx.board("esp32"))
    assert ("adc", 34, 3) in ctx.bench.events and ("adc", 39, 3) in ctx.bench.events


def _pulsing(ctx, period_us, edges):
    """A rig with pulse probes, and edges coming on GPIO 2 every period_us."""
    rig = opened(ctx, probe_kind="pulses", probes=[2, 3], probe_select=[], probe_adc=-1, probe_power=-1)
    start_us = ctx.bench.now_us

    def edge():
        ctx.bench.set_input(2, 0)
        ctx.bench.set_input(2, 1)

    for n in range(edges):
        ctx.bench.plans.append([start_us + n * period_us + 500, edge])
    return rig


def case_pulse_probes_count_hundredths_of_hertz(ctx):
    for period_us, chz in ((20000, 5000), (7000, 14285), (50000, 2000)):
        rig = _pulsing(ctx, period_us, 2000000 // period_us)
        buf = [0] * 9
        assert rig.probes.burst(0, buf) == 9
        for sample in buf:
            assert abs(sample - chz) * 200 <= chz, (buf, chz)
        assert ctx.bench.irqs[2][0] is None
        ctx.bench.plans.clear()


def case_a_silent_pulse_probe_reads_zero(ctx):
    rig = _pulsing(ctx, 1000, 0)
    buf = [7] * 9
    assert rig.probes.burst(0, buf) == 9 and buf == [0] * 9


def case_a_lone_edge_and_a_racing_probe(ctx):
    rig = _pulsing(ctx, 1000, 1)
    buf = [0] * 2
    rig.probes.burst(0, buf)
    assert buf == [1000, 0]
    rig = _pulsing(ctx, 20, 3)
    rig.probes.burst(0, buf)
    assert buf[0] == 65535
    rig = _pulsing(ctx, 1000, 150)
    rig.probes.burst(0, buf)
    assert buf[0] == 65535


# ---- air and light ---------------------------------------------------------------------------


def case_bme280_from_bytes_to_degrees(ctx):
    rig = opened(ctx)
    ctx.bench.devices[0x76] = devices.Bme280()
    assert rig.climate.read() == (2508, 562)
    # The calibration is kept: the next reading asks only for the measurement.
    ctx.bench.devices[0x76].adc_t = 600000
    cdeg, _ = rig.climate.read()
    assert cdeg > 4000
    written = [event[2] for event in ctx.bench.events if event[0] == "i2c"]
    assert written == [b"\xf2\x01", b"\xf4\x21"] * 2


def case_bme280_that_fails_reads_none_and_comes_back(ctx):
    rig = opened(ctx)
    assert rig.climate.read() is None
    ctx.bench.devices[0x76] = devices.Bme280()
    assert rig.climate.read() == (2508, 562)
    del ctx.bench.devices[0x76]
    assert rig.climate.read() is None
    ctx.bench.devices[0x76] = devices.Bme280()
    assert rig.climate.read() == (2508, 562)


def case_bme280_nonsense_reads_none(ctx):
    rig = opened(ctx)
    for chip in (
        devices.Bme280(chip_id=0x58),
        devices.Bme280(chip_id=0x00),
        devices.Bme280(adc_t=0x80000),
        devices.Bme280(adc_h=0x8000),
        devices.Bme280(adc_t=0xFFFFF),
    ):
        ctx.bench.devices[0x76] = chip
        rig.climate._calibration = None
        assert rig.climate.read() is None
    chip = devices.Bme280()
    chip.stuck = True
    ctx.bench.devices[0x76] = chip
    assert rig.climate.read() is None
    chip = devices.Bme280()
    chip.registers[0x88:0xA2] = bytes(26)
    ctx.bench.devices[0x76] = chip
    rig.climate._calibration = None
    assert rig.climate.read() is None


def case_sht4x_from_bytes_to_degrees(ctx):
    board = ctx.board("rp2040_wifi")
    board["sensors"].update({"climate": "sht4x", "climate_address": 0x44})
    rig = ctx.open(board)
    assert rig.climate.read() is None
    chip = devices.Answers(b"\xbe\xef\x92\xbe\xef\x92")
    ctx.bench.devices[0x44] = chip
    assert rig.climate.read() == (8552, 872)
    assert chip.commands == [b"\xfd"]
    chip.answer = b"\xbe\xef\x92\xbe\xef\x93"
    assert rig.climate.read() is None


def case_bh1750_from_counts_to_lux(ctx):
    rig = opened(ctx)
    assert rig.light.read_lx() == -1
    chip = devices.Answers(b"\x12\x34")
    ctx.bench.devices[0x23] = chip
    start_us = ctx.bench.now_us
    assert rig.light.read_lx() == 8644  # 4660 / 1.2 * 69 / 31 = 8643.5
    assert ctx.bench.now_us - start_us >= 80000
    assert chip.commands == [b"\x01", b"\x40", b"\x7f", b"\x20"]


def case_photodiode_from_volts_to_lux(ctx):
    board = ctx.board("rp2040_wifi")
    board["pins"]["light_adc"] = 28
    board["sensors"].update({"light": "photodiode", "photodiode_dark_mv": 10, "photodiode_lx_per_v": 10000})
    rig = ctx.open(board)
    ctx.bench.adc[28] = 19859
    assert rig.light.read_lx() == 9900

    def gone():
        raise OSError(5)

    ctx.bench.adc[28] = gone
    assert rig.light.read_lx() == -1


def case_no_sensors_no_readings(ctx):
    board = ctx.board("rp2040_wifi")
    board["sensors"].update({"climate": "none", "light": "none"})
    rig = ctx.open(board)
    assert rig.climate.read() is None and rig.light.read_lx() == -1
    # A board file that names sensors but no bus is no reason to stop either.
    rig = opened(ctx, i2c_sda=-1)
    assert rig.climate.read() is None and rig.light.read_lx() == -1


# ---- battery, clock, panel, radio --------------------------------------------------------------


def case_battery_is_the_mean_of_the_middle_half(ctx):
    rig = opened(ctx)
    ctx.bench.adc[27] = [0, 65535, 65535, 0] + [39718] * 12
    assert rig.battery.read_mv() == 4000
    ctx.bench.adc[27] = [39718 - 8, 39718 + 8] * 8
    assert rig.battery.read_mv() in (3998, 4000)


def case_battery_by_the_ports_own_calibration(ctx):
    rig = opened(ctx)

    class Calibrated:
        def read_uv(self):
            return 1234567

    rig.battery._adc = Calibrated()
    assert rig.battery.read_mv() == 2468


def case_battery_without_a_pin_reads_zero(ctx):
    board = ctx.board("rp2040_wifi")
    board["pins"]["battery_adc"] = -1
    assert ctx.open(board).battery.read_mv() == 0


def case_a_clock_of_2021_is_no_clock(ctx):
    rig = opened(ctx)
    for wall_s in (0, 1609459200, 1704067199, 4102444800):
        ctx.bench.wall_s = wall_s - ctx.bench.now_us // 1000000
        assert rig.clock.utc_s() == 0
    ctx.bench.wall_s = 1795591393
    assert abs(rig.clock.utc_s() - 1795591393) <= 2


def case_a_clock_that_counts_from_2000(ctx):
    ctx.bench.epoch_s = 946684800
    ctx.fresh()
    rig = opened(ctx)
    ctx.bench.wall_s = 1795591393
    assert abs(rig.clock.utc_s() - 1795591393) <= 2
    rig.clock.set_utc(1795591393)
    assert ("rtc", (2026, 11, 25, 2, 7, 23, 13, 0)) in ctx.bench.events, ctx.bench.events


def case_the_clock_is_set_in_utc(ctx):
    rig = opened(ctx)
    rig.clock.set_utc(1709164800)
    assert ctx.bench.events == [("rtc", (2024, 2, 29, 3, 0, 0, 0, 0))]


def case_ticks_wrap(ctx):
    rig = opened(ctx)
    ctx.bench.now_us = ((1 << 30) - 5) * 1000
    before = rig.clock.ticks_ms()
    ctx.bench.pass_us(20000)
    assert 19 <= rig.clock.ticks_diff(rig.clock.ticks_ms(), before) <= 21
    assert rig.clock.ticks_add(10, -20) == (1 << 30) - 10
    before = rig.clock.ticks_ms()
    rig.clock.sleep_ms(250)
    assert 250 <= rig.clock.ticks_diff(rig.clock.ticks_ms(), before) <= 251


def case_panel_button_leds_buzzer(ctx):
    rig = opened(ctx)
    assert rig.panel.button() == 0
    ctx.bench.levels[14] = 0
    assert rig.panel.button() == 1
    rig.panel.led("ok", 1)
    rig.panel.led("warn", 0)
    rig.panel.beep(50)
    rig.panel.beep(0)
    assert ctx.bench.writes() == [(16, 1), (17, 0), (18, 1), (18, 0)]


def case_panel_shows_how_the_rig_fares(ctx):
    for alarm, pin, flashes, beeps in ((0, 16, 1, 0), (1, 17, 2, 0), (2, 17, 5, 1)):
        rig = opened(ctx)
        rig.panel.led("ok", 1)
        rig.panel.show(alarm)
        lit = [event[1] for event in ctx.bench.events[1:] if event[0] == "pin" and event[2] == 1]
        assert lit == [pin] * flashes + [18] * beeps, (alarm, lit)
        assert [ctx.bench.levels[n] for n in (16, 17, 18)] == [0, 0, 0]


def case_a_bare_panel_does_nothing(ctx):
    rig = opened(ctx, button=-1, led_ok=-1, led_warn=-1, buzzer=-1)
    assert rig.panel.button() == 0
    rig.panel.led("ok", 1)
    rig.panel.beep(50)
    assert ctx.bench.events == []


def case_the_buzzer_is_silenced_by_ctrl_c(ctx):
    rig = opened(ctx)

    def interrupt():
        raise KeyboardInterrupt

    ctx.bench.plan(ctx.bench.now_us // 1000 + 20, interrupt)
    raises(KeyboardInterrupt, lambda: rig.panel.beep(1000))
    assert ctx.bench.writes() == [(18, 1), (18, 0)]


def case_there_is_no_radio(ctx):
    import sys

    assert opened(ctx).radio.report(b"anything") == 0
    assert "network" not in sys.modules


# ---- store -----------------------------------------------------------------------------------


def case_store_replaces_and_appends(ctx):
    store = opened(ctx).store
    assert store.names() == [] and store.read("log") is None and store.size("log") == 0
    store.replace("settings.json", b"{}")
    store.replace("settings.json", b"{1}")
    store.append("log", b"abc")
    store.append("log", b"def")
    assert store.read("settings.json") == b"{1}" and store.read("log") == b"abcdef"
    assert store.size("log") == 6 and store.names() == ["log", "settings.json"]
    store.remove("log")
    assert store.names() == ["settings.json"] and store.free_bytes() > 0
    raises(OSError, lambda: store.remove("log"))
    for name in ("", "a/b", "..", "/main.py"):
        raises(ValueError, lambda: store.read(name))


def case_a_write_that_fails_keeps_the_old_file(ctx):
    store = opened(ctx).store
    store.replace("ledger", b"old")
    write = store._write

    def half(path, mode, data):
        write(path, mode, data[:1])
        raise OSError(28)

    store._write = half
    fault = raises(OSError, lambda: store.replace("ledger", b"new"))
    assert fault.args[0] == 28
    assert store.read("ledger") == b"old" and store.names() == ["ledger"]


def case_faults_of_the_file_system_pass_upward(ctx):
    import os

    store = opened(ctx).store
    store.replace("x", b"1")
    os.mkdir(ctx.folder + "data/folder")
    raises(OSError, lambda: store.read("folder"))
    store._folder = ctx.folder + "data/x"
    raises(OSError, lambda: store.replace("y", b"1"))
    raises(OSError, lambda: store.names())
    raises(OSError, lambda: store.size("y"))


# ---- why it woke -------------------------------------------------------------------------------


def _cause(ctx, name, reset_cause, **more):
    ctx.bench.reset_cause = reset_cause
    for key, value in more.items():
        setattr(ctx.bench, key, value)
    return ctx.open(ctx.board(name)).power.cause


def case_reset_causes_on_rp2(ctx):
    assert _cause(ctx, "rp2040_wifi", 1) == 0
    assert _cause(ctx, "rp2040_wifi", 3) == 4
    assert _cause(ctx, "rp2040_wifi", 3, mem={0x4005801C: 0x6AB73121}) == 1
    assert _cause(ctx, "rp2350_wifi", 3, mem={0x4005801C: 0x6AB73121}) == 4
    assert _cause(ctx, "rp2350_wifi", 3, mem={0x400D801C: 0x6AB73121 - (1 << 32)}) == 1
    assert _cause(ctx, "rp2040_wifi", 9) == 5


def case_reset_causes_on_esp32(ctx):
    assert _cause(ctx, "esp32", 1) == 0
    assert _cause(ctx, "esp32", 2) == 4
    assert _cause(ctx, "esp32", 3) == 1
    assert _cause(ctx, "esp32", 4, wake_reason=4) == 2
    assert _cause(ctx, "esp32", 4, wake_reason=2) == 3
    assert _cause(ctx, "esp32", 4, wake_reason=3) == 3
    assert _cause(ctx, "esp32", 4, wake_reason=5) == 5
    assert _cause(ctx, "esp32", 5) == 4
    assert _cause(ctx, "esp32", 9) == 5


def case_wake_causes_of_a_latched_board(ctx):
    chip = devices.Pcf85063()
    ctx.bench.devices[0x51] = chip
    assert _cause(ctx, "latched", 1) == 0
    chip.registers[1], chip.registers[3] = 0x08, 0x3C
    assert _cause(ctx, "latched", 1) == 2
    chip.registers[3] = 0x3C
    assert _cause(ctx, "latched", 3) == 2
    chip.registers[1] = 0
    ctx.bench.levels[14] = 0
    assert _cause(ctx, "latched", 1) == 3
    assert _cause(ctx, "latched", 3, mem={0x4005801C: 0x6AB73121}) == 1
    ctx.bench.mem = {}
    ctx.bench.levels[14] = 1
    del ctx.bench.devices[0x51]
    assert _cause(ctx, "latched", 1) == 0


# ---- watchdog and sleep ------------------------------------------------------------------------


def case_the_watchdog_is_fed_and_never_set_too_long(ctx):
    rig = opened(ctx)
    rig.power.feed()
    rig.power.start_watchdog(60000)
    rig.power.start_watchdog(5000)
    rig.power.feed()
    assert ctx.bench.events == [("wdt", 8388), ("feed",)]


def case_sleep_is_cut_in_pieces_below_the_watchdog(ctx):
    rig = opened(ctx)
    rig.power.start_watchdog(8388)
    slept_ms, button = rig.power.sleep(900)
    assert 900000 <= slept_ms <= 900050 and button == 0
    pieces = [event[1] for event in ctx.bench.events if event[0] == "lightsleep"]
    assert max(pieces) <= 6000 and ctx.bench.count("feed") >= 150
    rig = opened(ctx)
    rig.power.start_watchdog(2000)
    rig.power.sleep(60)
    assert max([event[1] for event in ctx.bench.events if event[0] == "lightsleep"]) <= 1500


def case_sleep_that_returns_early_goes_on(ctx):
    rig = opened(ctx)
    ctx.bench.early_ms = [0, 30, 130, 0, 0, 1, 5999] * 4
    slept_ms, _ = rig.power.sleep(120)
    assert 120000 <= slept_ms <= 120050


def case_sleep_that_never_sleeps_does_not_spin(ctx):
    rig = opened(ctx)
    ctx.bench.early_ms = [0] * 4000
    slept_ms, _ = rig.power.sleep(600)
    assert 600000 <= slept_ms <= 600250
    assert ctx.bench.count("lightsleep") <= 3100


def case_sleep_across_the_wrap_of_the_ticks(ctx):
    ctx.bench.now_us = ((1 << 30) - 3000) * 1000
    rig = opened(ctx)
    slept_ms, _ = rig.power.sleep(60)
    assert 60000 <= slept_ms <= 60050


def case_frozen_ticks_are_not_fed(ctx):
    rig = opened(ctx)
    rig.power.start_watchdog(8000)
    ctx.bench.ticks_frozen = True

    def freeze_ms():
        return 77

    import time

    real = time.ticks_ms
    time.ticks_ms = freeze_ms
    try:
        fault = raises(Reset, lambda: rig.power.sleep(600))
    finally:
        time.ticks_ms = real
    assert fault.args[0] == "watchdog"


def case_the_button_ends_a_sleep(ctx):
    rig = opened(ctx)
    ctx.bench.plan(ctx.bench.now_us // 1000 + 10000, lambda: ctx.bench.set_input(14, 0))
    slept_ms, button = rig.power.sleep(900)
    assert button == 1 and 9990 <= slept_ms <= 10100, slept_ms


def case_a_press_shorter_than_a_nap_is_not_lost(ctx):
    rig = opened(ctx)
    ctx.bench.mem[0x50110050] = 0x10000
    ctx.bench.plan(ctx.bench.now_us // 1000 + 5050, lambda: ctx.bench.set_input(14, 0))
    ctx.bench.plan(ctx.bench.now_us // 1000 + 5060, lambda: ctx.bench.set_input(14, 1))
    slept_ms, button = rig.power.sleep(900)
    assert button == 1 and slept_ms <= 5300
    ctx.bench.levels[14] = 1
    slept_ms, button = rig.power.sleep(2)
    assert button == 0 and slept_ms >= 2000


def case_with_usb_the_port_stays_up(ctx):
    rig = opened(ctx)
    assert rig.power.usb() == 0
    ctx.bench.mem[0x50110050] = 0x10000
    assert rig.power.usb() == 1
    slept_ms, _ = rig.power.sleep(30)
    assert 30000 <= slept_ms <= 30050 and ctx.bench.count("lightsleep") == 0
    ctx.bench.mem[0x50110050] = 0x10010  # suspended: the host sleeps
    assert rig.power.usb() == 0


def case_a_sense_pin_tells_of_usb(ctx):
    rig = opened(ctx, usb_sense=9)
    ctx.bench.levels[9] = 1
    assert rig.power.usb() == 1
    ctx.bench.levels[9] = 0
    assert rig.power.usb() == 0
    assert opened(ctx, "esp32").power.usb() == 0


def case_a_board_without_a_button_sleeps(ctx):
    rig = opened(ctx, button=-1)
    assert rig.power.sleep(20)[1] == 0
    board = ctx.board("esp32")
    board["pins"]["button"] = -1
    assert raises(Reset, lambda: ctx.open(board).power.sleep(20)).args == ("deepsleep", 20000)


def case_deep_sleep_does_not_return(ctx):
    rig = opened(ctx, "esp32")
    assert rig.power.keeps_ram == 0
    fault = raises(Reset, lambda: rig.power.sleep(900))
    assert fault.args == ("deepsleep", 900000)
    assert [event[:3] for event in ctx.bench.events] == [("wake on", 27, False), ("deepsleep", 900000)]
    assert raises(Reset, lambda: rig.power.sleep(400000)).args == ("deepsleep", 86400000)
    assert raises(Reset, lambda: rig.power.sleep(0)).args == ("deepsleep", 1)


def case_a_held_button_does_not_wake_at_once(ctx):
    rig = opened(ctx, "esp32")
    ctx.bench.levels[27] = 0
    raises(Reset, lambda: rig.power.sleep(900))
    assert [event[0] for event in ctx.bench.events] == ["deepsleep"]


def case_restart_resets(ctx):
    assert raises(Reset, lambda: opened(ctx).power.restart()).args[0] == "reset"


# ---- latch -------------------------------------------------------------------------------------


def _latched(ctx, powered_by_usb):
    ctx.bench.devices[0x51] = devices.Pcf85063()
    ctx.bench.devices[0x51].registers[1] = 0x08
    ctx.bench.devices[0x51].registers[3] = 0x3C
    rig = opened(ctx, "latched")
    ctx.bench.power_pin = -1 if powered_by_usb else 15
    return rig, ctx.bench.devices[0x51]


def case_the_latch_sets_then_clears_then_lets_go(ctx):
    rig, chip = _latched(ctx, False)
    assert rig.power.cause == 2 and rig.power.keeps_ram == 0
    assert raises(Reset, lambda: rig.power.sleep(900)).args[0] == "power cut"
    acts = [event for event in ctx.bench.events if event[0] in ("i2c", "pin")]
    assert [a[2] for a in acts[:5]] == [b"\x11\x18", b"\x10\x10", b"\x03\x3c", b"\x11\x1e", b"\x01\x00"], acts
    assert acts[5][:3] == ("pin", 15, 0) and len(acts) == 6
    assert chip.registers[0x10] == 16 and chip.registers[0x11] == 0x1E and chip.registers[1] == 0


def case_countdowns_of_the_latch(ctx):
    for s, count, mode, whole in (
        (0, 2, 0x16, 0x3C), (30, 31, 0x16, 0x3C), (254, 255, 0x16, 0x3C), (255, 6, 0x1E, 0x3C), (600, 11, 0x1E, 0x3C),
        (601, 12, 0x1E, 0x3C), (15240, 255, 0x1E, 0x3C), (15241, 255, 0x1E, 0), (99999, 255, 0x1E, 0),
    ):
        ctx.bench.clear()
        rig, chip = _latched(ctx, False)
        raises(Reset, lambda: rig.power.sleep(s))
        assert (chip.registers[0x10], chip.registers[0x11], chip.registers[3]) == (count, mode, whole), s


def case_a_wake_of_the_latch_counts_once(ctx):
    rig, chip = _latched(ctx, False)
    raises(Reset, lambda: rig.power.sleep(900))
    chip.registers[1] = 0x08
    assert _cause(ctx, "latched", 1) == 2
    # The application fails and the board starts again, its flag still up: no second sleep has been slept.
    assert _cause(ctx, "latched", 1) == 0
    raises(Reset, lambda: ctx.open(ctx.board("latched")).power.sleep(99999))
    chip.registers[1] = 0x08
    assert _cause(ctx, "latched", 1) == 0  # woken before its time


def case_a_latched_board_shows_that_its_power_is_held(ctx):
    _latched(ctx, False)
    ctx.bench.clear()
    ctx.bench.devices[0x51] = devices.Pcf85063()
    ctx.open(ctx.board("latched"))
    assert ctx.bench.writes(16)[-1] == (16, 1)
    ctx.open(ctx.board("rp2040_wifi"))
    assert ctx.bench.writes(16)[-1] == (16, 0)


def case_with_usb_the_latched_board_waits_and_starts_again(ctx):
    rig, chip = _latched(ctx, True)
    rig.power.start_watchdog(8000)
    start_us = ctx.bench.now_us
    assert raises(Reset, lambda: rig.power.sleep(900)).args[0] == "soft reset"
    # As long as the countdown may take, so that its flag is up when the board starts again.
    assert ctx.bench.now_us - start_us >= 960000000
    assert ctx.bench.writes() == [(15, 0), (15, 1)]
    assert max([event[1] for event in ctx.bench.events if event[0] == "lightsleep"]) <= 6000


def case_a_clock_that_does_not_obey_keeps_the_power_on(ctx):
    for fault in ("deaf", "gone"):
        ctx.bench.clear()
        rig, chip = _latched(ctx, False)
        if fault == "deaf":
            chip.deaf = True
        else:
            del ctx.bench.devices[0x51]
        start_us = ctx.bench.now_us
        assert raises(Reset, lambda: rig.power.sleep(60)).args[0] == "soft reset"
        assert ctx.bench.now_us - start_us >= 60000000
        assert (15, 0) not in ctx.bench.writes(), fault


def case_a_latched_board_restarts_without_dropping_its_power(ctx):
    rig, _ = _latched(ctx, False)
    assert raises(Reset, lambda: rig.power.restart()).args[0] == "soft reset"
    assert ctx.bench.writes(15) == []


def case_the_external_clock_keeps_the_time(ctx):
    rig, chip = _latched(ctx, True)
    assert rig.clock.utc_s() == 0  # its oscillator had stopped
    rig.clock.set_utc(1795591393)
    assert bytes(chip.registers[4:11]) == b"\x13\x23\x07\x25\x03\x11\x26"
    assert rig.clock.utc_s() == 1795591393
    chip.registers[9] = 0x13  # there is no thirteenth month
    assert rig.clock.utc_s() == 0
    del ctx.bench.devices[0x51]
    assert rig.clock.utc_s() == 0
    ctx.bench.wall_s = 1795591393
    assert rig.clock.utc_s() >= 1795591393


def case_a_latched_board_needs_its_bus(ctx):
    board = ctx.board("latched")
    board["pins"]["i2c_sda"] = -1
    words = str(raises(ctx.hal.BoardError, lambda: ctx.open(board)))
    assert "I2C" in words


# ---- standing by -------------------------------------------------------------------------------


def case_standing_by_feeds_then_restarts(ctx):
    rig = opened(ctx)
    rig.power.start_watchdog(8000)
    start_us = ctx.bench.now_us
    assert raises(Reset, lambda: ctx.hal.stand_by(rig, ValueError("broken"))).args[0] == "reset"
    assert ctx.bench.now_us - start_us >= 60000000
    assert ctx.bench.writes()[:5] == [(13, 0), (10, 0), (11, 0), (12, 0), (17, 1)]


def case_standing_by_survives_a_second_fault(ctx):
    rig = opened(ctx)
    rig.panel = None
    assert raises(Reset, lambda: ctx.hal.stand_by(rig, ValueError("broken"))).args[0] == "reset"


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


CASES = [(name, case) for name, case in sorted(globals().items()) if name.startswith("case_")]
