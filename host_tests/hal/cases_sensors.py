"""Probes, air and light."""

import devices
from casekit import opened, raises


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
    # Another one is plugged in: its own calibration must be read.
    ctx.bench.devices[0x76] = devices.Bme280()
    ctx.bench.devices[0x76].registers[0x88:0x8A] = b"\x00\x6b"
    cdeg, _ = rig.climate.read()
    assert cdeg == 2564  # by the double-precision formula 25.644


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


def case_htu21d_from_bytes_to_degrees(ctx):
    board = ctx.board("rp2040_wifi")
    board["sensors"].update({"climate": "htu21d", "climate_address": 0x40})
    rig = ctx.open(board)
    assert rig.climate.read() is None
    chip = devices.InTurn({b"\xf3": b"\x68\x3a\x7c", b"\xf5": b"\x4e\x85\x6b"})
    ctx.bench.devices[0x40] = chip
    start_us = ctx.bench.now_us
    assert rig.climate.read() == (2469, 323)
    assert ctx.bench.now_us - start_us >= 114000, "85 ms and 29 ms"
    assert chip.commands == [b"\xf3", b"\xf5"]
    chip.given[b"\xf5"] = b"\x4e\x85\x6a"
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
