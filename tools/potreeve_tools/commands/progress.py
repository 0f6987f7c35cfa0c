"""One bar for everything that takes more than a second."""

import contextlib
import sys

from potreeve_tools.terminal import screen


@contextlib.contextmanager
def bar(title, total, shown="{task.completed:.0f} of {task.total:.0f}"):
    """A bar on stderr, gone when the work ends; nothing where stderr is no terminal.

    Yields move(done=None, what=None): so much is done (None: one more), and this is what it was about.
    """
    if not screen.is_terminal(sys.stderr):
        yield lambda done=None, what=None: None
        return
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    with Progress(
        TextColumn("{task.description:<24.24}"),
        BarColumn(complete_style=screen.LEAF, finished_style=screen.LEAF),
        TextColumn(shown),
        TimeRemainingColumn(compact=True),
        console=screen.console(stderr=True),
        transient=True,
    ) as made:
        task = made.add_task(title, total=total)

        def move(done=None, what=None):
            made.update(task, advance=1 if done is None else None, completed=done, description=what)

        yield move


@contextlib.contextmanager
def of_bytes(total):
    """A bar on stderr while bytes arrive; nothing where stderr is no terminal. Yields move(count of bytes)."""
    if not screen.is_terminal(sys.stderr) or not total:
        yield lambda count: None
        return
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TransferSpeedColumn

    with Progress(
        TextColumn("to the board"),
        BarColumn(complete_style=screen.LEAF, finished_style=screen.LEAF),
        DownloadColumn(),
        TransferSpeedColumn(),
        console=screen.console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task("bytes", total=total)
        yield lambda count: bar.update(task, advance=count)
