"""Floats and a strip in the tub."""

TABLE = {
    "mark1_ml": 500,
    "mark2_ml": 2000,
    "mark3_ml": 0,
    "mark4_ml": 0,
    "full_ml": 8000,
    "open_cm2": 0,
    "strip": [(40000, 0), (35000, 1), (30000, 2)],
}


def _opened(ctx, kind, pins, name="esp32"):
    board = ctx.board(name)
    board["extras"] = {"tub_kind": kind, "tub_pins": pins}
    ctx.bench.adc[board["pins"]["battery_adc"]] = 39718
    rig = ctx.open(board)
    ctx.bench.events.clear()
    return rig


def case_a_board_without_a_tub_sensor_has_none(ctx):
    assert ctx.open(ctx.board("esp32")).tub_sensor is None
    board = ctx.board("esp32")
    board["extras"] = {"tub_kind": "none", "tub_pins": []}
    assert ctx.open(board).tub_sensor is None


def case_floats_close_to_ground_the_lowest_first(ctx):
    rig = _opened(ctx, "floats", [16, 15, 5])
    found = []
    for up in ((), (16,), (16, 15), (16, 15, 5), (15,), (5,)):
        for pin in (16, 15, 5):
            ctx.bench.levels[pin] = 0 if pin in up else 1
        found.append(rig.tub_sensor.read({}))
    assert found == [1, 2, 3, 4, 15, 15]


def case_a_broken_wire_reads_as_down(ctx):
    rig = _opened(ctx, "floats", [16])
    ctx.bench.levels.pop(16, None)
    assert rig.tub_sensor.read({}) == 1


def case_pull_ups_are_on_only_while_floats_are_read(ctx):
    rig = _opened(ctx, "floats", [16, 15])
    assert 16 not in ctx.bench.pulls
    rig.tub_sensor.read({})
    assert ctx.bench.pulls[16] is None and ctx.bench.pulls[15] is None
    assert [event for event in ctx.bench.events if event[0] == "pin"] == []


def case_a_float_that_rocks_is_where_it_mostly_is(ctx):
    rig = _opened(ctx, "floats", [16])
    for shut_ms, mark in ((22, 1), (32, 2)):
        ctx.bench.levels[16] = 0
        ctx.bench.plan(ctx.bench.now_us // 1000 + shut_ms, lambda: ctx.bench.levels.update({16: 1}))
        assert rig.tub_sensor.read({}) == mark, shut_ms
        ctx.bench.pass_us(100000)


def case_a_strip_is_read_with_the_probes_rail_on(ctx):
    rig = _opened(ctx, "strip", [33])
    rail = []

    def counts():
        rail.append(ctx.bench.levels[25])
        return [40000, 34000, 30000, 35000, 10, 34900, 34950, 60000, 34990][len(rail) - 1]

    ctx.bench.adc[33] = counts
    assert rig.tub_sensor.raw() == 34950 and rail == [1] * 9
    assert ctx.bench.levels[25] == 0
    ctx.bench.adc[33] = 30000
    assert rig.tub_sensor.read({"tub": TABLE}) == 3
    assert rig.tub_sensor.read({}) == 15


def case_a_strip_that_fails_reads_as_odd_and_leaves_the_rail_off(ctx):
    rig = _opened(ctx, "strip", [33])

    def gone():
        raise OSError(5)

    ctx.bench.adc[33] = gone
    assert rig.tub_sensor.read({"tub": TABLE}) == 15
    assert ctx.bench.levels[25] == 0
