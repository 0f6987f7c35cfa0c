"""The virtual board behaves as a board does, seen through mpremote's own transport."""

import math
import os
import time

import pytest
from mpremote.transport import TransportExecError
from mpremote.transport_serial import SerialTransport
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.rigfile import load_rig

QUICK = {"awake": 0, "asleep": math.inf}
# Every byte value, and more than one block of flash.
AWKWARD = bytes(range(256)) * 20


@pytest.fixture
def start(tmp_path):
    """start(**options) -> a running VirtualBoard with its flash in tmp_path; all are stopped at the end."""
    made = []

    def make(board="rp2040_wifi", files=None, **options):
        image = options.pop("image", tmp_path / f"{len(made)}.img")
        if files:
            with imagefile.Image(image, boards.load(board).flash) as opened:
                for name, data in files.items():
                    opened.write(name, data)
        made.append(VirtualBoard(board, image=image, **{**QUICK, **options}))
        return made[-1].start()

    yield make
    for board in made:
        board.stop()


@pytest.fixture
def talk():
    """talk(board) -> mpremote's SerialTransport; closed at the end."""
    opened = []

    def make(board):
        opened.append(SerialTransport(board.port, timeout=2))
        return opened[-1]

    yield make
    for transport in opened:
        try:
            transport.close()
        except OSError:
            pass  # unplugged


def heard(transport, ending, timeout=5):
    """What comes until `ending`."""
    data = transport.read_until(1, ending, timeout=timeout)
    assert data.endswith(ending), data
    return data


@pytest.mark.parametrize("tcp", [None, 0])
def test_every_call_of_mpremotes_transport_works(start, talk, tcp):
    link = talk(start(tcp=tcp))
    link.enter_raw_repl(soft_reset=True)
    assert link.exec("print(6 * 7)") == b"42\r\n" and link.eval("[1, 'a', None]") == [1, "a", None]
    with pytest.raises(TransportExecError) as fault:
        link.exec("print('before')\n1 / 0")
    assert "ZeroDivisionError" in fault.value.error_output and "virtual" not in fault.value.error_output
    link.fs_mkdir("folder")
    link.fs_writefile("folder/x.bin", AWKWARD)
    assert link.fs_readfile("folder/x.bin") == AWKWARD and link.fs_stat("folder/x.bin").st_size == len(AWKWARD)
    assert link.fs_hashfile("folder/x.bin", "sha256").hex() == __import__("hashlib").sha256(AWKWARD).hexdigest()
    assert [entry.name for entry in link.fs_listdir("/")] == ["folder"]
    assert link.fs_isdir("folder") and link.fs_exists("folder/x.bin") and not link.fs_exists("nothing")
    link.fs_touchfile("y")
    link.fs_rmfile("y")
    with pytest.raises(FileNotFoundError):
        link.fs_readfile("y")
    link.fs_rmfile("folder/x.bin")
    link.fs_rmdir("folder")
    assert link.fs_listdir("/") == []
    link.exit_raw_repl()
    link.enter_raw_repl(soft_reset=False)
    assert link.eval("1") == 1


def test_without_raw_paste_the_plain_raw_prompt_works(start, talk):
    link = talk(start())
    link.use_raw_paste = False
    link.enter_raw_repl(soft_reset=False)
    assert link.exec("print('x' * 3)") == b"xxx\r\n"


def test_a_blank_board_shows_nothing_of_the_machine_it_runs_on(start, talk):
    link = talk(start())
    link.enter_raw_repl(soft_reset=False)
    assert link.eval("__import__('os').listdir('/')") == []
    assert link.eval("__import__('sys').platform") == "rp2"
    assert link.eval("[x for x in ('getenv', 'system', 'VfsPosix') if hasattr(__import__('os'), x)]") == []
    assert link.eval("__import__('sys').path") == ["", ".frozen", "/lib"]
    stat = link.eval("__import__('os').statvfs('/')")
    assert stat[0] == 4096 and stat[2] == 212
    with pytest.raises(TransportExecError):
        link.exec("open('/etc/passwd')")


def test_it_claims_the_version_and_the_modules_it_is_told_to(start, talk):
    link = talk(start(version=(1, 25, 0), radio=False))
    link.enter_raw_repl(soft_reset=False)
    link.exec("import sys, os")
    assert link.eval("tuple(sys.implementation.version)[:2]") == (1, 25) and link.eval("os.uname().release") == "1.25.0"
    with pytest.raises(TransportExecError):
        link.exec("import network")
    other = talk(start(radio=True))
    other.enter_raw_repl(soft_reset=False)
    assert (
        other.exec("import network\nw = network.WLAN(network.WLAN.IF_STA)\nw.active(True)\nprint(w.isconnected())")
        == b"False\r\n"
    )


