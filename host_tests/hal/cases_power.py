"""Why the board woke, watchdog, sleep and latch."""

import devices
from casekit import opened, raises
from ends import Restart


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
    assert _cause(ctx, "rp2040_wifi", 9) == 4  # not known: never a brown-out, which is 5


def case_reset_causes_on_esp32(ctx):
    assert _cause(ctx, "esp32", 1) == 0
    assert _cause(ctx, "esp32", 2) == 4
    assert _cause(ctx, "esp32", 3) == 1
    assert _cause(ctx, "esp32", 4, wake_reason=4) == 2
    assert _cause(ctx, "esp32", 4, wake_reason=2) == 3
    assert _cause(ctx, "esp32", 4, wake_reason=3) == 3
    assert _cause(ctx, "esp32", 4, wake_reason=5) == 4
    assert _cause(ctx, "esp32", 5) == 4
    assert _cause(ctx, "esp32", 9) == 4


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
        fault = raises(Restart, lambda: rig.power.sleep(600))
    finally:
        time.ticks_ms = real
    assert fault.args[0] == "watchdog"


def case_the_button_ends_a_sleep(ctx):
    rig = opened(ctx)
    ctx.bench.plan(ctx.bench.now_us // 1000 + 10000, lambda: ctx.bench.set_input(14, 0))
    slept_ms, button = rig.power.sleep(900)
    assert button == 1 and 9990 <= slept_ms <= 10100, slept_ms


def _tap(ctx, pin, at_ms, ms):
    """A finger on the button from at_ms on, counted from now."""
    now_ms = ctx.bench.now_us // 1000
    ctx.bench.plan(now_ms + at_ms, lambda: ctx.bench.set_input(pin, 0))
    ctx.bench.plan(now_ms + at_ms + ms, lambda: ctx.bench.set_input(pin, 1))


def case_a_press_shorter_than_a_nap_is_not_lost(ctx):
    rig = opened(ctx)
    ctx.bench.mem[0x50110050] = 0x10000
    _tap(ctx, 14, 5050, 100)
    slept_ms, pressed_ms = rig.power.sleep(900)
    assert 95 <= pressed_ms <= 105 and slept_ms <= 5300
    # Whoever looks has seen it; it is told once.
    assert rig.panel.button() == 0
    slept_ms, pressed_ms = rig.power.sleep(2)
    assert pressed_ms == 0 and slept_ms >= 2000


def case_a_press_in_a_wake_is_told_at_once(ctx):
    rig = opened(ctx)
    rig.panel.button()
    _tap(ctx, 14, 100, 2500)
    rig.clock.sleep_ms(4000)  # busy
    slept_ms, pressed_ms = rig.power.sleep(900)
    assert slept_ms == 0 and 2490 <= pressed_ms <= 2510
    rig.panel.button()
    assert rig.power.sleep(1)[1] == 0


def case_a_press_that_was_watched_is_not_told_again(ctx):
    rig = opened(ctx)
    _tap(ctx, 14, 10, 100)
    for _ in range(40):
        rig.panel.button()
        rig.clock.sleep_ms(10)
    assert rig.power.sleep(2)[1] == 0


def case_a_spark_in_the_wire_is_no_press(ctx):
    rig = opened(ctx)
    _tap(ctx, 14, 1000, 3)
    assert rig.power.sleep(20)[1] < 30
    rig.clock.sleep_ms(10)
    slept_ms, pressed_ms = rig.power.sleep(20)
    assert pressed_ms == 0 and slept_ms >= 20000


def case_a_contact_that_sticks_does_not_keep_the_board_awake(ctx):
    rig = opened(ctx)
    ctx.bench.set_input(14, 0)
    rig.panel.button()
    slept_ms, pressed_ms = rig.power.sleep(900)
    assert pressed_ms == 0 and slept_ms >= 900000


def case_a_tap_that_wakes_a_deep_sleeper_is_told(ctx):
    ctx.bench.reset_cause, ctx.bench.wake_reason = 4, 2
    rig = opened(ctx, "esp32")
    assert rig.power.cause == 3 and rig.power.pressed_ms >= 30
    ctx.bench.wake_reason = 4
    assert opened(ctx, "esp32").power.pressed_ms == 0


def case_a_deep_sleeper_hears_a_press_before_it_sleeps(ctx):
    for name, pin in (("esp32", 27), ("latched", 14)):
        ctx.bench.clear()
        ctx.bench.devices[0x51] = devices.Pcf85063()
        rig = opened(ctx, name)
        _tap(ctx, pin, 100, 200)
        rig.clock.sleep_ms(1000)
        slept_ms, pressed_ms = rig.power.sleep(900)
        assert slept_ms == 0 and 190 <= pressed_ms <= 210, name
        assert (15, 0) not in ctx.bench.writes()


def case_a_sleep_after_a_fault_proves_no_time(ctx):
    raises(Restart, lambda: opened(ctx, "esp32").power.sleep(900, 0))
    assert _cause(ctx, "esp32", 4, wake_reason=4) == 4
    raises(Restart, lambda: opened(ctx, "esp32").power.sleep(900))
    assert _cause(ctx, "esp32", 4, wake_reason=4) == 2
    rig, chip = _latched(ctx, False)
    raises(Restart, lambda: rig.power.sleep(900, 0))
    assert chip.registers[3] == 0


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
    assert raises(Restart, lambda: ctx.open(board).power.sleep(20)).args == ("deepsleep", 20000)


def case_deep_sleep_does_not_return(ctx):
    rig = opened(ctx, "esp32")
    assert rig.power.keeps_ram == 0
    fault = raises(Restart, lambda: rig.power.sleep(900))
    assert fault.args == ("deepsleep", 900000)
    assert [event[:3] for event in ctx.bench.events] == [("wake on", 27, False), ("deepsleep", 900000)]
    assert raises(Restart, lambda: rig.power.sleep(400000)).args == ("deepsleep", 86400000)
    assert raises(Restart, lambda: rig.power.sleep(0)).args == ("deepsleep", 1)


def case_a_held_button_does_not_wake_at_once(ctx):
    rig = opened(ctx, "esp32")
    ctx.bench.levels[27] = 0
    raises(Restart, lambda: rig.power.sleep(900))
    assert [event[0] for event in ctx.bench.events] == ["deepsleep"]


def case_restart_resets(ctx):
    assert raises(Restart, lambda: opened(ctx).power.restart()).args[0] == "reset"


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
    assert raises(Restart, lambda: rig.power.sleep(900)).args[0] == "power cut"
    acts = [event for event in ctx.bench.events if event[0] in ("i2c", "pin")]
    assert [a[2] for a in acts[:5]] == [b"\x11\x18", b"\x10\x10", b"\x03\x3c", b"\x11\x1e", b"\x01\x00"], acts
    assert acts[5][:3] == ("pin", 15, 0) and len(acts) == 6
    assert chip.registers[0x10] == 16 and chip.registers[0x11] == 0x1E and chip.registers[1] == 0


def case_countdowns_of_the_latch(ctx):
    for s, count, mode, whole in (
        (0, 2, 0x16, 0x3C),
        (30, 31, 0x16, 0x3C),
        (254, 255, 0x16, 0x3C),
        (255, 6, 0x1E, 0x3C),
        (600, 11, 0x1E, 0x3C),
        (601, 12, 0x1E, 0x3C),
        (15240, 255, 0x1E, 0x3C),
        (15241, 255, 0x1E, 0),
        (99999, 255, 0x1E, 0),
    ):
        ctx.bench.clear()
        rig, chip = _latched(ctx, False)
        raises(Restart, lambda: rig.power.sleep(s))
        assert (chip.registers[0x10], chip.registers[0x11], chip.registers[3]) == (count, mode, whole), s


def case_a_wake_of_the_latch_counts_once(ctx):
    rig, chip = _latched(ctx, False)
    raises(Restart, lambda: rig.power.sleep(900))
    chip.registers[1] = 0x08
    assert _cause(ctx, "latched", 1) == 2
    # The application fails and the board starts again, its flag still up: no second sleep has been slept.
    assert _cause(ctx, "latched", 1) == 0
    raises(Restart, lambda: ctx.open(ctx.board("latched")).power.sleep(99999))
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
    assert raises(Restart, lambda: rig.power.sleep(900)).args[0] == "soft reset"
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
        assert raises(Restart, lambda: rig.power.sleep(60)).args[0] == "soft reset"
        assert ctx.bench.now_us - start_us >= 60000000
        assert (15, 0) not in ctx.bench.writes(), fault


def case_a_latched_board_restarts_without_dropping_its_power(ctx):
    rig, _ = _latched(ctx, False)
    assert raises(Restart, lambda: rig.power.restart()).args[0] == "soft reset"
    assert ctx.bench.writes(15) == []


def case_the_external_clock_keeps_the_time(ctx):
    rig, chip = _latched(ctx, True)
    assert rig.clock.utc_s() == 0  # its oscillator had stopped
    rig.clock.set_utc(1795591393)
    assert bytes(chip.registers[4:11]) == b"\x13\x23\x07\x25\x03\x11\x26"
    assert rig.clock.utc_s() == 1795591393
    chip.registers[4] |= 0x80  # it has stopped since
    assert rig.clock.utc_s() == 0
    chip.registers[4] &= 0x7F
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
