"""What to send and remove, and in which order, so that a broken-off flash is harmless.

    1  the mark "unfinished"
    2  main.py, which looks for the mark before it imports anything
    3  board file
    4  removals: leftovers, older versions, sources beside compiled modules
    5  all other modules
    6  the manifest
    7  the mark goes

Each change is one rename or one removal, which littlefs does whole or not at
all. From 1 on a boot ends at the mark. A main.py that does not know it (firmware
from before there was a mark) runs the old firmware, of which nothing has changed
when the new main.py takes its place; from there to 7 every boot ends at the mark.
After 7 the new firmware is whole.
"""

from dataclasses import dataclass

from potreeve_tools.link.flash import image as images

MARK = "unfinished"
DATA = ("data/", "data@")
"""Where the rig's own files are: its folder, and those beside it that hold one file each; see hal/store.py."""
TEMPORARY = ".tmp"
"""What a file is called while it is on its way, see link.port."""

OWN_ROOTS = ("potreeve/", "lib/potreeve/")

# Kept free: littlefs needs room to move metadata, the firmware to write its ledger.
SPARE_BLOCKS = 4
DIR_BLOCKS = 2

MARK_IT, SEND, REMOVE, NO_FOLDER, UNMARK = "mark", "send", "remove", "remove folder", "unmark"


@dataclass(frozen=True)
class Present:
    """What stands on a board. files: {path: (size, sha256)} outside DATA; folders: paths; listed: paths in its
    manifest."""

    files: dict
    folders: tuple
    listed: tuple
    block_bytes: int
    free_blocks: int

    @property
    def unfinished(self):
        return MARK in self.files


@dataclass(frozen=True)
class Step:
    """One change. data: bytes for SEND, else empty."""

    kind: str
    path: str
    data: bytes = b""


@dataclass(frozen=True)
class Plan:
    """steps: in order; kept: paths that are right already."""

    steps: tuple
    kept: tuple

    @property
    def sends(self):
        return [step for step in self.steps if step.kind == SEND]

    @property
    def removes(self):
        return [step for step in self.steps if step.kind == REMOVE]

    @property
    def send_bytes(self):
        return sum(len(step.data) for step in self.sends)


def make_plan(image, present):
    """The Plan that turns what is present into the image; no steps when it is the image already."""
    kept = tuple(path for path, data in image.files.items() if present.files.get(path) == _entry(data))
    sends = [path for path in image.files if path not in kept]
    stale = stale_paths(image, present, kept)
    if not sends and not stale and not present.unfinished:
        return Plan((), kept)
    first = (images.MAIN, images.BOARD)
    order = [
        *([] if present.unfinished else [Step(MARK_IT, MARK)]),
        *_send(image, sends, first),
        *[Step(REMOVE, path) for path in stale],
        *[Step(NO_FOLDER, path) for path in stale_folders(image, present)],
        *_send(image, sends, [path for path in image.files if path not in (*first, images.MANIFEST)]),
        *_send(image, sends, [images.MANIFEST]),
        Step(UNMARK, MARK),
    ]
    return Plan(tuple(order), kept)


def _entry(data):
    """A file as Present lists it."""
    return len(data), images.sha256(data)


def _send(image, sends, paths):
    """Steps that send those of some paths that have to be sent, in the image's order."""
    return [Step(SEND, path, image.files[path]) for path in image.files if path in paths and path in sends]


def stale_paths(image, present, kept):
    """Files to remove, sorted: in our own folders or an older manifest but not in the image, and broken-off copies."""
    own = {path for path in present.files if path.startswith(OWN_ROOTS)}
    own |= {path for path in present.listed if path in present.files and not path.startswith(DATA)}
    own |= {path + TEMPORARY for path in image.files if path + TEMPORARY in present.files}
    # A broken-off copy of what is sent again becomes that file.
    own -= {path + TEMPORARY for path in image.files if path not in kept}
    return sorted(own - set(image.files) - {MARK})


def missing_folders(image, present):
    """Folders that come with the first file in each, outer ones first."""
    wanted = set()
    for path in image.files:
        parts = path.split("/")[:-1]
        wanted |= {"/".join(parts[:count]) for count in range(1, len(parts) + 1)}
    return sorted(wanted - set(present.folders))


def stale_folders(image, present):
    """Own folders that are empty once the stale files are gone, inner ones first."""
    wanted = {path.rpartition("/")[0] for path in image.files}
    wanted |= {path.rpartition("/")[0] for path in wanted}
    return sorted(
        (path for path in present.folders if (path + "/").startswith(OWN_ROOTS) and path not in wanted), reverse=True
    )


def blocks_of(size, block_bytes):
    """Blocks a file takes; 0 up to an eighth of a block, which littlefs keeps with the folder's entry."""
    return 0 if size <= block_bytes // 8 else -(-(size + 8 * (size // block_bytes)) // block_bytes)


def peak_blocks(plan, present, folders=()):
    """Most blocks the steps take at any time on top of what is taken now. Small new files count as one each.

    folders: those that have to be made.
    """
    taken = peak = DIR_BLOCKS * len(folders)
    block = present.block_bytes
    for step in plan.steps:
        old = present.files.get(step.path)
        freed = blocks_of(old[0], block) if old and step.kind in (SEND, REMOVE) else 0
        if step.kind == SEND:
            taken += blocks_of(len(step.data), block) or (0 if old else 1)
        # The old content goes only after the new one stands.
        peak = max(peak, taken)
        taken -= freed
    return peak


def short_of_blocks(image, plan, present):
    """How many blocks are missing for the steps, 0 when they fit."""
    if not plan.steps:
        return 0
    return max(0, peak_blocks(plan, present, missing_folders(image, present)) + SPARE_BLOCKS - present.free_blocks)
