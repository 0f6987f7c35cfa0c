"""The cable pulled in the middle of a flash, through the real transport, on a real littlefs: at every round trip of an
update (its last byte: done, but never answered; the slow test: its first and a middle one, too), and of a whole first
flash (slow; some of them always).

After each cut the board starts by itself. It must run the old firmware whole, or the new one, or stay safe and say that
it is unfinished; then the same flash again completes it.
"""

import shutil
import time

import flash_kit
import pytest
import serial
from potreeve_tools.link import faults, port
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash import install, look, work
from potreeve_tools.link.flash import plan as plans
from potreeve_tools.owner import commission
from potreeve_tools.terminal import exits
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.rigfile import load_rig

CHANGED = ("potreeve/hal/__init__.py", "potreeve/app.py", "potreeve/logic/cycle.py")
FOREVER = float("inf")
# The last words of a start: it serves, is at its prompt, or stays safe and says so.
SETTLED = (b"service mode", b">>> ", b"run potreeve flash")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """(file with an old board's flash, old image, new image, what is in data/)."""
    folder = tmp_path_factory.mktemp("boards")
    old = images.make_image(
        flash_kit.BOARD_JSON,
        flash_kit.firmware(folder / "old", "0.0.8", ["potreeve/app.py"], more=["potreeve/logic/gone.py"]),
    )
    new = images.make_image(
        flash_kit.BOARD_JSON, flash_kit.firmware(folder / "new", "0.0.9", CHANGED, more=["potreeve/logic/fresh.py"])
    )
    flash = folder / "old.img"
    settings = commission.make_settings(load_rig(), flash_kit.BOARD.device_dict(), 1)
    imagefile.install(flash, flash_kit.BOARD, settings)
    with imagefile.Image(flash, flash_kit.BOARD.flash) as opened:
        for path in opened.files():
            if not path.startswith("data/"):
                opened.fs.remove(path)
        for path, data in old.files.items():
            opened.write(path, data)
        # A board that gets to tend writes its ledger and its log: these must stay as they are.
        opened.write("data/calibration-notes.txt", bytes(range(200)) * 40)
        kept = {path: data for path, data in opened.files().items() if path.startswith("data/")}
    return flash, old, new, kept


def job_for(link, new):
    found = look.look(link)
    return work.Job(found, flash_kit.BOARD, "rp2040_wifi", "", new, plans.make_plan(new, found.present))


def board_on(flash):
    return VirtualBoard("rp2040_wifi", image=flash, awake=0, asleep=FOREVER)


def cut_points(flash, new, per_trip):
    """Bytes from the client, counted from the start of the flash, at one to three places of each of its round trips:
    last, first, middle."""
    points = []
    with board_on(flash) as board, port.open_board(board.port) as link:
        job = job_for(link, new)
        sent, run = link.traffic, link._exec
        start = sent.bytes_out

        def noted(*args, **more):
            before = sent.bytes_out
            try:
                return run(*args, **more)
            finally:
                length = sent.bytes_out - before
                points.extend(before - start + [length, 1, length // 2][place] for place in range(per_trip))

        link._exec = noted
        work.install.carry_out(link, job.plan)
    return points


def console_of(board):
    """What a board says when it starts, until it serves, waits at the prompt or has told why nothing runs, which it
    repeats.

    It has started already; what it said then may have been lost on the way, as nobody listened. So it starts once more.
    """
    said, until = b"", time.monotonic() + 60
    with serial.Serial(board.port, timeout=0.05) as end:
        board.hard_reset()
        while time.monotonic() < until and not any(word in said for word in SETTLED):
            said += end.read(4096)
    return said.decode()


def cut_and_mend(flash, new, point, power_too):
    """One cut after so many bytes: what the board then says, the files it has, and whether it serves; mended
    afterwards."""
    with board_on(flash) as board:
        with port.open_board(board.port) as link:
            job = job_for(link, new)
            board.unplug(after_bytes=point, power_too=power_too)
            with pytest.raises(faults.LinkFault) as fault:
                install.carry_out(link, job.plan)
            assert fault.value.code == exits.NO_ANSWER and "run potreeve flash again" in fault.value.lines[1], (
                fault.value.lines
            )
            link.drop()
        board.plug()
        console = console_of(board)
        assert not board.wiring.running and not any(
            board.wiring.levels.get(pin, 0) for pin in flash_kit.BOARD.data["pins"]["pumps"]
        )
        with port.open_board(board.port) as link:
            serving = link.info["serving"]
            job = job_for(link, new)
            left = job.plan
            present = job.found.present.files
            work.carry_out(link, job)
            version = work.start_anew(link)
        assert version == "0.0.9" and not board.wiring.pulses
    return console, present, serving, left


def check_cut(flash, old, new, point, power_too):
    console, present, serving, left = cut_and_mend(flash, new, point, power_too)
    whole = {path: (len(data), images.sha256(data)) for path, data in old.files.items()}
    has = {path: seen for path, seen in present.items() if not path.endswith(plans.TEMPORARY)}
    if plans.MARK in present:
        # On a bare board nothing of ours can speak before there is a main.py.
        assert "unfinished" in console or images.MAIN not in present, console
        assert not serving
        return "unfinished"
    assert "unfinished" not in console
    if left.steps:
        assert has == whole and serving == bool(whole), sorted(has)
        return "old"
    assert serving
    return "new"


@pytest.mark.parametrize("per_trip", [1, pytest.param(3, marks=pytest.mark.slow)])
def test_every_round_trip_of_an_update(made, tmp_path, per_trip):
    flash, old, new, kept = made
    flash_now = tmp_path / "board.img"
    shutil.copy(flash, flash_now)
    points = cut_points(flash_now, new, per_trip)
    assert len(points) >= per_trip * 5
    seen = []
    for number, point in enumerate(points):
        shutil.copy(flash, flash_now)
        # A board that lives on does what had arrived; one that loses its power with the cable has no time for it.
        seen.append(check_cut(flash_now, old, new, point, power_too=number % per_trip > 0))
        with imagefile.Image(flash_now, flash_kit.BOARD.flash) as opened:
            files = opened.files()
        assert {path: files.get(path) for path in kept} == kept
    # Whether the board still carried out what had arrived before its reset is a race: each state was checked by itself.
    assert seen[0] in ("old", "unfinished") and seen[-1] in ("unfinished", "new"), seen
    assert seen.count("unfinished") > len(seen) / 2, seen


def first_flash(made, tmp_path, choose):
    flash = tmp_path / "board.img"
    nothing = images.Image("", {})
    points = choose(cut_points(flash, made[2], 1))
    for number, point in enumerate(points):
        flash.unlink()
        check_cut(flash, nothing, made[2], point, power_too=number % 2 == 0)


def test_some_round_trips_of_a_first_flash(made, tmp_path):
    first_flash(made, tmp_path, lambda points: points[:5] + points[5::16])


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_every_round_trip_of_a_first_flash(made, tmp_path):
    first_flash(made, tmp_path, lambda points: points)
