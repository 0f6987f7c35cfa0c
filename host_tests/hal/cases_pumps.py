"""Pulses: the order of the switches, and off whatever happens."""

from casekit import ALL_OFF, ENABLE, PUMPS, nothing, opened, raises
from ends import Restart


def case_a_pulse_switches_in_order_and_reports_its_time(ctx):
    rig = opened(ctx)
    feeds = []
    actual_ms = rig.pumps.pulse(1, 1500, lambda: feeds.append(ctx.bench.now_us))
    assert ctx.bench.writes(*PUMPS + (ENABLE,)) == [(10, 1), (7, 1)] + ALL_OFF
    on, off = [event[3] for event in ctx.bench.events if event[:2] == ("pin", 7)]
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
        on = [event[3] for event in ctx.bench.events if event[:3] == ("pin", 8, 1)]
        off = [event[3] for event in ctx.bench.events if event[:3] == ("pin", 8, 0)]
        if on and at_ms < 290:
            assert off[0] - start_ms - at_ms <= 1, (at_ms, off)


def case_an_exception_in_the_feed_leaves_everything_off(ctx):
    rig = opened(ctx)

    def bad():
        raise RuntimeError("feed")

    raises(RuntimeError, lambda: rig.pumps.pulse(0, 1000, bad))
    assert ctx.bench.writes(*PUMPS + (ENABLE,)) == [(10, 1), (6, 1)] + ALL_OFF


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
    return [event[3] - start_ms for event in ctx.bench.events if event[:3] == ("pin", 6, 0)][0]


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
    assert ctx.bench.writes(*PUMPS + (ENABLE,)) == [(10, 1), (6, 1)] + ALL_OFF


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
    fault = raises(Restart, lambda: _hang(ctx, rig))
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
    assert ctx.bench.writes() == [(6, 1), (6, 0), (7, 0), (8, 0)]


def case_one_bad_pin_does_not_keep_the_others_on(ctx):
    rig = opened(ctx)

    class Dead:
        def value(self, level):
            raise RuntimeError("pin")

    rig.pumps._pins[0] = Dead()
    ctx.hal._pump_pins[1] = Dead()
    rig.pumps.all_off()
    assert ctx.bench.writes() == [(7, 0), (8, 0), (10, 0)]
    ctx.bench.events.clear()
    ctx.hal.pumps_off()
    assert ctx.bench.writes() == [(10, 0), (7, 0), (8, 0)]


def case_a_pulse_across_the_wrap_of_the_ticks(ctx):
    ctx.bench.now_us = ((1 << 30) - 250) * 1000
    rig = opened(ctx)
    assert 1000 <= rig.pumps.pulse(0, 1000, nothing) <= 1025
