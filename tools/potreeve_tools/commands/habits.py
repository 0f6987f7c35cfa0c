"""Options that mean the same in every subcommand."""

import json

import click


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


LINK_CODES = (
    "3 without a board, or when another program holds its port; 4 when it does not answer or the cable is pulled"
)
"""What these exit codes mean to every command that talks with a board."""


def examples(*pairs):
    """Return the block of examples of a help text. pairs: (command, what it does)."""
    wide = max(len(command) for command, _ in pairs)
    return "\b\nExamples:\n" + "\n".join(f"  {command:<{wide}}  {text}" for command, text in pairs)


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
