"""What can go wrong while flashing, through the whole command: a sentence, a next step, a code, and a board that is
none the worse."""

import types

import board_files
import flash_kit
import pytest
import serial
from potreeve_tools.link import port as link_port
from potreeve_tools.link.flash import choose, work
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash import plan as plans
from potreeve_tools.terminal import exits
from potreeve_tools.virtual import imagefile

UNGUARDED = "flash --no-gate --confirm rp2040_wifi"


@pytest.fixture(scope="module")
def image():
    """What belongs on the board."""
    return images.make_image(flash_kit.BOARD_JSON)


@pytest.fixture(scope="module")
def lived():
    """data/ of a board that has tended for a while."""
    return board_files.lived()


def kept(lived):
    return {"data/" + name: data for name, data in lived.items()}


def unharmed(files, lived):
    """data/ as it was, but for the mark of service."""
    return {
        name: data for name, data in flash_kit.data_in(files).items() if not name.startswith("data/service")
    } == kept(lived)


@pytest.mark.parametrize(
    ("board", "words", "code", "said"),
    [
        (
            {},
            "",
            exits.BAD_INPUT,
            (
                "does not tell how it is wired",
                "--board latched, --board rp2040_wifi, --board rp2040_wifi_four, or --board FILE.toml",
            ),
        ),
        (
            {},
            "--board esp32",
            exits.BAD_INPUT,
            (
                'board = "esp32": for the chip esp32',
                "RP2040",
                "Give --board latched or --board rp2040_wifi or --board rp2040_wifi_four, or a board file",
            ),
        ),
        ({}, "--board nonsense", exits.BAD_INPUT, ("nonsense", "rp2040_wifi")),
        ({"board": "esp32"}, "--board rp2350_wifi", exits.BAD_INPUT, ("for the chip rp2350", "Give --board esp32")),
        (
            {"version": (1, 25, 0)},
            "--board rp2040_wifi",
            exits.FAILED,
            ("runs MicroPython 1.25.0, 1.26 or newer is needed", "--firmware FILE.uf2"),
        ),
        (
            {"board": "esp32", "version": (1, 24, 1)},
            "--board esp32",
            exits.FAILED,
            ("runs MicroPython 1.24.1", "--firmware FILE.bin --port PORT"),
        ),
    ],
)
def test_a_board_that_does_not_fit_gets_nothing(plug, potreeve, board, words, code, said):
    board = plug(bare=True, kind=flash_kit.Witness, **board)
    got, out, err = potreeve(f"flash --no-gate --confirm rp2040_wifi {words}", board.port)
    assert (got, out) == (code, "") and all(word in err for word in said), err
    # What is wired besides is nothing to guess at.
    assert "_full" not in err or words == "--board nonsense"
    assert set(board.now()) <= {"boot.py"} and board.started == 1


@pytest.mark.parametrize(
    "mcu, names", [("rp2040", ["latched", "rp2040_wifi", "rp2040_wifi_four"]), ("esp32", ["esp32"])]
)
def test_a_build_nobody_knows_is_offered_no_board_with_extras(mcu, names):
    found = types.SimpleNamespace(board="", build="", mcu=mcu, machine="Somebody's")
    with pytest.raises(exits.Stop) as stop:
        choose.choose(found, None)
    assert ", ".join(f"--board {name}" for name in names) + ", or --board FILE.toml" in str(stop.value.lines)
    assert "_full" not in str(stop.value.lines)


def test_an_old_micropython_under_a_whole_firmware(plug, potreeve, lived):
    board = plug(lived, version=(1, 25, 0), kind=flash_kit.Witness)
    before = flash_kit.firmware_in(board.now())
    code, out, err = potreeve(UNGUARDED, board.port)
    assert (code, out) == (exits.FAILED, "") and "1.26 or newer is needed" in err, err
    assert flash_kit.firmware_in(board.left()) == before and unharmed(board.left(), lived)


def test_a_micropython_newer_than_tested_is_only_mentioned(plug, potreeve):
    board = plug(bare=True, version=(1, 31, 0))
    code, out, err = potreeve("flash --dry-run --board rp2040_wifi", board.port)
    assert code == exits.OK and "Would send" in out, err
    assert "Note: MicroPython 1.31.0 is newer than tested (1.26 to 1.29)." in err


@pytest.mark.parametrize("words", ["--no-gate --confirm rp2040_wifi", "--dry-run"])
def test_a_full_file_system_is_refused_before_anything_is_sent(plug, potreeve, lived, words):
    image = filled(plug, {**lived, "/potreeve/app.mpy": b""}, over=1)
    with flash_kit.Witness("rp2040_wifi", image=image) as board:
        before = board.now()
        code, _, err = potreeve(f"flash {words}", board.port)
        assert code == exits.FAILED and "the board's file system is too full:" in err, err
        assert "bytes more must be free than the" in err and "Nothing on it was changed." in err
        assert "remove files that are not Potreeve's" in err and "run potreeve flash again" in err
        after = board.left() if "--no-gate" in words else board.now()
        assert flash_kit.firmware_in(after) == flash_kit.firmware_in(before) and unharmed(after, lived)


def filled(plug, files, over=0):
    """Path of a board's image that somebody's file fills to the last block a flash wants free, and some blocks over."""
    board = plug(files)
    with link_port.open_board(board.port, service=False) as link:
        job = work.prepare(link)
        free = job.found.present.free_blocks
        spare = free - plans.peak_blocks(job.plan, job.found.present) - plans.SPARE_BLOCKS
    board.stop()
    with imagefile.Image(board.image, flash_kit.BOARD.flash) as opened:
        opened.write("film.bin", b"x" * ((spare + over) * (flash_kit.BLOCK - 8)))
    return board.image


