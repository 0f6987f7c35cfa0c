"""What the flash tests share: firmwares that can be told apart, and ways to read a board's files."""

import shutil
import tempfile
from pathlib import Path

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link.flash import image as images
from potreeve_tools.link.flash import plan as plans
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard

BOARD = boards.load("rp2040_wifi")
BOARD_JSON = BOARD.device_json().encode()
BLOCK = BOARD.flash["block_bytes"]


def firmware(folder, version, changed=None, without=(), more=()):
    """A copy of the firmware as another version; returns its folder.

    changed: modules that differ, None for all; without: modules left out; more: modules of its own.
    """
    folder = shutil.copytree(
        images.FIRMWARE, folder, ignore=shutil.ignore_patterns("__pycache__", "*.json", "manifest.py")
    )
    start = folder / "potreeve" / "__init__.py"
    start.write_text(start.read_text().replace(f'"{images.read_version()}"', f'"{version}"'))
    for name in more:
        (folder / name).write_text(f"OF = {version!r}\n")
    for name in without:
        (folder / name).unlink()
    for path in sorted((folder / "potreeve").rglob("*.py")):
        if changed is None or path.relative_to(folder).as_posix() in changed:
            path.write_text(path.read_text() + f"\nOF = {version!r}\n")
    return folder


def present(files, free_blocks=200):
    """The plan's view of a board that holds {path: bytes}."""
    seen = {path: (len(data), images.sha256(data)) for path, data in files.items() if not path.startswith(plans.DATA)}
    folders = {"/".join(path.split("/")[:count]) for path in seen for count in range(1, path.count("/") + 1)}
    from potreeve_tools.link.flash import look

    manifest = files.get(images.MANIFEST)
    listed = look.listed_in(manifest.decode()) if manifest is not None else ()
    return plans.Present(seen, tuple(sorted(folders)), listed, BLOCK, free_blocks)


def states(files, plan):
    """(words, {path: bytes}) before the plan, between any two of its steps and after it; halves of the files that come
    first too.

    A rename and a removal happen whole or not at all, which is littlefs's part.
    """
    files = dict(files)
    yield "before", dict(files)
    for step in plan.steps:
        if step.kind == plans.SEND:
            if step.path in (images.BOARD, images.MAIN):
                yield f"half of {step.path}", {**files, step.path + plans.TEMPORARY: step.data[: len(step.data) // 2]}
            files[step.path] = step.data
            files.pop(step.path + plans.TEMPORARY, None)
        elif step.kind == plans.MARK_IT:
            files[plans.MARK] = b""
        elif step.kind in (plans.REMOVE, plans.UNMARK):
            del files[step.path]
        yield f"{step.kind} {step.path}", dict(files)


class Witness(VirtualBoard):
    """A virtual board that keeps its flash as it stood at each of its starts: what a command left, before the board
    lives on."""

    def __init__(self, *args, **options):
        self.flashes = []
        super().__init__(*args, **options)

    def _boot(self, why, raw):
        self.flashes.append(self.image.read_bytes())
        super()._boot(why, raw)

    def left(self):
        """{path: bytes} of the flash at the last start."""
        return files_in(self.flashes[-1], self.board["flash"])

    def now(self):
        """{path: bytes} of the flash at this moment, of a board that writes nothing just now."""
        return files_in(self.image.read_bytes(), self.board["flash"])


def settled(board, timeout_s=10):
    """The board, once it serves, is at its prompt, or sleeps where nothing brings it into service: what comes while it
    starts makes it start again. One that never comes to that is waited for in vain."""

    def rests():
        return not board.running or (board._sleep is not None and bool(board.chip.timers or not board.wiring.usb))

    board.wait(rests, timeout_s)
    return board


def pull_when(board, what):
    """Pull the cable once what(all that the desk has sent since) is true; returns what stops it from waiting for
    that."""
    said, hear = bytearray(), board._type

    def listen(data):
        said.extend(data)
        if what(said) and board.port is not None:
            return board._pull()
        return hear(data)

    board.do(setattr, board, "_type", listen)
    return lambda: board.do(delattr, board, "_type")


def files_in(flash, geometry=BOARD.flash):
    """{path: bytes} of a flash's bytes."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "flash.img"
        path.write_bytes(flash)
        with imagefile.Image(path, geometry) as opened:
            return opened.files()


def data_in(files):
    """The part of a board's files that is the rig's own."""
    return {path: data for path, data in files.items() if path.startswith(plans.DATA)}


def firmware_in(files):
    """All the other files."""
    return {path: data for path, data in files.items() if not path.startswith(plans.DATA)}
