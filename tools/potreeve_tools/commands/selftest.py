"""`potreeve selftest`: the board proves that it works."""

import sys

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import screen

HELP = "\n\n".join(
    [
        "Run the logic's test vectors on the board itself and compare every answer with this desktop's, byte for "
        "byte; look at pins, I2C, probes, battery, sensors, memory, files and clock.",
        "No pump runs, unless --water is given: then one short pulse each, with every cap in force.",
        habits.examples(
            ("potreeve selftest", "the board that is plugged in"), ("potreeve selftest --water", "its pumps, too")
        ),
        f"Exit status 1 if something does not hold; {habits.LINK_CODES}.",
    ]
)

MARKS = {"good": ("good", screen.LEAF), "note": ("note", screen.WATER), "bad": ("BAD", screen.CLAY)}


@click.command(cls=habits.Command, name="selftest", help=HELP, short_help="Have the board itself prove that it works.")
@click.option("--water", is_flag=True, help="Also run each pump for half a second, through the board's own caps.")
@habits.port
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, water, port, wait_s, as_json):
    from potreeve_tools.link import selftest_run, status_facts

    console = screen.console()

    def show(result):
        if as_json:
            return
        word, colour = MARKS[result.verdict]
        console.print(f"{word:<5}", style=colour, end="")
        console.print(f"{result.name}: {result.seen}" + (f"; {result.do}" if result.do else ""), soft_wrap=True)

    with habits.connect(port, wait_s) as link:
        status_facts.need_firmware(link)
        facts = status_facts.read(link)
        if facts.board is None:
            from potreeve_tools.terminal import exits

            raise exits.Stop(
                exits.FAILED, [f"{link.port}: the board has no usable board file.", "Run potreeve flash first."]
            )
        with _progress(as_json) as progress:
            results = selftest_run.run(link, facts, water, show, progress)
    code = selftest_run.verdict(results)
    if as_json:
        habits.print_json(
            {"board_id": facts.id, "passed": code == 0, "results": [result._asdict() for result in results]}
        )
    else:
        bad = sum(result.verdict == "bad" for result in results)
        console.print(f"{bad} of {len(results)} do not hold." if bad else f"All {len(results)} hold.", style="bold")
    ctx.exit(code)


class _progress:
    """A bar on stderr while vectors run, nothing where stderr is no terminal."""

    def __init__(self, quiet):
        self.quiet = quiet

    def __enter__(self):
        self.bar = None
        if self.quiet or not screen.is_terminal(sys.stderr):
            return None
        from rich.progress import BarColumn, Progress, TextColumn

        self.bar = Progress(
            TextColumn("vectors"),
            BarColumn(complete_style=screen.LEAF, finished_style=screen.LEAF),
            TextColumn("{task.completed:.0f} of {task.total:g}"),
            console=screen.console(stderr=True),
            transient=True,
        )
        self.bar.start()
        task = self.bar.add_task("vectors", total=1)
        return lambda done, total: self.bar.update(task, completed=done, total=total)

    def __exit__(self, *fault):
        if self.bar is not None:
            self.bar.stop()