def test_room_for_the_change_is_room_enough(plug, potreeve, image, lived):
    """Filled to the last block that the plan wants free: what is sent fits, on the real file system."""
    with flash_kit.Witness("rp2040_wifi", image=filled(plug, {**lived, "/main.py": b"import potreeve\n"})) as board:
        code, out, err = potreeve("flash --dry-run --json", board.port)
        assert code == exits.OK, err
        code, out, err = potreeve(UNGUARDED, board.port)
        assert code == exits.OK, err
        left = board.left()
        assert flash_kit.firmware_in(left) == {**image.files, "film.bin": left["film.bin"]} and unharmed(left, lived)


@pytest.mark.parametrize(
    ("word", "times", "step"),
    [
        (b"_installed(", 1, "epeat the command"),
        (b"open(name,'wb')", 1, "run potreeve flash again"),
        (b"_begin('", 2, "run potreeve flash again"),
        (b"os.remove(name)", 1, "run potreeve flash again"),
        (b"_installed(", 2, "epeat the command"),
        (b"machine.reset()", 1, "epeat the command"),
    ],
)
def test_the_cable_pulled_in_the_middle_of_the_command(plug, potreeve, image, lived, monkeypatch, word, times, step):
    """At the look, the mark, the second file, the end of the mark, the second look, and when it starts anew."""
    monkeypatch.setattr(link_port, "BACK_S", 1.0)
    main = image.files["main.py"] + b"# of last year\n"
    board = plug({**lived, "/main.py": main}, kind=flash_kit.Witness)
    stop = flash_kit.pull_when(board, lambda said: said.count(word) >= times)
    code, out, err = potreeve(UNGUARDED, board.port)
    assert (code, out) == (exits.NO_ANSWER, "") and step in err, err
    assert board.port is None
    stop()
    board.plug()
    before = board.now()
    assert flash_kit.data_in(before).items() >= kept(lived).items() and before["main.py"] in (
        main,
        image.files["main.py"],
    )
    assert (plans.MARK in before) == ("Until then it stays safe" in err)
    code, out, err = potreeve(UNGUARDED, board.port)
    assert code == exits.OK and ("every file reads back as sent" in err or "Nothing to send" in out), err
    board.stop()
    assert flash_kit.firmware_in(board.now()) == image.files
    assert "Nothing to send" in out or unharmed(board.left(), lived)


def test_busy_in_a_wake_and_asleep_it_gets_through_and_tends_again(plug, potreeve, image, lived):
    board = plug({**lived, "/potreeve/logic/old/gone.mpy": b"gone"}, usb=False, awake=4.0, asleep=600.0)
    assert board.wait(lambda: board.world.now_s > 10, 30)
    code, out, err = potreeve(UNGUARDED + " --wait 60", board.port)
    assert code == exits.OK and "It tends again from now on." in out, err
    began = board.world.now_s
    assert board.wait(lambda: board.world.now_s > began + 600, 30), "it must tend again"
    files = board_files.on_flash(board)
    # That service was left may still stand there: so soon after a reset USB need not be seen yet.
    assert files["settings.json"] == lived["settings.json"] and files.get("service") in (None, b"left")


def test_asleep_for_longer_than_one_waits(plug, potreeve, lived):
    board = plug(lived, board="esp32", usb=False, asleep=1.0, hurry=True)
    assert board.wait(lambda: board.asleep, 60)
    code, out, err = potreeve("flash --no-gate --confirm esp32 --wait 2", board.port)
    assert (code, out) == (exits.NO_ANSWER, "") and "button" in err and "repeat the command" in err
    files = board_files.on_flash(board)
    assert files["settings.json"] == lived["settings.json"] and not any(name.startswith("service") for name in files)


def test_another_program_on_the_port(plug, potreeve):
    board = plug()
    before = board.image.read_bytes()
    with serial.serial_for_url(board.port, exclusive=True):
        code, out, err = potreeve(UNGUARDED, board.port)
    assert (code, out) == (exits.NO_DEVICE, "") and "another program holds the port" in err and "try again" in err
    assert board.image.read_bytes() == before


def test_a_board_file_of_ones_own_with_other_wires(plug, potreeve, lived):
    """The board's own board file wins over one of the same name that has other pins."""
    other = flash_kit.BOARD_JSON.replace(b'"pumps":[6,7,8]', b'"pumps":[6,7,9]')
    assert other != flash_kit.BOARD_JSON
    board = plug({**lived, "/board.json": other}, kind=flash_kit.Witness)
    code, out, err = potreeve(UNGUARDED, board.port)
    assert (
        (code, out) == (exits.BAD_INPUT, "")
        and "pins.pumps = [6, 7, 9] on the board" in err
        and "--board FILE.toml" in err
    ), err
    assert board.left()["board.json"] == other and unharmed(board.left(), lived)


@pytest.mark.parametrize("text", [b"", b"{", b"\xff\xfe", b"[1]", b'{"name": 5}'])
def test_a_damaged_board_file_on_the_board(plug, potreeve, text):
    board = plug({"/board.json": text})
    code, out, err = potreeve("flash --dry-run", board.port)
    assert (code, out) == (exits.BAD_INPUT, "") and "does not tell how it is wired" in err, err
    code, out, err = potreeve("flash --dry-run --json --board rp2040_wifi", board.port)
    assert code == exits.OK and '"send_files": 2' in out, err
