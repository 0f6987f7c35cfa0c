"""The sensor in the tray: driven only while read, and both ways round for the same time."""

DRIVES, SENSE = (16, 17), 33


def _opened(ctx):
    board = ctx.board("esp32")
    board["extras"] = {"tray_probe": [16, 17, SENSE]}
    ctx.bench.adc[board["pins"]["battery_adc"]] = 39718
    rig = ctx.open(board)
    return rig


def _modes(ctx):
    """The mode each drive was given last: 0 in, 1 out."""
    modes = {}
    for event in ctx.bench.events:
        if event[0] == "mode" and event[1] in DRIVES:
            modes[event[1]] = event[2]
    return [modes.get(pin) for pin in DRIVES]


def case_a_board_without_one_has_none(ctx):
    assert ctx.open(ctx.board("esp32")).tray_sensor is None


def case_no_pin_drives_before_and_after_a_look(ctx):
    rig = _opened(ctx)
    assert _modes(ctx) == [0, 0]
    driven = []
    ctx.bench.adc[SENSE] = lambda: driven.append(_modes(ctx)) or 20000
    rig.tray_sensor.millivolts()
    assert driven and all(modes == [1, 1] for modes in driven)
    assert _modes(ctx) == [0, 0]


def case_current_flows_as_long_one_way_as_the_other(ctx):
    rig = _opened(ctx)
    ways = {(1, 0): 0, (0, 1): 0}
    last = [None, ctx.bench.now_us]

    def look():
        way = tuple(ctx.bench.levels[pin] for pin in DRIVES)
        ways[way] += ctx.bench.now_us - last[1]
        last[:] = [way, ctx.bench.now_us]
        return 40000 if way == (1, 0) else 20000

    ctx.bench.adc[SENSE] = look
    forth, back = rig.tray_sensor.millivolts()
    # What is read each way is kept apart: so a broken wire is told from a shorted one.
    assert forth > 1.9 * back > 0
    assert abs(ways[(1, 0)] - ways[(0, 1)]) <= 1000 and ways[(1, 0)] >= 10000


def case_a_converter_that_fails_leaves_no_wire_driven(ctx):
    rig = _opened(ctx)

    def gone():
        raise OSError(5)

    ctx.bench.adc[SENSE] = gone
    try:
        rig.tray_sensor.millivolts()
        raise AssertionError("the fault was swallowed")
    except OSError:
        pass
    assert _modes(ctx) == [0, 0]
