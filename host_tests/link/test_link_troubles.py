"""What goes wrong between desk and board: a sentence, a next step, a code, and nothing half done."""

import contextlib
import json
import shutil
import threading

import board_files
import flash_kit
import made
import pytest
import serial
from potreeve.logic import settings as logic
from potreeve_tools.link import settings_push, status_facts
from potreeve_tools.link.port import open_board
from potreeve_tools.settings import settings_toml, settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.virtual.board import VirtualBoard


def new_settings():
    return made.settings(rig_day_ml=500)


def whole(data):
    """Which of the two settings a file holds; anything else is a failure."""
    checked, faults = logic.check(json.loads(data))
    assert not faults
    assert checked in (made.settings(), new_settings())
    return checked == new_settings()


def bytes_of_a_push(plug):
    """How many bytes the desk sends from the first piece to the last word of a push."""
    board = plug(board_files.lived(wakes=5))
    with open_board(board.port) as link:
        facts = status_facts.read(link)
        before = link.traffic.bytes_out
        settings_push.push(link, facts, new_settings(), "measure")
        return link.traffic.bytes_out - before


def replug(board):
    """Put the cable back once it is out; a cut that never came is called off."""
    if not board.wait(lambda: board.port is None, 0.5):
        board.do(setattr, board, "_cut_after", None)
        board.unplug()
    board.plug()


def test_the_cable_pulled_at_every_chunk_of_a_push(plug):
    """The cut comes after so many bytes from the desk: each piece's start, middle and end, and the commit."""
    total = bytes_of_a_push(plug)
    cuts = list(range(1, total, 160))
    news = []
    board = plug(board_files.lived(wakes=5))
    data = settingsfile.to_json(made.settings())
    for cut in cuts:
        with open_board(board.port, leave="stay") as link:
            facts = status_facts.read(link)
            if facts.files["settings.json"] != data:
                settings_push.send(link, data, 3)
                facts = status_facts.read(link)
            board.unplug(after_bytes=cut)
            with contextlib.suppress(exits.Stop):
                settings_push.push(link, facts, new_settings(), "cut")
        replug(board)
        with open_board(board.port, leave="stay") as link:
            news.append(whole(link.read_file("data/settings.json")))
            assert logic.check(json.loads(link.read_file("data/settings.good.json")))[0]
    assert False in news and True in news, "the cuts must fall on both sides of the commit"
    # Once it is in, a later cut does not take it away again.
    assert news == sorted(news)
    print(f"{len(cuts)} cuts over {total} bytes: {news.count(False)} left the old settings, {news.count(True)} the new")


@pytest.mark.parametrize("cut", [400, 1500, 2400])
def test_power_lost_with_the_cable(plug, cut):
    board = plug(board_files.lived(wakes=5))
    with open_board(board.port, leave="stay") as link:
        facts = status_facts.read(link)
        board.unplug(after_bytes=cut, power_too=True)
        with contextlib.suppress(exits.Stop):
            settings_push.push(link, facts, new_settings(), "cut")
    whole(board_files.on_flash(board)["settings.json"])


def test_a_pulled_cable_is_told_with_the_next_step(plug, potreeve, tmp_path):
    board = plug(board_files.lived(wakes=5))
    path = tmp_path / "new.toml"
    path.write_text(settings_toml.to_toml(new_settings()))
    board.unplug(after_bytes=2500)
    code, _, err = potreeve(f"settings push {path} --yes", board.port)
    assert code == exits.NO_ANSWER and "cable" in err and "repeat the command" in err
    replug(board)
    code, _, err = potreeve(f"settings push {path} --yes", board.port)
    assert code == 0, err


def test_a_pull_of_the_log_goes_on_after_the_cable_was_out(plug, potreeve):
    board = plug(board_files.lived(wakes=600))
    board.unplug(after_bytes=6000)
    codes = []
    for _ in range(8):
        code, out, err = potreeve("logs pull --json", board.port)
        codes.append(code)
        if code == 0:
            break
        assert code == exits.NO_ANSWER, err
        replug(board)
        board.unplug(after_bytes=6000 + 1500 * len(codes))
    assert codes[-1] == 0 and len(codes) > 1, codes
    assert json.loads(out)["wakes"] == 600 and json.loads(out)["gaps"] == []


