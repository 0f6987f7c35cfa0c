"""Time on the virtual board: watchdog, timers, light and deep sleep, and how fast it goes by."""

import io
import time

import pytest
from mpremote.transport import TransportExecError
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.virtual import imagefile
from potreeve_tools.world.rigfile import load_rig
from virtual_kit import heard


def test_the_watchdog_bites_in_a_sleep_and_at_the_prompt(start, talk):
    board = start(awake=40, asleep=40)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec("import machine, time\nw = machine.WDT(timeout=8000)\nfor _ in range(4):\n time.sleep(4)\n w.feed()")
    assert board.log == ["power on"]
    assert board.wait(lambda: board.log == ["power on", "watchdog"], 3)
    link.enter_raw_repl(soft_reset=False)
    link.exec("import machine")
    assert link.eval("machine.reset_cause() == machine.WDT_RESET")
    assert link.eval("machine.mem32[0x4005801c] & 0xffffffff") == 0x6AB73121
    with pytest.raises(TransportExecError):
        link.exec("machine.WDT(timeout=8389)")


def test_timers_without_a_number_are_two_before_they_run(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec(
        "import machine\nn = 0\ndef tick(t):\n global n\n n += 1\none, other = machine.Timer(-1), machine.Timer(-1)"
    )
    link.exec("other.init(mode=machine.Timer.PERIODIC, period=1000, callback=tick)\none.deinit()")
    board.skip(1)
    time.sleep(0.05)
    assert link.eval("n") == 1


def test_a_board_that_feeds_its_watchdog_outlives_a_skip(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec("import machine\nw = machine.WDT(timeout=8000)\nt = machine.Timer(-1)")
    link.exec("t.init(mode=machine.Timer.PERIODIC, period=500, callback=lambda t: w.feed())")
    board.skip(150)
    assert "watchdog" not in board.log
    link.exec("t.deinit()")
    board.skip(20)
    assert board.wait(lambda: "watchdog" in board.log)


def test_a_timer_is_heard_while_the_prompt_waits(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec(
        "import machine\nn = 0\ndef tick(t):\n global n\n n += 1\nt = machine.Timer(-1, mode=machine.Timer.PERIODIC, "
        "period=1000, callback=tick)"
    )
    for _ in range(3):
        board.skip(1)
        time.sleep(0.05)
    assert link.eval("n") == 3
    link.exec("t.deinit()")
    board.skip(5)
    assert link.eval("n") == 3


def test_time_passes_only_in_sleeps_and_repeats_itself(start, talk):
    def once():
        link = talk(start())
        link.enter_raw_repl(soft_reset=False)
        return link.exec(
            "import time, machine\na = time.ticks_ms()\ntime.sleep(7)\nb = time.ticks_ms()\nmachine.lightsleep(60000)\n"
            "print(time.ticks_diff(b, a), time.ticks_diff(time.ticks_ms(), b), time.ticks_ms())"
        )

    assert once() == once() == b"7000 60000 67000\r\n"


def test_each_press_in_light_sleep_gives_both_its_edges(start, talk):
    """A press that never ends hides all presses after it."""
    board = start(usb=False, asleep=1.0)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec(
        "import machine, time\nfrom machine import Pin\nseen = []\nbutton = Pin(14, Pin.IN, Pin.PULL_UP)\n"
        "button.irq(lambda pin: seen.append(pin.value()), Pin.IRQ_FALLING | Pin.IRQ_RISING)"
    )
    for times in (1, 2, 3):
        link.exec_raw_no_follow(f"while len(seen) < {2 * times}:\n    machine.lightsleep(60000)\nprint(seen)")
        assert board.wait(lambda: board.asleep)
        board.press(300)
        assert link.follow(5)[0].strip() == str([0, 1] * times).encode()


def test_deep_sleep_ends_by_its_time_or_the_button(start, talk):
    board = start(
        "esp32", {"main.py": b"import machine, esp32\nprint('cause', machine.reset_cause(), machine.wake_reason())\n"}
    )
    link = talk(board)
    heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    link.exec_raw_no_follow("import machine\nmachine.deepsleep(3600000)")
    said = heard(link, b">>> ")
    assert b"cause 4 4" in said and board.log == ["power on", "woke"] and 3600 <= board.time.now_us() / 1e6 < 3601
    board.time.asleep = 1.0
    link.enter_raw_repl(soft_reset=False)
    link.exec_raw_no_follow(
        "import machine, esp32\nesp32.wake_on_ext0(pin=machine.Pin(27), "
        "level=esp32.WAKEUP_ALL_LOW)\nmachine.deepsleep(3600000)"
    )
    assert board.wait(lambda: board.asleep)
    board.press(200)
    assert b"cause 4 2" in heard(link, b">>> ")


def test_a_latched_board_goes_off_and_its_clock_brings_it_back(start, talk):
    files = imagefile.as_sent() | {"board.json": boards.load("latched").device_json().encode()}
    files["main.py"] = (
        b"from potreeve import hal\nrig = hal.open_rig()\nprint('cause', rig.power.cause, rig.clock.utc_s())\n"
    )
    board = start("latched", files, usb=False)
    link = talk(board)
    heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    link.exec_raw_no_follow("rig.power.sleep(1200)")
    said = heard(link, b">>> ")
    cause, utc_s = said.split(b"cause ")[1].split()[:2]
    assert cause == b"2" and board.log == ["power on", "power cut", "woke"]
    assert abs(int(utc_s) - board.sense().utc_s) <= 1 and 1200 <= board.time.now_us() / 1e6 < 1320


def test_however_fast_its_sleep_goes_by_nothing_due_is_overshot(start, tmp_path):
    """A hundred thousand times as fast, a millisecond of the desktop's is a hundred seconds: the watchdog would have
    bitten."""
    board = boards.load("rp2040_wifi")
    imagefile.install(tmp_path / "ready.img", board, commission.make_settings(load_rig(), board.device_dict(), 1))
    board = start(image=tmp_path / "ready.img", usb=False, awake=1.0, asleep=1e5)
    assert board.wait(lambda: board.world.now_s > 4 * 3600, 60)
    assert board.log == ["power on"]


def test_asleep_it_hears_nothing_until_the_button_wakes_it(start, talk):
    board = start(asleep=1.0)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec(
        "from machine import Pin\nimport machine\np = Pin(14, Pin.IN, Pin.PULL_UP)\np.irq(lambda _: None, "
        "Pin.IRQ_FALLING)"
    )
    link.exec_raw_no_follow("machine.lightsleep(600000)\nprint('woken')")
    assert board.wait(lambda: board.asleep)
    link.serial.write(b"\x03\x03")
    time.sleep(0.2)
    assert board.asleep
    board.press(100)
    assert link.follow(5)[0] == b"woken\r\n"


def test_words_typed_beside_it(start, capsys, monkeypatch):
    from potreeve_tools.commands import virtual_board

    board = start()
    before_s = board.truth()["t_s"]
    monkeypatch.setattr("sys.stdin", io.StringIO("skip 600\nlift mint\nskip never\nlook\n"))
    virtual_board._follow(board)
    said = capsys.readouterr().err
    assert 600 <= board.truth()["t_s"] - before_s < 660 and not board.world.channels[0].present
    assert said.count("skip SECONDS") == 1 and "day 0.01 of the rig" in said


def test_a_press_just_before_light_sleep_ends_it(start, talk):
    """The interrupt is still pending then: the chip does not fall asleep over it."""
    board = start(usb=False, asleep=1.0)
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec(
        "import machine\nfrom machine import Pin\nseen = []\nbutton = Pin(14, Pin.IN, Pin.PULL_UP)\n"
        "button.irq(lambda pin: seen.append(pin.value()), Pin.IRQ_FALLING | Pin.IRQ_RISING)"
    )
    link.exec_raw_no_follow(
        "for _ in range(3000000):\n    pass\nwhile len(seen) < 2:\n    machine.lightsleep(60000)\nprint(seen)"
    )
    assert board.wait(lambda: board.running and not board.asleep)
    board.press(4000)
    assert link.follow(15)[0].strip() == b"[0, 1]"
