"""One wake of app.py on a fake rig: its order, its failures, what it never does."""

import kit
import pytest
from fake_rig import FakeRig, records, thirsty, wake
from potreeve import app
from potreeve.logic import errors, ledger, reasons, record, stages, timekeep


def test_the_order_of_a_wake_with_a_dose():
    rig = thirsty()
    session, _ = wake(rig)
    told = [event[0] for event in rig.events]
    ledger_writes = [at for at, event in enumerate(rig.events) if event[0] == "write" and event[1] in ledger.SLOTS]
    log_at = next(at for at, event in enumerate(rig.events) if event[0] == "replace" and event[1].startswith("log."))
    pulse_at = told.index("pulse")
    report_at = told.index("report")
    assert ledger_writes[0] < log_at < pulse_at < ledger_writes[1] < report_at
    assert "all_off" in told[: told.index("read")] or told[pulse_at + 1] == "feed"
    assert session.stage == stages.REPORTED
    # One feed after each of the six stages and each probe, one from inside the pulse, one before asking for a broker
    # and one before each look at the queue.
    assert told.count("feed") == 6 + 2 + 1 + 1 + 2


def test_pumps_go_off_before_anything_is_read():
    rig = thirsty()
    rig.power.sleep = lambda seconds: (_ for _ in ()).throw(KeyboardInterrupt)
    with pytest.raises(KeyboardInterrupt):
        app.run(rig)
    assert rig.events[0] == ("all_off",)


def test_the_intent_is_on_flash_before_the_pump_runs_and_closed_after_it():
    rig = thirsty()
    wake(rig)
    ((_, channel, ms, intent),) = rig.pulses()
    assert intent[channel] == ms > 0
    assert rig.open_intent() == [0, 0]


def test_what_came_of_a_pulse_reaches_the_next_wake():
    rig = thirsty()
    session, seconds = wake(rig)
    ms = rig.pulses()[0][2]
    session.sleep(seconds)
    session.wake()
    head, pots = records(rig)[1]
    assert pots[0]["done_ms"] == ms
    assert pots[0]["under_mv"] == 3700
    assert pots[1]["done_ms"] == record.NOT_RUN
    assert session.state.rig.sag_mv == 200
    # From the start of one wake to the start of the next: the pulse, the panel's flash and the sleep.
    assert head["elapsed_s"] == (ms + 150 + seconds * 1000) // 1000


def test_a_wake_whose_ledger_fails_does_not_pump():
    rig = thirsty()
    rig.store.fails = lambda count, call, name: call == "write" and name in ledger.SLOTS
    session, _ = wake(rig)
    assert rig.pulses() == []
    assert session.errors & errors.LEDGER
    assert session.state.pots[0].intent_ms == 0, "an intent that was never stored stays open"
    assert session.state.pots[0].spent[0] > 0, "what was charged stays charged"
    session.wake()
    assert records(rig)[-1][0]["errors"] & errors.LEDGER


def test_a_pulse_that_raises_counts_in_full_and_leaves_pumps_off():
    rig = thirsty()

    def break_down(channel, ms, feed):
        rig.pumping = True
        raise OSError(5)

    rig.pumps.pulse = break_down
    session, seconds = wake(rig)
    assert not rig.pumping
    assert session.errors & errors.PUMP
    session.sleep(seconds)
    session.wake()
    assert records(rig)[-1][1][0]["done_ms"] > 0
    assert session.state.pots[0].spent[0] > 0


@pytest.mark.parametrize("fault", [KeyboardInterrupt, SystemExit])
def test_ctrl_c_in_mid_pulse_leaves_the_intent_open_for_the_next_start(fault):
    rig = thirsty()

    def interrupted(channel, ms, feed):
        raise fault

    rig.pumps.pulse = interrupted
    with pytest.raises(fault):
        wake(rig)
    assert rig.open_intent()[0] > 0
    rig.pumps.pulse = rig.pulse
    rig.power.cause = timekeep.POWER_ON
    session, _ = wake(rig)
    assert session.state.pots[0].intent_ms == 0
    assert session.state.pots[0].judge == 1, "found open: it waits for its proof like any other pulse"
    assert rig.pulses() == []


