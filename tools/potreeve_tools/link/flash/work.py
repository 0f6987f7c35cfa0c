"""One flash from the first look to the last word: what commands/flash.py and the bench run.

`say` is called with one sentence at a time, on what is going on.
"""

import json
import time
from dataclasses import dataclass

from potreeve import keep

from potreeve_tools.boards import boardfile
from potreeve_tools.link import backup, faults, held
from potreeve_tools.link.flash import choose, gate, gatesetting, install, look
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash import plan as plans
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput


@dataclass(frozen=True)
class Job:
    """A board and what is to be done to it. board: boards.Board, or None where it keeps a board file of its own."""

    found: look.Found
    board: object
    board_name: str
    why: str
    image: images.Image
    plan: plans.Plan

    @property
    def missing_blocks(self):
        return plans.short_of_blocks(self.image, self.plan, self.found.present)


def prepare(link, asked=None):
    """Look at a connected board and plan; returns Job. asked: board file from the command line. Raises Stop,
    BadInput."""
    found = look.look(link)
    look.refuse_old(found)
    board, board_json, why = choose.choose(found, asked)
    if board is not None:
        look.refuse_wrong_board(found, board)
    own = read_settings(link)
    image = images.make_image(board_json, radio=bool(own and own.get("radio")))
    name = board.name if board is not None else json.loads(board_json)["name"]
    return Job(found, board, name, why, image, plans.make_plan(image, found.present))


def refuse_full(job):
    """Raise Stop when the files would not fit."""
    short = job.missing_blocks
    if short:
        block = job.found.present.block_bytes
        raise exits.Stop(
            exits.FAILED,
            [
                f"the board's file system is too full: {short * block:,} bytes more must be free than the "
                f"{job.found.present.free_blocks * block:,} there are. Nothing on it was changed.",
                "Pull its logs with potreeve logs pull, remove files that are not Potreeve's, and run potreeve flash "
                "again.",
            ],
        )


def setting_of(link, job, settings_path=None, rig_path=None):
    """gatesetting.Setting for a board: given files, for what is not given its own settings, else the default. Raises
    BadInput."""
    from potreeve_tools.settings import settingsfile

    device = job.board.device_dict() if job.board is not None else json.loads(job.found.board)
    known = str(job.board.path.resolve()) if job.board is not None else None
    if known is None:
        # What is on the board came from a file of somebody's own that is not at hand: it is written down anew, and
        # where that can't be, the nearest known one stands in.
        own = gatesetting.own_board(device, link.info["id"])
        known = own or next(iter(boardfile.plain(job.found.mcu)), "rp2040_wifi")
    if settings_path is not None and rig_path is not None:
        return gatesetting.given_setting(known, settings_path, rig_path)
    own = settingsfile.load(settings_path) if settings_path is not None else read_settings(link)
    if own is None:
        return gatesetting.default_setting(known, rig_path)
    return gatesetting.own_setting(known, device, own, link.info["id"], settings_path, rig_path)


def read_settings(link):
    """The settings the board would run, checked; None when it has none that pass."""
    return held.in_force({name: link.read_file(f"data/{name}") for name in (keep.SETTINGS, keep.LAST_GOOD)})[0]


def pass_gate(setting, say, on_tick=lambda check, seconds, share: None):
    """Run all checks; raises Stop at the first that fails. on_tick: called with each Check before it runs and once
    a second."""
    say(setting.said)
    if not gate.has_tests():
        say(gate.WITHOUT_TESTS)
    for check in gate.checks(setting):
        on_tick(check, 0, None)
        held, seconds, lines = gate.run(check, lambda seconds, share, check=check: on_tick(check, seconds, share))
        if not held:
            raise gate.refuse(check, lines)
        say(f"Gate: {check.title} passed in {seconds:.0f} s.")
        for line in lines:
            say(f"  {line}")


def keep_copy(link, job):
    """Leave a dated copy of what the board knows in the user's data folder; its path, None if it knows nothing."""
    kept = {name: link.read_file(f"data/{name}") for name in backup.KEPT_FILES}
    if not any(kept.values()):
        return None
    try:
        there = json.loads(job.found.board) if job.found.board else None
    except ValueError:
        there = None
    return backup.save(link.info["id"], "before flash", there, kept)


def carry_out(link, job, on_bytes=lambda count: None):
    """Change the board and check that all is as planned; returns seconds. Raises Stop."""
    began = time.monotonic()
    try:
        install.carry_out(link, job.plan, on_bytes)
    except KeyboardInterrupt:
        raise exits.Stop(
            exits.INTERRUPTED,
            ["stopped with the board's firmware half changed.", f"Run potreeve flash again. {install.SAFE}"],
        ) from None
    seconds = time.monotonic() - began
    after = look.look(link)
    left = plans.make_plan(job.image, after.present).steps
    if left:
        names = ", ".join(step.path for step in left if step.path != plans.MARK)
        raise exits.Stop(
            exits.NOT_VERIFIED,
            [
                f"after the flash the board differs from what was sent: {names or 'it is still marked'}.",
                "Run potreeve flash again; if it stays so, the board's flash is worn out.",
            ],
        )
    return seconds


def start_anew(link):
    """Start the new firmware in service mode; returns the version that came to life. Raises Stop when it does not."""
    link.enter_service()
    try:
        version = link.run("from potreeve import VERSION\nanswer=VERSION", "starting its new firmware")
    except faults.DeviceFault as fault:
        raise exits.Stop(
            exits.NOT_VERIFIED, ["the new firmware is on the board but does not start.", *fault.lines]
        ) from fault
    if not link.info["serving"]:
        raise exits.Stop(
            exits.NOT_VERIFIED,
            [
                "the new firmware is on the board but did not start into service mode; its pumps stay off.",
                "See what it says with a serial monitor while you press its reset button.",
            ],
        )
    return version


def own_name_typed(job, typed):
    """Raise BadInput unless what was typed is the board's name."""
    if (typed or "").strip() != job.board_name:
        raise BadInput(
            [f'"{(typed or "").strip()}" is not this board\'s name, which is "{job.board_name}"; nothing was changed']
        )
