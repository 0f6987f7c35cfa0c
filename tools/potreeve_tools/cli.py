"""The `potreeve` command: finds the subcommand, maps what happens to exit codes.

A subcommand lives in commands/NAME.py as `command` and is imported only when it
is used, so that help comes at once.
"""

import difflib
import importlib
import sys

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import details, exits, interrupts, screen
from potreeve_tools.terminal.faultlist import BadInput

SECTIONS = {
    "Without hardware": {
        "rehearse": "Tend a simulated rig with the real firmware.",
        "mishaps": "Let everything go wrong, and judge what came of it.",
        "virtual-board": "Run a simulated board, to try every command on.",
    },
    "Your rig, in the order of the road": {
        "flash": "Put the firmware on a board, or MicroPython itself.",
        "settings": "Write, see, change and push a board's settings.",
        "calibrate": "Measure probes and pumps; give the first drop.",
        "status": "How the rig is: each pot, water, battery, what to do.",
        "board": "Give your boards names; make a board file.",
        "card": "What lights, beeps and the button say, to hang up.",
        "logs": "Pull, show and export the log.",
        "selftest": "Have the board itself prove that it works.",
        "station": "Listen to rigs: store, notice silence, tell.",
    },
    "For those who change Potreeve": {"bench": "Prove and measure; takes longer than a test."},
}
COMMANDS = {name: text for commands in SECTIONS.values() for name, text in commands.items()}
"""Subcommand -> the line shown in the overview. Its module is named alike, "-" as "_"."""

SETTINGS = {"max_content_width": 80}


class Potreeve(habits.Group):
    """The group of all subcommands."""

    def list_commands(self, ctx):
        return list(COMMANDS)

    def get_command(self, ctx, name):
        if name not in COMMANDS:
            return None
        return importlib.import_module("potreeve_tools.commands." + name.replace("-", "_")).command

    def format_commands(self, ctx, formatter):
        wide = max(map(len, COMMANDS))
        for title, commands in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl([(f"{name:<{wide}}", text) for name, text in commands.items()])

    def resolve_command(self, ctx, args):
        word = args[0]
        if not word.startswith("-") and word not in COMMANDS:
            close = difflib.get_close_matches(word, COMMANDS, n=1)
            hint = f'did you mean "{close[0]}"?' if close else f"known: {', '.join(COMMANDS)}."
            raise click.UsageError(f'There is no command "{word}"; {hint}', ctx)
        return super().resolve_command(ctx, args)

    def main(self, args=None, prog_name="potreeve", complete_var=None, standalone_mode=True, **extra):
        def go():
            return super(Potreeve, self).main(args, prog_name, complete_var, standalone_mode=False, **extra)

        if not standalone_mode:
            return go()
        sys.exit(guarded(go))


def guarded(go):
    """Run go() and return the exit code; say what went wrong on stderr."""
    try:
        code = go()
        sys.stdout.flush()
        return code if isinstance(code, int) else exits.OK
    except BadInput as fault:
        screen.complain(fault.faults)
        return exits.BAD_INPUT
    except exits.Stop as stop:
        screen.complain(stop.lines)
        return stop.code
    except click.ClickException as fault:
        fault.show()
        return exits.BAD_INPUT
    except SystemExit as leaving:
        # click's way out when what it prints is not read to the end.
        return exits.OK if interrupts.reader_is_gone() else leaving.code
    except (click.Abort, KeyboardInterrupt):
        click.echo(interrupts.SAID, err=True)
        return exits.INTERRUPTED
    except Exception as fault:
        if isinstance(fault, BrokenPipeError) and interrupts.reader_is_gone():
            return exits.OK
        screen.complain(
            [
                f"that should not have happened: {type(fault).__name__}: {fault}",
                f"the details are in {write_down(fault)}; please pass that file on with a report",
            ]
        )
        return exits.FAULT


def write_down(fault):
    """Write a traceback to a file in the user's state folder (or the temporary one); returns its path."""
    import platform
    import traceback

    from potreeve_tools.settings import settings_secret

    text = "\n".join(
        [
            f"potreeve {version()} · Python {platform.python_version()} · {platform.platform()}",
            " ".join(settings_secret.veiled_words(sys.argv)),
            "",
            "".join(traceback.format_exception(fault)),
        ]
    )
    return details.write_down("fault", text)


def version():
    """Return the installed version of Potreeve as text."""
    import importlib.metadata

    try:
        return importlib.metadata.version("potreeve")
    except importlib.metadata.PackageNotFoundError:
        return "unknown"


def _show_version(ctx, param, wanted):
    if wanted and not ctx.resilient_parsing:
        click.echo(f"potreeve {version()}")
        ctx.exit()


EPILOG = "\b\nExit codes:\n" + "\n".join(f"  {code:>3}  {text}" for code, text in exits.MEANINGS.items())


@click.group("potreeve", cls=Potreeve, context_settings=SETTINGS, invoke_without_command=True, epilog=EPILOG)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_show_version,
    help="Show the version and leave.",
)
@click.option("--no-color", is_flag=True, help="Write without colours (as NO_COLOR does).")
@click.pass_context
def cli(ctx, no_color):
    """Tends a windowsill of potted plants without ever flooding the tray.

    \b
    Examples:
      potreeve rehearse                        a month on the sill, in seconds
      potreeve rehearse --report month.html    the same, with plots to look at
      potreeve rehearse --help                 everything it can do
    """
    if no_color:
        ctx.color = False
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def main():
    """Entry point of the console script."""
    interrupts.arm()
    cli.main()
