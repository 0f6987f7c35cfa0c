"""`potreeve bench mutants`: change the modules that bound water, and see whether a test notices."""

import time

import click

from potreeve_tools.commands import habits, progress
from potreeve_tools.terminal import exits, screen

HELP = "\n\n".join(
    [
        "Change one thing at a time in the modules that bound water or call for it (limits, ledger, watch, ladder, "
        "water, nights, dosing, proof, closing, tray, moisture, battery, starving, suffers) and see who notices: the "
        "vectors, the unit tests, "
        "the state machine against its model, or the verdicts of a few mishaps. What nobody notices has "
        "survived, and is listed with its reason in tools/potreeve_tools/bench/mutants_survivors.md, which keeps "
        "reasons from run to run. Nothing on disk but that list is changed.",
        habits.examples(
            ("potreeve bench mutants", "all fourteen modules: some hours of one core"),
            ("potreeve bench mutants --sample 30 --jobs 2", "thirty of each module; the list stays as it is"),
            ("potreeve bench mutants --module limits", "one module"),
            (
                "potreeve bench mutants --module limits --only fill_day",
                "the changes of one function; the list stays as it is",
            ),
        ),
        "Exit status 1 if less than 90 % of a module's mutants were noticed.",
    ]
)


@click.command(
    cls=habits.Command, name="mutants", help=HELP, short_help="Change the logic, one thing at a time; see who notices."
)
@click.option("--module", "modules", multiple=True, metavar="NAME", help="Only this module; may be given again.")
@click.option("--only", metavar="TEXT", help="Only changes whose description contains this.")
@click.option("--sample", type=click.IntRange(1), metavar="N", help="Only so many of each module, drawn at random.")
@click.option("--seed", type=int, default=1, show_default=True, help="Which are drawn.")
@click.option("--jobs", type=click.IntRange(1, 256), default=1, show_default=True, metavar="N", help="Processes.")
@habits.as_json
@habits.no_color
@click.pass_context
def command(ctx, modules, only, sample, seed, jobs, as_json):
    from potreeve_tools.bench import mutantpage, mutants

    began = time.monotonic()
    with progress.bar("mutants", None) as move:
        judged = mutants.run(modules or mutants.MODULES, lambda *told: _progress(move, *told), only, jobs, sample, seed)
    found = mutantpage.report(judged, time.monotonic() - began)
    whole = only is None and sample is None
    if whole:
        mutantpage.write_survivors(judged)
    if as_json:
        habits.print_json(found)
    else:
        _show(found)
        if whole:
            click.echo(f"Survivors and their reasons: {mutantpage.SURVIVORS}")
    ctx.exit(exits.OK if found["good"] else exits.FAILED)


def _progress(move, judged, done, total):
    move(done, f"{judged.module} of {total}")
    if judged.by == "survived":
        click.echo(f"{done}/{total} {judged.module}.py:{judged.line} survived  {judged.key}", err=True)


def _show(found):
    from rich.table import Table

    names = list(found["modules"][0]["by"]) if found["modules"] else []
    table = Table(box=None, pad_edge=False, header_style=screen.FAINT)
    for title in ("module", "mutants", "noticed", "%", *names):
        table.add_column(title, justify="left" if title == "module" else "right")
    for row in found["modules"]:
        table.add_row(
            row["module"],
            str(row["mutants"]),
            str(row["killed"]),
            f"{row['killed_pct']:.1f}",
            *[str(row["by"][name]) for name in names],
        )
    console = screen.console()
    console.print(table)
    console.print(
        f"\n{sum(row['mutants'] for row in found['modules'])} mutants in {found['s']:g} s; the aim is "
        f"{found['aim_pct']:g} %."
    )
