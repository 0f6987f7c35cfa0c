"""The simulated rig behind the virtual board's pins: probes, pumps, battery, and a person's hands."""

import json
import time

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.virtual import imagefile
from virtual_kit import heard


@pytest.mark.parametrize("name", boards.names())
def test_the_boards_own_adapters_read_what_the_world_senses(start, talk, name):
    """Every adapter of hal, on the simulated chip's registers; the readings have to match the world's to their
    resolution."""
    files = imagefile.as_sent() | {"board.json": boards.load(name).device_json().encode()}
    del files["main.py"]
    board = start(name, files)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec("from potreeve import hal\nrig = hal.open_rig()\nb = [0] * 9")
    assert board.wiring.running == []
    board.skip(12 * 3600)  # to noon
    seen = board.sense()
    assert seen.lx > 300
    cdeg, rh_pm = link.eval("rig.climate.read()")
    assert abs(cdeg - seen.temp_cdeg) <= 12 and abs(rh_pm - seen.rh_pm) <= 12
    assert abs(link.eval("rig.light.read_lx()") - seen.lx) <= max(4, seen.lx // 100)
    assert abs(link.eval("rig.battery.read_mv()") - seen.battery_mv) <= 15
    for channel in range(len(board.world.channels)):
        link.exec(f"n = rig.probes.burst({channel}, b)")
        got = link.eval("b")
        assert max(abs(a - b) for a, b in zip(sorted(got), sorted(seen.probe_raw[channel]), strict=True)) < 1500
    before = [pot["given_ml"] for pot in board.truth()["pots"]]
    # The tube has to fill first.
    assert abs(link.eval("rig.pumps.pulse(1, 8000, lambda: None)") - 8000) <= 40
    after = [pot["given_ml"] for pot in board.truth()["pots"]]
    assert after[1] > before[1] + 3 and after[0] == before[0] and after[2] == before[2]
    assert [channel for channel, _ in board.wiring.pulses] == [1] and 3000 < link.eval(
        "rig.pumps.sag_mv"
    ) < seen.battery_mv
    assert link.eval("rig.clock.utc_s()") == board.sense().utc_s


def test_an_htu21d_tells_what_the_world_senses(start, talk):
    device = boards.load("rp2040_wifi").device_dict()
    device["sensors"].update(climate="htu21d", climate_address=0x40)
    files = imagefile.as_sent() | {"board.json": json.dumps(device).encode()}
    del files["main.py"]
    board = start("rp2040_wifi", files)
    board.wiring.board["sensors"].update(device["sensors"])
    board.wiring.chips.update(board.wiring._make_chips())
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec("from potreeve import hal\nrig = hal.open_rig()")
    cdeg, rh_pm = link.eval("rig.climate.read()")
    seen = board.sense()
    assert abs(cdeg - seen.temp_cdeg) <= 12 and abs(rh_pm - seen.rh_pm) <= 12


def test_probes_that_pulse_are_counted_as_on_a_board(start, talk):
    device = boards.load("rp2040_wifi").device_dict()
    device["pins"].update(probe_kind="pulses", probes=[2, 3, 6], probe_select=[], probe_adc=-1)
    files = imagefile.as_sent() | {"board.json": json.dumps(device).encode()}
    del files["main.py"]
    board = start("rp2040_wifi", files)
    board.wiring.pins.update(device["pins"])
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec("from potreeve import hal\nrig = hal.open_rig()\nb = [0] * 9\nn = rig.probes.burst(1, b)")
    seen, got = sorted(board.sense().probe_raw[1]), sorted(link.eval("b"))
    assert max(abs(a - b) for a, b in zip(got, seen, strict=True)) < 1500


def test_a_pump_on_a_weak_battery_browns_the_board_out(start, talk):
    board = start(usb=False)
    board.do(setattr, board.world, "least_mv", 4190)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec_raw_no_follow(
        "import time\nfrom machine import Pin\nPin(10, Pin.OUT, value=1)\nPin(6, Pin.OUT, value=1)\ntime.sleep(3)"
    )
    heard(link, b">>> ")
    assert board.log == ["power on", "brown-out"] and board.wiring.running == []
    assert [(channel, ms < 50) for channel, ms in board.wiring.pulses] == [(0, True)]


def test_an_empty_battery_is_the_end_until_there_is_another(start, talk):
    board = start(usb=False, asleep=3600.0)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    board.do(setattr, board.world, "least_mv", 9999)
    link.exec_raw_no_follow("import machine\nmachine.lightsleep(5000)")
    assert board.wait(lambda: board.log[-1] == "battery empty") and board.wait(lambda: board.asleep)
    board.do(setattr, board.world, "least_mv", 1800)
    assert board.wait(lambda: board.log[-1] == "woke", 5)


def test_a_pump_left_on_runs_until_the_reset(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec(
        "import time\nfrom machine import Pin\nPin(10, Pin.OUT, value=1)\nPin(6, Pin.OUT, value=1)\ntime.sleep(3)"
    )
    assert board.wiring.running == [0]
    board.hard_reset()
    assert board.wiring.running == [] and [(channel, round(ms, -2)) for channel, ms in board.wiring.pulses] == [
        (0, 3000)
    ]


PUMP_ON = "import time, machine\nfrom machine import Pin\ne = Pin(10, Pin.OUT, value=1)\np = Pin(6, Pin.OUT, value=1)\n"


def test_a_pumps_time_passes_at_once_where_it_is_to_hurry(start, talk):
    board = start(awake=1.0, hurry=True)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    began = time.monotonic()
    link.exec(PUMP_ON + "a = time.ticks_ms()\nfor _ in range(50): time.sleep_ms(600)\np.off()\nb = time.ticks_ms()")
    assert time.monotonic() - began < 15
    assert 30_000 <= link.eval("time.ticks_diff(b, a)") < 40_000
    (pulse,) = board.wiring.pulses
    assert pulse[0] == 0 and 30_000 <= pulse[1] < 40_000 and board.world.now_s >= 30
    # With the pump off, time is as real as ever.
    began = time.monotonic()
    link.exec("time.sleep_ms(500)")
    assert time.monotonic() - began >= 0.45


def test_of_the_battery_one_question_brings_sixteen_readings_and_none_that_is_stale(start, talk):
    board = start()
    asked, read = [], board.wiring.read_u16
    board.wiring.read_u16 = lambda pin: (asked.append(pin), read(pin))[1]
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec("import machine, time\na = machine.ADC(27)\nr = lambda n: [a.read_u16() for _ in range(n)]")
    for code, questions in (("r(16)", 1), ("r(17)", 2), ("r(1) + [time.sleep_ms(1)] + r(1)", 2)):
        asked.clear()
        readings = link.eval(code)
        assert asked == [27] * questions and all(readings[:1] + readings[-1:]), code
    resting = link.eval("r(1)[0]")
    link.exec(PUMP_ON + "under = r(16)\np.off()")
    assert link.eval("max(under)") < resting


def test_hands_at_the_rig_do_what_a_calibration_asks_for(start, capsys):
    """By the lines that `potreeve virtual-board` takes."""
    from potreeve_tools.commands import virtual_board
    from potreeve_tools.virtual.hands import Hands

    board = start()
    hands = Hands(board)
    assert virtual_board._handle(hands, "lift", "cherry", "tomato") and not board.world.channels[2].present
    assert virtual_board._handle(hands, "soak", "cherry", "tomato") and board.world.channels[2].present
    assert board.truth()["pots"][2]["moisture_pm"] == pytest.approx(1000, abs=80), "container capacity"
    board.do(board.world.pulse, 0, 4000)
    assert virtual_board._handle(hands, "cups")
    first = capsys.readouterr().err
    assert first.startswith("  mint ") and not first.startswith("  mint 0 ml") and "strawberry 0 ml" in first
    assert virtual_board._handle(hands, "cups")
    assert "mint 0 ml" in capsys.readouterr().err, "the cup was emptied"
    assert virtual_board._handle(hands, "low", "mint") and board.world.channels[0].line.drop_mm == 0.0
    assert virtual_board._handle(hands, "up", "mint") and board.world.channels[0].line.drop_mm is None
    assert not virtual_board._handle(hands, "press", "300")
    with pytest.raises(ValueError):
        virtual_board._handle(hands, "lift", "basil")