ADAPTERS = [
    ("battery", "read_mv", errors.BATTERY),
    ("climate", "read", errors.CLIMATE),
    ("light", "read_lx", errors.LIGHT),
    ("probes", "burst", errors.PROBE),
    ("clock", "utc_s", errors.CLOCK),
    ("panel", "led", errors.PANEL),
    ("power", "usb", errors.PANEL),
    ("panel", "button", errors.PANEL),
    ("radio", "report", errors.RADIO),
]


@pytest.mark.parametrize(("part", "call", "bit"), ADAPTERS)
def test_the_wake_goes_on_without_a_device_that_fails_and_says_so(part, call, bit):
    rig = FakeRig(2, kit.make_data(2))
    rig.keep_state(kit.make_state(2))

    def fail(*args):
        raise OSError(5)

    setattr(getattr(rig, part), call, fail)
    session, seconds = wake(rig)
    session.sleep(seconds)
    session.wake()
    assert session.stage == stages.REPORTED
    assert records(rig)[-1][0]["errors"] & bit
    assert not rig.pumping


def test_devices_that_answer_with_nothing_are_named_in_the_record():
    rig = FakeRig(2, kit.make_data(2))
    rig.keep_state(kit.make_state(2))
    rig.climate.read = lambda: None
    rig.light.read_lx = lambda: -1
    rig.battery_mv = 0
    wake(rig)
    head, _ = records(rig)[0]
    assert head["errors"] == errors.CLIMATE | errors.LIGHT | errors.BATTERY
    assert (head["temp_cdeg"], head["rh_pm"], head["lx"]) == (record.NO_TEMP, record.NO_RH, record.NO_LX)


def test_a_probe_that_fails_reads_as_shorted_never_as_dry():
    rig = thirsty()

    def half_done(channel, buf):
        buf[0] = kit.raw_at(300)
        raise OSError(5)

    rig.probes.burst = half_done
    session, _ = wake(rig)
    assert records(rig)[0][1][0]["raw"] == 0
    assert rig.pulses() == []


def test_code_that_is_not_what_was_installed_gives_no_water():
    rig = thirsty()
    rig.code.manifest = lambda: {"potreeve/app.mpy": 1}
    rig.code.crc = lambda path: 2
    wake(rig)
    assert rig.pulses() == []
    head, _ = records(rig)[0]
    assert head["errors"] & errors.CODE
    assert head["hold"] == reasons.DAMAGED


def test_a_reset_proves_no_time_and_a_timer_wake_most_of_its_sleep():
    for cause, proven_s in (
        (timekeep.POWER_ON, 0),
        (timekeep.WATCHDOG, 0),
        (timekeep.BUTTON, 0),
        (timekeep.TIMER, 1710),
    ):
        rig = FakeRig(2, kit.make_data(2), keeps_ram=0, cause=cause)
        rig.keep_state(kit.make_state(2))
        wake(rig)
        assert records(rig)[0][0]["elapsed_s"] == proven_s, cause


def test_parts_of_a_second_are_carried_to_the_next_wake():
    rig = FakeRig(1, kit.make_data(1))
    rig.pms = [960]
    rig.keep_state(kit.make_state(1))
    session = app.Session(rig)
    started_s = session.state.rig.up_s
    rig.power.sleep = lambda seconds: (rig.pass_ms(1449), 0)
    for _ in range(10):
        session.wake()
        session.sleep(1)
    # Each wake flashes the LEDs for 150 ms; nine sleeps and nine flashes lie between ten readings.
    assert session.state.rig.up_s - started_s == 9 * (1449 + 150) // 1000


def test_a_wake_is_as_long_as_it_was():
    """Not longer by the part of a second that is carried to the next one."""
    rig = FakeRig(1, kit.make_data(1))
    rig.pms = [960]
    rig.keep_state(kit.make_state(1))
    session = app.Session(rig)
    rig.power.sleep = lambda seconds: (rig.pass_ms(1849), 0)
    for _ in range(10):
        session.wake()
        session.sleep(1)
    # Nothing here takes time but the flash of the LEDs.
    assert {head["awake_ms"] for head, _ in records(rig)[1:]} == {150}