COMMANDS = (
    "status",
    "settings show",
    "settings get name",
    "settings set name x --yes",
    "settings pull pulled.toml",
    "settings undo --yes",
    "settings push --from-backup --yes",
    "logs pull",
    "selftest",
    "flash --dry-run",
    "flash --no-gate --confirm rp2040_wifi",
    "calibrate probe --channel mint --yes",
    "calibrate pump --channel mint --yes",
    "calibrate wiring --yes --soak 5",
)
"""Everything that talks with a board, and would go on without a person."""


@pytest.mark.parametrize("name", ["flash", "settings", "calibrate", "logs", "status", "selftest", "virtual-board"])
def test_help_has_an_example_and_the_exit_codes(potreeve, name):
    code, out, _ = potreeve(f"{name} --help")
    assert code == 0 and "Examples:" in out and f"  potreeve {name}" in out
    told = " ".join(out.split())
    assert "Exit status" in told and (
        name == "virtual-board" or "3 if no board is found" in told and "4 if it does not answer" in told
    )


@pytest.fixture
def here(tmp_path, monkeypatch):
    """What is written without a path goes into a folder of the test's own."""
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def sleeper(tmp_path_factory, base_image):
    """A board that sleeps for half an hour, as long in truth: one for all, it hears of nothing."""
    image = tmp_path_factory.mktemp("sleeper") / "flash.img"
    shutil.copy(base_image("esp32"), image)
    with VirtualBoard("esp32", image=image, usb=False, asleep=1.0) as board:
        assert board.wait(lambda: board.asleep, 60)
        yield board


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("command", COMMANDS)
class TestEveryCommand:
    def test_no_such_port(self, potreeve, command):
        code, out, err = potreeve(command, "/dev/no-such-port")
        assert code == exits.NO_DEVICE and "no such port" in err and out == ""

    def test_another_program_on_the_port(self, plug, potreeve, command):
        board = plug(board_files.lived(wakes=5))
        with serial.serial_for_url(board.port, exclusive=True):
            code, out, err = potreeve(command, board.port)
        assert code == exits.NO_DEVICE and "another program" in err and out == ""

    def test_no_board_at_all(self, potreeve, command, monkeypatch):
        monkeypatch.setattr("serial.tools.list_ports.comports", lambda: [])
        code, _, err = potreeve(command)
        assert code == exits.NO_DEVICE and "no board found" in err

    def test_two_boards(self, potreeve, command, monkeypatch):
        from serial.tools.list_ports_common import ListPortInfo

        ports = []
        for device in ("/dev/ttyACM0", "/dev/ttyACM1"):
            port = ListPortInfo(device)
            port.vid, port.serial_number = 0x2E8A, "E66" + device[-1]
            ports.append(port)
        monkeypatch.setattr("serial.tools.list_ports.comports", lambda: ports)
        code, _, err = potreeve(command)
        assert code == exits.NO_DEVICE and "/dev/ttyACM0" in err and "/dev/ttyACM1" in err and "--port" in err

    @pytest.mark.parametrize("moment", ["connecting", "working"])
    def test_the_cable_pulled(self, plug, potreeve, command, moment):
        """While the board is asked what it is, and in the first thing that the command itself sends."""
        board = plug(board_files.lived(wakes=5))
        if "undo" in command or "backup" in command:
            assert potreeve("settings set rig_day_ml 500 --yes", board.port)[0] == 0
            flash_kit.settled(board)
        before = board.image.read_bytes()
        # The last question of connecting ends with this, and what follows it.
        more = 120 if moment == "working" else 0
        flash_kit.pull_when(board, lambda said: len(said.partition(b"gc.mem_free()")[2]) > more)
        code, out, err = potreeve(command, board.port)
        assert (code, out) == (exits.NO_ANSWER, "") and "Plug it in again" in err, err
        assert board.image.read_bytes() == before

    def test_asleep_for_longer_than_one_waits(self, sleeper, potreeve, command):
        code, out, err = potreeve(command + " --wait 0.5", sleeper.port)
        assert (
            (code, out) == (exits.NO_ANSWER, "")
            and "it sleeps" in err
            and "button" in err
            and "repeat the command" in err
        )

    @pytest.mark.slow
    def test_busy_in_a_wake(self, plug, potreeve, command):
        """Whatever it is doing, the command gets through, and the board tends again afterwards."""
        board = plug(board_files.lived(wakes=30), usb=False, awake=3.0, asleep=300.0)
        assert board.wait(lambda: board.world.now_s > 10, 30)
        code, out, err = potreeve(f"{command} --wait 60", board.port)
        assert code in (exits.OK, exits.FAILED, exits.BAD_INPUT) and "no answer" not in err, err
        began = board.world.now_s
        assert board.wait(lambda: board.world.now_s > began + 30, 60), "it must tend again"


