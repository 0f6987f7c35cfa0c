"""The terminal: results go to stdout, everything said about them to stderr.

Colour is off when the stream is not a terminal, with NO_COLOR or TERM=dumb in
the environment, and after --no-color.
"""

import sys

import click

INK = "default"
LEAF = "green"
CLAY = "dark_orange3"
WATER = "deep_sky_blue4"
FAINT = "bright_black"


def _colourless():
    context = click.get_current_context(silent=True)
    return context is not None and context.find_root().color is False


def console(stderr=False):
    """Return a rich Console for stdout or stderr, made for this moment's streams."""
    from rich.console import Console

    class Plain(Console):
        def on_broken_pipe(self):
            # rich would leave with 1; that a reader has left is no failure, see cli.guarded.
            raise BrokenPipeError

    return Plain(stderr=stderr, no_color=True if _colourless() else None, highlight=False, emoji=False, markup=False)


def complain(lines):
    """Print one line per fault on stderr."""
    for line in lines:
        click.echo(f"potreeve: {line}", err=True)


def can_show(stream, text):
    """True when a stream's encoding has every character of text."""
    try:
        text.encode(getattr(stream, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def is_terminal(stream):
    """True when something may move on this stream."""
    return bool(getattr(stream, "isatty", lambda: False)())


def block_chars():
    """True when stdout can show box and block characters."""
    return can_show(sys.stdout, "▁█─│·")
