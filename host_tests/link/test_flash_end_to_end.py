"""`potreeve flash` through mpremote's transport, against a virtual board: what it sends, what it leaves alone, what it
says."""

import json

import board_files
import flash_kit
import pytest
from potreeve_tools.link import backup
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash import plan as plans
from potreeve_tools.terminal import exits
from potreeve_tools.virtual import imagefile

UNGUARDED = "flash --no-gate --confirm rp2040_wifi"
FOREIGN = {"boot.py": b"", "notes.txt": b"mine", "lib/other.py": b"x = 1\n"}
CALIBRATION = b'[{"kind": "pump", "pot": "mint", "date": "2026-04-05T10:00:00Z", "uncertainty": "3 %"}]\n'
LEFT_OVER = {"/potreeve/logic/old/gone.mpy": b"gone"}


@pytest.fixture(scope="module")
def image():
    """What belongs on the board."""
    return images.make_image(flash_kit.BOARD_JSON)


@pytest.fixture(scope="module")
def base_image(tmp_path_factory, image):
    """A flash as an earlier flash left it: a made-up board's own holds the modules of sensors it has not, too."""
    path = tmp_path_factory.mktemp("images") / "board.img"
    imagefile.install(path, flash_kit.BOARD)
    with imagefile.Image(path, flash_kit.BOARD.flash) as opened:
        for name in opened.files():
            if name not in image.files:
                opened.fs.remove(name)
    return {flash_kit.BOARD.name: path}.__getitem__


@pytest.fixture(scope="module")
def lived():
    """data/ of a board that has tended for a while."""
    return {**board_files.lived(), "calibration.json": CALIBRATION}