@pytest.mark.parametrize("keeps_ram", [0, 1])
def test_without_settings_no_more_time_is_proven_than_was_slept(keeps_ram):
    """Both settings files unreadable for one wake: the ledger's longer plan must not prove what this sleep did not."""
    rig = FakeRig(1, kit.make_data(1), keeps_ram=keeps_ram, cause=timekeep.KEPT if keeps_ram else timekeep.TIMER)
    rig.keep_state(kit.make_state(1, planned_s=15000))
    begun_s = rig.newest_state().rig.up_s
    kept = dict(rig.store.files)
    rig.store.fails = lambda count, call, name: call == "read" and "settings" in name
    session, seconds = wake(rig)
    session.sleep(seconds)
    slept_s = seconds
    rig.store.fails = lambda count, call, name: False
    rig.store.files.update(kept)
    session = session if keeps_ram else app.Session(rig)
    session.wake()
    assert session.state.rig.up_s - begun_s <= slept_s + 1


def test_a_soak_after_a_press_is_proven_when_the_timer_wakes():
    """Judged at its end, not one soak later: a timer proves less than was slept, whatever woke the board before."""
    rig = thirsty(keeps_ram=0, cause=timekeep.BUTTON)
    session, seconds = wake(rig)
    assert rig.pulses()
    soak_s = session.settings["soak_s"]
    session.sleep(seconds)
    rig.power.cause = timekeep.TIMER
    assert timekeep.proven_s(timekeep.TIMER, rig.newest_state().rig.planned_s, 0) >= soak_s


def test_a_lost_ledger_gives_no_water_and_says_so():
    rig = FakeRig(2, kit.make_data(2))
    rig.pms = [500, 500]
    session, _ = wake(rig)
    assert rig.pulses() == []
    assert records(rig)[0][0]["memory"] == 1
    assert session.state.pots[0].spent[0] == 200 * 10


def test_a_ledger_for_another_number_of_channels_is_no_memory():
    rig = FakeRig(2, kit.make_data(2))
    rig.pms = [500, 500]
    rig.keep_state(kit.make_state(1))
    wake(rig)
    assert rig.pulses() == []
    assert records(rig)[0][0]["memory"] == 1


def test_every_nth_call_of_the_store_failing():
    """Whatever fails once, or from some point on: no crash, no pulse without its stored intent, pumps off."""
    rig = thirsty()
    session, seconds = wake(rig)
    session.sleep(seconds)
    session.wake()
    calls = rig.store.count
    assert calls >= 12
    shown = 0
    for torn in (False, True):
        for nth in range(1, calls + 1):
            for on in (False, True):
                rig = thirsty()
                rig.store.torn = torn
                rig.store.fails = lambda count, call, name, nth=nth, on=on: count == nth or (on and count > nth)
                session, seconds = wake(rig)
                session.sleep(seconds)
                session.wake()
                for _, channel, ms, intent in rig.pulses():
                    assert intent is not None and intent[channel] == ms
                    shown += 1
                assert not rig.pumping
                assert session.stage in (stages.START, stages.REPORTED)
    assert shown > calls, "hardly any wake got as far as a pulse"


def test_without_settings_nothing_runs_until_there_are_some():
    rig = FakeRig(2)
    rig.store.files["settings.json"] = b"{"
    session = app.Session(rig)
    assert session.wake() == app.NO_SETTINGS_S
    assert ("led", "warn", 1) in rig.events
    assert not any(event[0] in ("pulse", "write", "append") for event in rig.events)


def test_settings_that_arrive_later_are_found_at_the_next_look():
    rig = FakeRig(2)
    session = app.Session(rig)
    session.sleep(session.wake())
    rig.store.files["settings.json"] = FakeRig(2, kit.make_data(2)).store.files["settings.json"]
    session.wake()
    assert session.settings and session.stage == stages.REPORTED


def test_a_deep_sleep_after_a_failed_ledger_proves_no_more_than_was_slept():
    """The ledger still speaks of the sleep before; a short one must not pass for that long one."""
    rig = thirsty(keeps_ram=0, cause=timekeep.TIMER)
    before = kit.make_state(2)
    before.rig.planned_s = 7200
    rig.keep_state(before)
    rig.store.fails = lambda count, call, name: call == "write"
    _, seconds = wake(rig)
    rig.store.fails = lambda count, call, name: False
    again, _ = wake(rig)
    assert again.state.rig.up_s - before.rig.up_s <= seconds