def test_a_board_without_firmware(plug, potreeve, tmp_path):
    path = tmp_path / "new.toml"
    path.write_text(settings_toml.to_toml(new_settings()))
    with VirtualBoard("rp2040_wifi", image=tmp_path / "blank.img") as board:
        code, _, err = potreeve(f"settings push {path} --yes", board.port)
        assert code == exits.FAILED and "potreeve flash" in err
        code, _, err = potreeve("status", board.port)
        assert code == exits.FAILED


def test_two_boards_keep_their_own_logs_and_copies(plug, potreeve):
    one, two = plug(board_files.lived(wakes=30), seed=1), plug(board_files.lived(wakes=40), seed=2)
    for board, wakes in ((one, 30), (two, 40)):
        code, out, err = potreeve("logs pull --json", board.port)
        assert code == 0 and json.loads(out)["wakes"] == wakes, err
    code, _, err = potreeve("logs show")
    assert code == exits.BAD_INPUT and err.count("--board") == 2


def test_busy_in_a_wake_and_asleep(plug, potreeve):
    """A board that tends: whatever it is doing, the command gets through and the board tends again afterwards."""
    board = plug(board_files.lived(wakes=30), usb=False, awake=3.0, asleep=300.0)
    assert board.wait(lambda: board.world.now_s > 10, 30)
    for _ in range(3):
        code, out, err = potreeve("settings get rig_day_ml --wait 60", board.port)
        assert (code, out) == (0, "400\n"), err
        began = board.world.now_s
        assert board.wait(lambda: board.world.now_s > began + 30, 30), "it must tend again"


def test_a_person_who_says_no_changes_nothing(plug, potreeve, monkeypatch):
    from potreeve_tools.terminal import screen

    board = plug(board_files.lived(wakes=5))
    monkeypatch.setattr(screen, "is_terminal", lambda stream: hasattr(stream, "read"))
    code, _, err = potreeve("settings set rig_day_ml 500", board.port, stdin="n\n")
    assert code == exits.FAILED and "Nothing was changed" in err
    code, _, err = potreeve("settings set rig_day_ml 500", board.port, stdin="y\n")
    assert code == 0, err


def test_a_push_while_another_thread_unplugs(plug):
    """Not at a byte but at a moment: ten times, whenever it happens to fall."""
    board = plug(board_files.lived(wakes=5))
    for turn in range(10):
        with open_board(board.port, leave="stay") as link:
            facts = status_facts.read(link)
            timer = threading.Timer(0.01 * turn, board.unplug)
            timer.start()
            with contextlib.suppress(exits.Stop):
                settings_push.push(link, facts, new_settings() if turn % 2 else made.settings(), "cut")
            timer.join()
        replug(board)
        with open_board(board.port, leave="stay") as link:
            whole(link.read_file("data/settings.json"))


# ---- the data folder of this computer


@pytest.mark.parametrize("command", ["logs pull", "settings set wake_s 3600 --yes"])
def test_a_data_folder_that_can_not_be_written(plug, potreeve, tmp_path, monkeypatch, command):
    """Below a file nothing can be made, not even by a superuser: as in a folder one may not write to."""
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("POTREEVE_DATA_DIR", str(tmp_path / "file" / "below"))
    board = plug(board_files.lived(wakes=5))
    code, _, err = potreeve(command, board.port)
    assert code == exits.BAD_INPUT and "POTREEVE_DATA_DIR" in err, err
    assert not whole(board_files.on_flash(board)["settings.json"])


@pytest.mark.parametrize("content", ["null", "{}", "3", "[[1], null]", "[" * 5000, "\0"])
def test_names_of_pots_that_are_none(plug, potreeve, data_folder, content):
    board = plug(board_files.lived(wakes=5))
    assert potreeve("logs pull", board.port)[0] == exits.OK
    (names,) = data_folder.glob("boards/*/log/pots.json")
    names.write_text(content)
    code, out, err = potreeve("logs show")
    assert code == exits.OK and "5 of 5 wakes" in out, err
