"""Options that mean the same in every subcommand."""

import itertools
import json
import re
import textwrap
from pathlib import Path

import click

WIDE = 78
"""Columns of a help text; a terminal of 80 shows it unbroken."""


class _Helps:
    """Answers -h and --help, whoever asks: a command keeps the option it made first, be it outside of `potreeve`."""

    def get_help_option_names(self, ctx):
        return ["-h", "--help"]


class Command(_Helps, click.Command):
    """A command that answers natural slips with what was meant: a pot or a port given as a bare word."""

    def parse_args(self, ctx, args):
        given = list(args)
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as fault:
            hint = _hint(ctx.command_path, {param.opts[0] for param in self.params}, given)
            if hint is None:
                raise
            raise click.UsageError(f"{fault.format_message()} {hint}", ctx) from None


def _hint(path, options, given):
    """What a person who gave bare words may have meant, or None."""
    words = list(itertools.takewhile(lambda word: not word.startswith("-"), given))
    if not words:
        return None
    rest = "".join(f" {word}" for word in given[len(words) :])
    shown = " ".join(words)
    shown = f'"{shown}"' if " " in shown else shown
    if "--port" in options and len(words) == 1 and _looks_like_port(words[0]):
        return f"A port is named by an option; did you mean: {path} --port {shown}{rest}"
    if "--channel" in options and "--channel" not in given:
        return f"A pot is named by an option; did you mean: {path} --channel {shown}{rest}"
    return None


def _looks_like_port(word):
    return bool(re.match(r"(?:socket://|/dev/|COM\d)", word)) or Path(word).exists() or word.startswith(("./", "/"))


class Group(_Helps, click.Group):
    """A group whose help shows its commands first, and then what they are about."""

    command_class = Command

    def format_help(self, ctx, formatter):
        self.format_usage(ctx, formatter)
        self.format_commands(ctx, formatter)
        self.format_help_text(ctx, formatter)
        click.Command.format_options(self, ctx, formatter)
        self.format_epilog(ctx, formatter)


def _no_color(ctx, param, wanted):
    if wanted:
        ctx.find_root().color = False


def no_color(function):
    """Add --no-color."""
    return click.option(
        "--no-color",
        is_flag=True,
        expose_value=False,
        callback=_no_color,
        help="Write without colours (as NO_COLOR does).",
    )(function)


def as_json(function):
    """Add --json; the function gets it as `as_json`."""
    return click.option("--json", "as_json", is_flag=True, help="Print the result as one JSON object.")(function)


def print_json(result):
    """Print one JSON object on stdout."""
    click.echo(json.dumps(result, indent=2, ensure_ascii=False))


LINK_CODES = "3 if no board is found or another program holds its port; 4 if it does not answer or the cable is pulled"
"""What these exit codes mean to every command that talks with a board."""


def examples(*pairs):
    """Return the block of examples of a help text. pairs: (command, what it does)."""
    wide = max(len(command) for command, _ in pairs)
    if 4 + wide + max(len(text) for _, text in pairs) <= WIDE:
        lines = [f"  {command:<{wide}}  {text}" for command, text in pairs]
    else:
        lines = []
        for command, text in pairs:
            folded = textwrap.wrap(command, WIDE - 6, break_long_words=False, break_on_hyphens=False)
            lines += [
                f"  {' ' * 4 if at else ''}{line}{' ' + chr(92) if at < len(folded) - 1 else ''}"
                for at, line in enumerate(folded)
            ]
            lines.append(f"        {text}")
    return "\b\nExamples:\n" + "\n".join(lines)


def port(function):
    """Add --port and --wait; the function gets `port` and `wait_s`."""
    function = click.option(
        "--wait",
        "wait_s",
        type=click.FloatRange(0.1, 7200),
        default=20.0,
        show_default=True,
        metavar="SECONDS",
        help="How long to try to get the board's attention.",
    )(function)
    return click.option(
        "--port",
        metavar="PORT",
        help="The board's serial port, or socket://HOST:PORT. Default: the only board plugged in.",
    )(function)


def connect(port, wait_s=20.0, **options):
    """A connected link.port.Board, to be used with `with`; what a person has to wait for goes to stderr."""
    from potreeve_tools.link.port import open_board

    return open_board(port, say=lambda text: click.echo(text, err=True), wait_s=wait_s, **options)