def test_a_soft_reset_keeps_pins_and_runs_main_only_from_the_friendly_prompt(start, talk):
    board = start(files={"boot.py": b"print('boot ran')\n", "main.py": b"print('main ran')\n"})
    link = talk(board)
    heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    link.exec("from machine import Pin\nPin(10, Pin.OUT, value=1)\nx = 1")
    link.serial.write(b"\x04")
    said = heard(link, b"raw REPL; CTRL-B to exit\r\n>")
    assert b"MPY: soft reboot\r\nboot ran\r\n" in said and b"main ran" not in said and board.wiring.levels[10] == 1
    link.serial.write(b"\x02")
    heard(link, b">>> ")
    link.serial.write(b"\x04")
    said = heard(link, b">>> ")
    assert b"MPY: soft reboot\r\nboot ran\r\nmain ran\r\n" in said and board.wiring.levels[10] == 1
    link.serial.write(b"x\r")
    assert b"NameError" in heard(link, b">>> ")


def test_a_hard_reset_releases_pins_shows_the_banner_and_starts_main(start, talk):
    board = start(files={"main.py": b"print('main ran')\n"})
    link = talk(board)
    heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    link.exec("from machine import Pin, mem32\nPin(10, Pin.OUT, value=1)")
    link.exec_raw_no_follow("import machine\nmachine.reset()")
    said = heard(link, b">>> ")
    assert b"main ran" in said and b"MicroPython v1.29.0" in said and board.wiring.levels == {}
    assert board.log == ["power on", "reset"]


def test_ctrl_c_interrupts_what_runs_and_leads_to_the_prompt(start, talk):
    board = start(files={"main.py": b"n = 0\nwhile True:\n    n += 1\n"})
    link = talk(board)
    assert board.wait(lambda: board.running)
    time.sleep(0.1)
    link.serial.write(b"\x03")
    assert b"KeyboardInterrupt" in heard(link, b">>> ")
    link.enter_raw_repl(soft_reset=False)
    assert link.eval("n > 0")
    link.exec_raw_no_follow("while True: pass")
    time.sleep(0.1)
    link.serial.write(b"\x03")
    assert b"KeyboardInterrupt" in link.follow(5)[1]


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


@pytest.mark.parametrize("power_too", [False, True])
def test_the_cable_pulled_in_mid_transfer_takes_the_port_and_leaves_the_old_file(start, talk, power_too):
    board = start(files={"kept.txt": b"old"})
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    board.unplug(after_bytes=700, power_too=power_too)
    with pytest.raises(Exception) as fault:  # noqa: PT011 - what a vanished port raises depends on the moment
        link.exec("f = open('kept.txt', 'wb')\nw = f.write")
        for _ in range(50):
            link.exec("w(" + repr(b"new" * 60) + ")")
    assert not isinstance(fault.value, AssertionError) and board.port is None
    board.plug()
    again = talk(board)
    again.enter_raw_repl(soft_reset=False)
    assert again.fs_readfile("kept.txt") == b"old" if power_too else again.eval("1") == 1
    assert board.log[:2] == ["power on", "unplugged"]


def test_files_outlive_power_and_can_be_read_from_the_image(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.fs_writefile("a.txt", b"1")
    board.power_cycle()
    link.enter_raw_repl(soft_reset=False)
    assert link.fs_readfile("a.txt") == b"1"
    board.stop()
    with imagefile.Image(board.image, board.board["flash"]) as image:
        assert image.files() == {"a.txt": b"1"}


def test_a_link_keeps_its_name_while_the_terminal_changes(start, tmp_path):
    link = tmp_path / "board"
    board = start(link=link)
    assert os.readlink(link) == board.port
    board.unplug()
    assert not link.is_symlink()
    holder = os.openpty()  # so that the number is taken
    board.plug()
    assert os.readlink(link) == board.port
    for fd in holder:
        os.close(fd)


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
    for channel in range(3):
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


def test_probes_that_pulse_are_counted_as_on_a_board(start, talk):
    device = boards.load("rp2040_wifi").device_dict()
    device["pins"].update(probe_kind="pulses", probes=[2, 3, 6], probe_select=[], probe_adc=-1)
    files = imagefile.as_sent() | {"board.json": __import__("json").dumps(device).encode()}
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
    assert board.wait(lambda: board.log[-1] == "battery empty") and board.asleep
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


def test_the_bootloader_takes_the_port_away_until_a_reset(start, talk):
    board = start()
    link = talk(board)
    link.enter_raw_repl(soft_reset=False)
    link.exec_raw_no_follow("import machine\nmachine.bootloader()")
    assert board.wait(lambda: board.port is None) and board.log[-1] == "bootloader"
    board.plug()
    again = talk(board)
    again.enter_raw_repl(soft_reset=False)
    assert again.eval("1") == 1


def test_only_one_client_at_a_time(start, talk):
    for tcp in (None, 0):
        board = start(tcp=tcp)
        first = talk(board)
        first.enter_raw_repl(soft_reset=False)
        if tcp is None:
            from mpremote.transport import TransportError

            with pytest.raises(TransportError):
                SerialTransport(board.port, timeout=1)
        else:
            second = talk(board)
            time.sleep(0.1)
            with pytest.raises(OSError, match="disconnected"):
                second.serial.read(1)
        assert first.eval("1") == 1


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
