"""`potreeve status`: how the rig is, on one screen."""

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, screen

HELP = "\n\n".join(
    [
        "Show each pot's state and why, its last water, what the caps leave, battery, next wake, and what is wrong "
        "with what to do.",
        habits.examples(
            ("potreeve status", "the board that is plugged in"), ("potreeve status --json", "the same for programs")
        ),
        "Exit status 1 if a person is needed: a pot or the rig is held, or something does not work; "
        f"{habits.LINK_CODES}.",
    ]
)

COLOURS = {"": None, "bold": "bold", "leaf": screen.LEAF, "clay": screen.CLAY}


@click.command(cls=habits.Command, name="status", help=HELP, short_help="How the rig is, on one screen.")
@habits.port
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, port, wait_s, as_json):
    from potreeve_tools.link import calibrate_notes, status_facts, status_view

    with habits.connect(port, wait_s) as link:
        facts = status_facts.read_to_last_pulses(link)
    notes = list(facts.notes)
    if facts.old_ones:
        notes.append(("the settings file could not be used; the last good one is in force", "push the settings again"))
    view = {
        "board_id": facts.id,
        "board": (facts.board or {}).get("name"),
        **status_view.overview(
            facts.settings,
            facts.state,
            facts.records,
            notes,
            calibrate_notes.read(facts.files.get(calibrate_notes.NAME)),
        ),
    }
    if as_json:
        habits.print_json(view)
    else:
        console = screen.console()
        for text, colour in status_view.screen_text(view, facts.id):
            console.print(text, style=COLOURS[colour], soft_wrap=True)
    held = any(pot["rung"] == "held" for pot in view["pots"])
    ctx.exit(exits.FAILED if view["faults"] or held else exits.OK)