def behind(image):
    """Files of a board that is behind in four ways: one module changed, one damaged, one stale source, one module that
    is gone."""
    damaged = bytearray(image.files["potreeve/logic/air.mpy"])
    damaged[len(damaged) // 2] ^= 0x10
    return {
        "/manifest.json": image.files["manifest.json"],
        "/potreeve/keep.mpy": b"an older one",
        "/potreeve/logic/air.mpy": bytes(damaged),
        "/potreeve/keep.py": b"VERSION = 0\n",
        **LEFT_OVER,
        **{"/" + path: data for path, data in FOREIGN.items()},
    }


def paths(found, action):
    return [entry["path"] for entry in found["files"] if entry["action"] == action]


def test_a_bare_board_gets_everything_and_the_second_time_nothing(plug, potreeve, image):
    board = plug(kind=flash_kit.Witness, bare=True)
    code, out, err = potreeve(UNGUARDED + " --board rp2040_wifi", board.port)
    assert code == exits.OK, err
    assert (
        "no Potreeve yet" in err and f"Sent {len(image.files)} files ({image.size:,} bytes)" in err and " kB/s" in err
    )
    assert (
        f"now runs Potreeve {image.version}" in out
        and "no settings yet" in out
        and "Next: potreeve settings push" in out
    )
    assert board.left() == {**image.files, "data/service": b"leaving"}
    before = board.now()
    code, out, err = potreeve("flash --json", board.port)
    found = json.loads(out)
    assert code == exits.OK and "Nothing to send" in err and f"runs Potreeve {image.version} already" in err
    assert (found["send_files"], found["send_bytes"], found["removed"], found["kept"]) == (0, 0, 0, len(image.files))
    assert found["round_trips"] <= 12
    assert flash_kit.firmware_in(board.now()) == flash_kit.firmware_in(before) == image.files
    assert board.wiring.pulses == []


def test_only_what_differs_is_sent_and_all_else_stays(plug, potreeve, image, lived):
    board = plug({**lived, **behind(image)}, kind=flash_kit.Witness)
    code, out, err = potreeve("flash --dry-run --json", board.port)
    assert code == exits.OK, err
    assert paths(json.loads(out), "send") == ["potreeve/keep.mpy", "potreeve/logic/air.mpy"]
    assert paths(json.loads(out), "remove") == ["potreeve/keep.py", "potreeve/logic/old/gone.mpy"]
    code, out, err = potreeve(UNGUARDED + " --json", board.port)
    assert code == exits.OK, err
    found = json.loads(out)
    assert (found["send_files"], found["removed"], found["kept"]) == (2, 2, len(image.files) - 2)
    assert found["send_bytes"] == sum(
        len(image.files[path]) for path in ("potreeve/keep.mpy", "potreeve/logic/air.mpy")
    )
    left = board.left()
    assert flash_kit.firmware_in(left) == {**image.files, **FOREIGN}
    kept = flash_kit.data_in(left)
    assert kept.pop("data/service") == b"leaving"
    assert kept == {"data/" + name: data for name, data in lived.items()}
    copies = [backup.read(path) for path in backup.listing()]
    assert [copy.why for copy in copies] == ["before flash"] and str(backup.listing()[0]) in err
    assert copies[0].files["calibration.json"] == CALIBRATION and copies[0].files["ledger.a"] == lived["ledger.a"]


@pytest.mark.parametrize("usb", [True, False])
def test_a_dry_run_shows_the_plan_and_changes_nothing(plug, potreeve, image, lived, usb):
    """On a board in service and on one that tends, which goes on with its log but is asked for nothing."""
    board = plug({**lived, **LEFT_OVER}, usb=usb, kind=flash_kit.Witness, hurry=True)
    assert board.wait(lambda: board.wiring.usb or board.asleep, 30)
    before = board.now()
    code, out, err = potreeve("flash --dry-run --json --wait 60", board.port)
    assert code == exits.OK, err
    found = json.loads(out)
    assert paths(found, "send") == ["manifest.json"] and paths(found, "remove") == ["potreeve/logic/old/gone.mpy"]
    assert len(paths(found, "keep")) == found["kept"] == len(image.files) - 1
    if usb:
        code, out, err = potreeve("flash --dry-run", board.port)
        assert code == exits.OK and "which version it does not say" in err, err
        kept = len(image.files) - 1
        assert (
            "gone.mpy" in out
            and f"Would send 1 file ({found['send_bytes']:,} bytes), remove 1, keep {kept}. Nothing was changed." in out
        )
    board.stop()
    after = board.now()
    assert flash_kit.firmware_in(after) == flash_kit.firmware_in(before)
    assert not any(path.startswith("data/service") for path in [*after, *board.left()])
    assert all(
        after["data/" + name] == lived[name] for name in ("settings.json", "settings.good.json", "calibration.json")
    )
    if usb:
        assert after == before


def test_a_dry_run_of_a_bare_board(plug, potreeve, image):
    board = plug(bare=True, kind=flash_kit.Witness)
    code, out, err = potreeve("flash --dry-run --board rp2040_wifi", board.port)
    assert (
        code == exits.OK and f"Would send {len(image.files)} files ({image.size:,} bytes), remove 0, keep 0." in out
    ), err
    assert board.now() == {} and board.started == 1


def test_a_board_left_unfinished_is_completed(plug, potreeve, image, lived):
    board = plug(
        {
            **lived,
            "/" + plans.MARK: b"",
            "/potreeve/app.mpy.tmp": b"half",
            "/manifest.json": image.files["manifest.json"],
        },
        kind=flash_kit.Witness,
    )
    code, out, err = potreeve(UNGUARDED, board.port)
    assert code == exits.OK and ", unfinished" in err and f"now runs Potreeve {image.version}" in out, err
    assert "It tends again from now on." in out
    assert flash_kit.firmware_in(board.left()) == image.files


def test_where_there_is_a_terminal_a_bar_shows_how_far_it_is(plug, potreeve, monkeypatch):
    from potreeve_tools.terminal import screen

    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setattr(screen, "is_terminal", lambda stream: True)
    board = plug()
    code, out, err = potreeve("flash --no-gate", board.port, stdin="rp2040_wifi\n")
    assert code == exits.OK, err
    assert "Type the board's name (rp2040_wifi)" in err and "to the board" in err and "bytes" in err


def test_without_radio_it_is_flashed_and_tends(plug, potreeve, tmp_path, lived):
    board = plug(bare=True, radio=False, usb=False, awake=10.0, asleep=2000.0)
    code, out, err = potreeve(UNGUARDED + " --board rp2040_wifi", board.port)
    assert code == exits.OK, err
    path = tmp_path / "my.json"
    path.write_bytes(lived["settings.json"])
    code, _, err = potreeve(f"settings push {path} --yes --wait 60", board.port)
    assert code == exits.OK, err
    began = board.world.now_s
    assert board.wait(lambda: board.world.now_s > began + 3700, 60)
    files = board_files.on_flash(board)
    assert files["settings.json"] == lived["settings.json"] and len(files["log.000001"]) > 0 and "ledger.a" in files
