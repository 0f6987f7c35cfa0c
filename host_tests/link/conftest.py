"""Every test here has a data folder of its own, and the logic tests' kit."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "logic"))


@pytest.fixture(autouse=True)
def data_folder(tmp_path, monkeypatch):
    folder = tmp_path / "user data"
    monkeypatch.setenv("POTREEVE_DATA_DIR", str(folder))
    return folder


@pytest.fixture(scope="session")
def base_image(tmp_path_factory):
    """make(board name) -> path of a flash image with firmware and board file, made once."""
    from potreeve_tools.boards import boardfile as boards
    from potreeve_tools.virtual import imagefile

    made = {}

    def make(name):
        if name not in made:
            made[name] = tmp_path_factory.mktemp("images") / f"{name}.img"
            imagefile.install(made[name], boards.load(name))
        return made[name]

    return make


@pytest.fixture
def plug(tmp_path, base_image):
    """plug(files={name in data, or /path: bytes}, board=..., **options of VirtualBoard) -> a running virtual board, in
    service mode.

    kind: class of the board; bare: True for one without firmware; settle: False for one that still starts. A command
    that meets a board as it starts restarts it, and so does the next: half a second each.
    """
    import shutil

    import flash_kit
    from potreeve_tools.boards import boardfile as boards
    from potreeve_tools.virtual import imagefile
    from potreeve_tools.virtual.board import VirtualBoard

    running = []

    def start(files=None, board="rp2040_wifi", kind=VirtualBoard, bare=False, settle=True, **options):
        image = tmp_path / f"flash {len(running)}.img"
        if not bare:
            shutil.copy(base_image(board), image)
        if files:
            with imagefile.Image(image, boards.load(board).flash) as opened:
                for name, data in files.items():
                    opened.write(name[1:] if name.startswith("/") else f"data/{name}", data)
        made = kind(board, image=image, **{"awake": 1.0, "usb": True, **options})
        running.append(made)
        made.start()
        if settle:
            flash_kit.settled(made)
        return made

    yield start
    for one in running:
        one.stop()


@pytest.fixture
def potreeve():
    """potreeve("settings show", port=...) -> (exit code, stdout, stderr), as the command would leave them."""
    import contextlib
    import io
    import shlex

    from potreeve_tools import cli

    def run(line, port=None, stdin=""):
        args = shlex.split(line) + (["--port", port] if port else [])
        out, err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8"), io.StringIO()
        import sys

        before, sys.stdin = sys.stdin, io.StringIO(stdin)
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                code = cli.guarded(lambda: cli.cli.main(args, standalone_mode=False))
        finally:
            sys.stdin = before
        out.flush()
        assert "Traceback" not in err.getvalue()
        return code, out.buffer.getvalue().decode("utf-8"), err.getvalue()

    return run
