"""`potreeve bench cuts`: the power goes, everywhere."""

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, screen

SHOWN_FAULTS = 20

HELP = "\n\n".join(
    [
        "Cut the power at every block write and erase, torn ones included, in real MicroPython on its real littlefs; "
        "start the board again and judge what is left: that the flash mounts, the water accounts, the intents, the "
        "settings, and that no completed record is lost.",
        habits.examples(
            ("potreeve bench cuts", "every single cut, some seconds"),
            ("potreeve bench cuts --pairs", "each recovery cut again, some minutes"),
            ("potreeve bench cuts --only wake:5:w0", "one cut again"),
            ("potreeve bench cuts --only wake:5:w0+3:w0", "one pair again"),
        ),
        "Exit status 1 if something did not hold.",
    ]
)


@click.command(cls=habits.Command, name="cuts", help=HELP, short_help="Cut the power at every block write and erase.")
@click.option("--pairs", is_flag=True, help="Cut each recovery again, with the coarsest tears.")
@click.option("--only", multiple=True, metavar="ID", help="Rerun one cut, as an earlier run printed it.")
@click.option("--scenario", "scenarios", multiple=True, metavar="NAME", help="Only this scenario; may be given again.")
@click.option("--board", default="rp2040_wifi", show_default=True, metavar="NAME|FILE", help="Whose flash.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, pairs, only, scenarios, board, as_json):
    from potreeve_tools.bench import cuts

    found = cuts.run(board, scenarios or tuple(cuts.SCENARIOS), pairs=pairs, few=pairs, only=only)
    rerun = f"python3 tools/go.py bench cuts --board {board} --only "
    if as_json:
        for one in found["faults"]:
            one["rerun"] = rerun + one["id"]
        habits.print_json({"schema": "potreeve-cuts/1", **found})
    else:
        _show(found, cuts.SCENARIOS, rerun)
    broken = found["faults"] or not all(one["shown"] for one in found["scenarios"])
    ctx.exit(exits.FAILED if broken else exits.OK)


def _show(found, titles, rerun):
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for title, justify in (
        ("scenario", "left"),
        ("what happens", "left"),
        ("writes", "right"),
        ("erases", "right"),
        ("cuts", "right"),
        ("pairs", "right"),
        ("verdict", "left"),
    ):
        table.add_column(title, justify=justify)
    for one in found["scenarios"]:
        verdict = "broken" if one["failed"] else "holds" if one["shown"] else "not shown"
        table.add_row(
            one["scenario"],
            titles[one["scenario"]],
            str(one["writes"]),
            str(one["erases"]),
            str(one["cuts"]),
            str(one["pairs"]),
            verdict,
        )
    console = screen.console()
    console.print(table)
    console.print(f"\n{found['cuts']} cuts and {found['pairs']} pairs in {found['s']} s; {len(found['faults'])} faults")
    for one in found["faults"][:SHOWN_FAULTS]:
        console.print(f"  {one['id']}: {one['fault']}\n    {rerun}{one['id']}", soft_wrap=True)
