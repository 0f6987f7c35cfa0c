"""`potreeve card`: what lights, beeps and the button say, for the wall beside the rig."""

from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal.faultlist import BadInput

HELP = "\n\n".join(
    [
        "Print a card of a postcard's size: what the lights and the beep mean, what the button says, what to do "
        "in a spill.",
        habits.examples(
            ("potreeve card", "on the terminal"),
            ("potreeve card --write card.svg", "148 x 105 mm, to print and to hang up"),
            ("potreeve card --write card.html --name Kitchen", "as a page, with the rig's name"),
        ),
        "Exit status 2 if the file can't be written.",
    ]
)


@click.command(cls=habits.Command, name="card", help=HELP, short_help="What lights, beeps and the button say.")
@click.option(
    "--write",
    "path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A drawing to print: FILE.svg or FILE.html.",
)
@click.option("--name", metavar="NAME", help="What you call the rig, for the card's head.")
@habits.no_color
def command(path, name):
    from potreeve_tools.terminal import files
    from potreeve_tools.words import card

    if path is None:
        click.echo("\n".join(card.text(name)))
        return
    forms = {".svg": card.svg, ".html": card.html}
    if path.suffix.lower() not in forms:
        raise BadInput([f"--write {path}: give a name that ends in .svg or .html, e.g. {path.stem or 'card'}.svg"])
    files.write_whole(path, forms[path.suffix.lower()](name).encode("utf-8"))
    click.echo(f"Card written to {path}; it is 148 x 105 mm, print it at its true size.", err=True)
