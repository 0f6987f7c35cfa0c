"""Files of a board that has lived a while, and reading them back from its image."""

import tempfile
from functools import cache
from pathlib import Path

import made
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.image import places
from potreeve_tools.settings import settingsfile
from potreeve_tools.virtual import imagefile


def lived(wakes=60, count=3, utc_s=1795600000, memory_lost=False, **options):
    """{name: bytes} of the data folder after so many wakes."""
    return dict(_lived(wakes, count, utc_s, memory_lost, **options))


@cache
def _lived(wakes, count, utc_s, memory_lost, **options):
    with tempfile.TemporaryDirectory() as folder:
        # Not the folder itself: beside the data stands the ledger's witness.
        life = made.Life(Path(folder) / "data", count, utc_s, **options)
        if not memory_lost:
            life.state.rig.memory = 0
        life.wake(wakes)
        files = {name: life.store.read(name) for name in life.store.names()}
    data = settingsfile.to_json(life.settings)
    return {**files, "settings.json": data, "settings.good.json": data}


def on_flash(board):
    """{name: bytes} of the data folder of a virtual board, which is stopped for that."""
    board.stop()
    with imagefile.Image(board.image, board.board["flash"]) as image:
        return {name.removeprefix("data/"): data for name, data in image.files().items() if name.startswith("data/")}


def figures(name="rp2040_wifi"):
    """Device form of a board file."""
    return boards.load(name).device_dict()


def with_extras(folder, board, lines):
    """Path of a shipped board's file with a table [extras] of these lines."""
    text = (places.BOARDS / f"{board}.toml").read_text(encoding="utf-8")
    path = folder / "roomy.toml"
    path.write_text(text.replace("[sensors]", f"[extras]\n{lines}\n\n[sensors]", 1), encoding="utf-8")
    return str(path)
