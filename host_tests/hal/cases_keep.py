"""Battery, clock, panel, radio, files."""

from casekit import opened, raises


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

    # In CPython another test of the same process may have brought it.
    had = "network" in sys.modules
    assert opened(ctx).radio.reach() is False
    assert had or "network" not in sys.modules


def _listed(ctx):
    """What is really in the folder, left-overs and all."""
    import os

    return sorted(os.listdir(ctx.folder + "data"))


def case_store_replaces_and_appends(ctx):
    store = opened(ctx).store
    assert store.names() == [] and store.read("log") is None and store.size("log") == 0
    store.replace("settings.json", b"{}")
    store.replace("settings.json", b"{1}")
    store.write("slot", b"longer")
    store.write("slot", b"short")
    assert store.read("slot") == b"short"
    store.remove("slot")
    store.append("log", b"abc")
    store.append("log", b"def")
    assert store.read("settings.json") == b"{1}" and store.read("log") == b"abcdef"
    assert (
        store.read_part("log", 1, 3) == b"bcd"
        and store.read_part("log", 4, 9) == b"ef"
        and store.read_part("log", 7, 2) == b""
    )
    assert _listed(ctx) == ["log", "settings.json"]
    assert store.size("log") == 6 and store.names() == ["log", "settings.json"]
    store.remove("log")
    assert store.names() == ["settings.json"] and store.free_bytes() > 0
    raises(OSError, lambda: store.remove("log"))
    raises(OSError, lambda: store.read_part("log", 0, 1))
    for name in ("", "a/b", "..", "/main.py"):
        raises(ValueError, lambda: store.read(name))


def case_a_file_with_a_folder_to_itself(ctx):
    store = opened(ctx).store
    store.write("@ledger", b"1")
    store.write("other", b"2")
    assert store.read("@ledger") == b"1" and store.names() == ["other"] and store.size("@ledger") == 1
    store.remove("@ledger")
    assert store.read("@ledger") is None


def case_a_write_that_fails_keeps_the_old_file(ctx):
    store = opened(ctx).store
    store.replace("ledger", b"old")
    write = store._write

    def half(path, mode, data):
        write(path, mode, data[:1])
        raise OSError(28)

    store._write = half
    fault = raises(OSError, lambda: store.replace("ledger", b"new"))
    assert fault.args[0] == 28 and _listed(ctx) == ["ledger"]
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


def case_installed_files_are_summed(ctx):
    code = opened(ctx).code
    assert code.manifest() is None and code.crc("nowhere.py") == -1
    for text, files in (('{"files": {"main.py": 7}}', {"main.py": 7}), ("{", 0), ("[]", 0), ("{}", 0)):
        with open(ctx.folder + "manifest.json", "w") as file:
            file.write(text)
        assert code.manifest() == files, text
    with open(ctx.folder + "check", "wb") as file:
        file.write(b"123456789")
    assert code.crc("check") == 0xCBF43926  # the usual check value of CRC-32
    with open(ctx.folder + "check", "wb") as file:
        file.write(b"123456789" * 200)
    assert code.crc("check") == 0x6A317D1B


def case_a_manifest_that_can_not_be_opened_is_no_missing_one(ctx):
    import os

    code = opened(ctx).code
    os.mkdir(ctx.folder + "manifest.json")
    assert code.manifest() == 0
