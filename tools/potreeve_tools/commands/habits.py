"""Options that mean the same in every subcommand."""

import json

import click


def _no_color(ctx, param, wanted):
    if wanted:
        ctx.find_root().color = False


def no_color(function):
    """Add --no-color."""
    return click.option("--no-color", is_flag=True, expose_value=False, callback=_no_color,
                        help="Write without colours (as NO_COLOR does).")(function)


def as_json(function):
    """Add --json; the function gets it as `as_json`."""
    return click.option("--json", "as_json", is_flag=True, help="Print the result as one JSON object.")(function)


def print_json(result):
    """Print one JSON object on stdout."""
    click.echo(json.dumps(result, indent=2, ensure_ascii=False))


def examples(*pairs):
    """Return the block of examples of a help text. pairs: (command, what it does)."""
    wide = max(len(command) for command, _ in pairs)
    return "\b\nExamples:\n" + "\n".join(f"  {command:<{wide}}  {text}" for command, text in pairs)
