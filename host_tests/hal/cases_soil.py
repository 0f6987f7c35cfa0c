"""The soil's thermometer: asked for ten bits, waited for, and never believed unseen."""

import devices

PIN = 15
WARM = b"\x91\x01\x7f\x80\x3f\xff\x0c\x10\x1f"
NO_TEMP = -32768


def _opened(ctx, chip=None):
    board = ctx.board("rp2040_wifi")
    board["extras"] = {"soil_pin": PIN}
    ctx.bench.adc[board["pins"]["battery_adc"]] = 39718
    rig = ctx.open(board)
    if chip:
        ctx.bench.wires[PIN] = chip
    return rig


def case_a_board_without_a_thermometer_has_none(ctx):
    rig = ctx.open(ctx.board("rp2040_wifi"))
    assert rig.soil_sensor is None and not rig.extras
    board = ctx.board("rp2040_wifi")
    board["extras"] = {"soil_pin": -1}
    assert ctx.open(board).soil_sensor is None


def case_the_soils_warmth_is_read(ctx):
    rig = _opened(ctx, devices.Ds18b20(ctx.bench, WARM))
    began_us = ctx.bench.now_us
    assert rig.extras and rig.soil_sensor.read(None) == 2500
    assert 188000 <= ctx.bench.now_us - began_us < 250000
    said = [event[2] for event in ctx.bench.events if event[0] == "wire"]
    assert said == ["reset", b"\xcc\x4e\x7f\x80\x3f", "reset", b"\xcc\x44", "reset", b"\xcc\xbe"]


def case_a_copy_that_takes_twelve_bits_is_waited_for(ctx):
    rig = _opened(ctx, devices.Ds18b20(ctx.bench, WARM, 750))
    assert rig.soil_sensor.read(None) == 2500 and ctx.bench.now_us >= 750000


def case_one_that_never_ends_is_left(ctx):
    rig = _opened(ctx, devices.Ds18b20(ctx.bench, WARM, None))
    began_us = ctx.bench.now_us
    assert rig.soil_sensor.read(None) == NO_TEMP
    # Far within every watchdog.
    assert ctx.bench.now_us - began_us < 1000000


def case_nobody_answers(ctx):
    rig = _opened(ctx)
    assert rig.soil_sensor.read(None) == NO_TEMP
    ctx.bench.wires[PIN] = devices.Ds18b20(ctx.bench, WARM)
    assert rig.soil_sensor.read(None) == 2500


def case_gone_while_it_measured(ctx):
    chip = devices.Ds18b20(ctx.bench, WARM)
    rig = _opened(ctx, chip)

    def gone():
        chip.there = False

    ctx.bench.plan(ctx.bench.now_us // 1000 + 100, gone)
    assert rig.soil_sensor.read(None) == NO_TEMP


def case_started_anew_it_says_85_degrees_and_is_not_believed(ctx):
    chip = devices.Ds18b20(ctx.bench, devices.Ds18b20.STARTED)
    rig = _opened(ctx, chip)
    assert rig.soil_sensor.read(None) == NO_TEMP


def case_garbled(ctx):
    for place in range(9):
        said = bytearray(WARM)
        said[place] ^= 4
        ctx.fresh()
        assert _opened(ctx, devices.Ds18b20(ctx.bench, bytes(said))).soil_sensor.read(None) == NO_TEMP


def case_a_wire_to_ground(ctx):
    class Ground:
        def reset(self):
            return True

        def write(self, data):
            pass

        def read_bit(self):
            return 0

        def read_byte(self):
            return 0

    assert _opened(ctx, Ground()).soil_sensor.read(None) == NO_TEMP
