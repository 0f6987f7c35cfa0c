"""`potreeve logs`: the board's own record of every wake."""

import json
import sys
from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, files, screen
from potreeve_tools.terminal.faultlist import BadInput

HELP = "\n\n".join(
    [
        "Pull the log of a board, look at it, and export it.",
        "What has been pulled stays in your data folder (POTREEVE_DATA_DIR, if set), per board. Every checksum is "
        "checked and every gap named. Where the board's clock was not known, there is no wall time, only proven "
        "seconds.",
        habits.examples(
            ("potreeve logs pull", "fetch what is new"),
            ("potreeve logs show --last 48", "the last day, as a table"),
            ("potreeve logs export sill.csv", "everything, for a spreadsheet"),
            ("potreeve logs export sill.parquet", "the same for data frames"),
            ("potreeve logs climate room.csv", "the room's air, for rehearsals"),
        ),
        "Exit status 1 if something is missing or damaged, or nothing has been pulled yet; 2 if a file can't be "
        "written or it is not clear "
        f"which board is meant; {habits.LINK_CODES}; 5 if a part of the log does not arrive whole.",
    ]
)

BOARD = click.option(
    "--board", "board_id", metavar="BOARD", help="Which board's log, by name or id, where several were pulled."
)


@click.group(cls=habits.Group, name="logs", help=HELP, short_help="Pull, show and export the log.")
def command():
    pass


@command.command(
    "pull",
    short_help="Fetch what is new.",
    epilog=habits.examples(("potreeve logs pull", "from the only board plugged in")),
)
@habits.port
@habits.as_json
@habits.no_color
@click.pass_context
def pull(ctx, port, wait_s, as_json):
    """Fetch from the board what is not here yet. Exit status 1 if this pull shows a new gap."""
    from potreeve_tools.link import logs_pull, logs_read, logs_store, status_facts

    with habits.connect(port, wait_s) as link:
        facts = status_facts.read(link)
        _keep_names(facts)
        known = len(logs_read.read(logs_store.memories(facts.id))[1])
        began = link.traffic.seconds
        with _progress() as progress:
            done = logs_pull.pull(
                lambda code: link.output(code, "sending its log", timeout_s=30.0).decode("ascii", "replace"),
                facts.id,
                progress,
            )
        seconds = link.traffic.seconds - began
    folders = logs_store.memories(facts.id)
    rows, gaps = logs_read.read(folders)
    result = {
        "board_id": facts.id,
        "folder": str(done.folder) if done.folder else None,
        "fetched_bytes": done.bytes,
        "segments": done.segments,
        "round_trips": done.trips,
        "seconds": round(seconds, 2),
        "wakes": len(rows),
        "gaps": [gap.line() for gap in gaps],
        "unreadable_segments": done.unreadable,
    }
    bad = len(gaps) > known or bool(done.unreadable)
    if as_json:
        habits.print_json(result)
    else:
        _tell_pull(result)
    ctx.exit(exits.FAILED if bad else exits.OK)


def _tell_pull(result):
    from potreeve_tools.link import boardnames

    if result["folder"] is None:
        click.echo("The board has no log yet: it has not been awake with settings.")
        return
    rate = (
        f", {result['fetched_bytes'] / 1000 / result['seconds']:.0f} kB/s"
        if result["seconds"] > 0.2 and result["fetched_bytes"]
        else ""
    )
    click.echo(
        f"{result['fetched_bytes']} bytes in {result['round_trips']} round trips{rate}; "
        f"{result['wakes']} wakes of board {boardnames.shown(result['board_id'])} are here now."
    )
    for number in result["unreadable_segments"]:
        click.echo(f"Segment {number} can't be read on the board: its file system is damaged there.")
    for gap in result["gaps"]:
        click.echo(f"Gap: {gap}")
    if not result["gaps"]:
        click.echo("No gaps: every checksum and every sequence number is right.")


@command.command(
    "show",
    short_help="As a table.",
    epilog=habits.examples(("potreeve logs show --last 48", "the last two days or so")),
)
@click.option(
    "--last", type=click.IntRange(0, 1_000_000), default=24, show_default=True, help="So many wakes; 0 for all."
)
@BOARD
@habits.no_color
def show(last, board_id):
    """Print what has been pulled; needs no board."""
    from potreeve_tools.link import logs_show

    rows, gaps, names = _rows(board_id)
    logs_show.show(screen.console(), rows, gaps, names, last)


@command.command(
    "export",
    short_help="For other programs.",
    epilog=habits.examples(
        ("potreeve logs export sill.csv", "for a spreadsheet"),
        ("potreeve logs export sill.parquet", "for data frames"),
        ("potreeve logs export - --format jsonl", "to the next program"),
    ),
)
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True), metavar="FILE")
@click.option(
    "--format", "form", type=click.Choice(("csv", "jsonl", "parquet")), help="Default: what FILE's ending says."
)
@BOARD
@habits.no_color
def export(path, form, board_id):
    """Write what has been pulled as CSV, JSON Lines or Parquet: one line per wake and pot. FILE `-` is stdout."""
    from potreeve_tools.link import logs_export

    form = form or {".csv": "csv", ".jsonl": "jsonl", ".parquet": "parquet"}.get(path.suffix.lower())
    if form is None:
        raise BadInput([f"{path}: which format? Give a name ending in .csv, .jsonl or .parquet, or --format"])
    rows, gaps, names = _rows(board_id)
    told = f"{len(rows)} wakes, {sum(len(row.pots) for row in rows)} lines, written to {path}."
    _write(path, logs_export.FORMS[form](rows, names), told, gaps)


@command.command(
    "climate",
    short_help="The room's climate, for rehearsals.",
    epilog=habits.examples(("potreeve logs climate room.csv", 'then weather = "room.csv" in a rig\'s [site]')),
)
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True), metavar="FILE.csv")
@BOARD
@habits.no_color
def climate(path, board_id):
    """Write temperature, humidity and light of what has been pulled as hourly means: weather for a rig file, so that
    rehearsals run in your own room's air. FILE `-` is stdout."""
    from potreeve_tools.link import logs_climate

    if str(path) != "-" and path.suffix.lower() != ".csv":
        raise BadInput([f"{path}: the climate is written as CSV; name it {path.stem or 'room'}.csv"])
    rows, gaps, _ = _rows(board_id)
    data, hours, missing = logs_climate.to_csv(rows)
    _write(path, data, f"{hours} hours, {missing} missing between them, written to {path}.", gaps)


def _write(path, data, told, gaps):
    """Bytes to a file, or to stdout for `-`; what was written and what is missing to stderr."""
    from potreeve_tools.link import backup

    if str(path) == "-":
        sys.stdout.buffer.write(data)
    else:
        if not path.parent.is_dir():
            raise BadInput([f"{path}: there is no folder {path.parent}; make it first or give another place"])
        backup.write_whole(path, data)
        click.echo(told, err=True)
    for gap in gaps:
        click.echo(f"Gap: {gap.line()}", err=True)


def _rows(board_id):
    """(rows, gaps, names of the pots) of one board's pulled log."""
    from potreeve_tools.link import backup, boardnames, logs_read, logs_store

    known = logs_store.boards()
    if not known:
        raise exits.Stop(
            exits.FAILED, [f"no log has been pulled into {backup.data_folder()} yet.", "Run potreeve logs pull first."]
        )
    if board_id is None and len(known) > 1:
        raise BadInput(
            [
                f"logs of {len(known)} boards are here; say which one: "
                + ", ".join(f"--board {boardnames.shown(name)}" for name in known)
            ]
        )
    chosen = backup.plain(boardnames.resolve(board_id)) if board_id else known[0]
    if chosen not in known:
        raise BadInput([f"--board {board_id}: no log of it here; there are {', '.join(known)}"])
    rows, gaps = logs_read.read(logs_store.memories(chosen))
    names = _kept_names(logs_store.log_folder(chosen) / "pots.json")
    widest = max((len(row.pots) for row in rows), default=0)
    return rows, gaps, names + [f"channel {index}" for index in range(len(names), widest)]


def _kept_names(path):
    """The pots' names as the last pull left them; none where that file is not what it was."""
    try:
        names = files.read_json(path)
    except BadInput:
        return []
    return [str(name) for name in names] if isinstance(names, list) else []


def _keep_names(facts):
    from potreeve_tools.link import backup, logs_store

    if facts.settings:
        names = [channel["name"] for channel in facts.settings["channels"]]
        backup.write_whole(
            logs_store.log_folder(facts.id) / "pots.json", json.dumps(names, ensure_ascii=False).encode("utf-8")
        )


class _progress:
    """A bar on stderr while bytes come in, nothing where stderr is no terminal."""

    def __enter__(self):
        self.bar = None
        if not screen.is_terminal(sys.stderr):
            return None
        from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn

        self.bar = Progress(
            TextColumn("log"),
            BarColumn(complete_style=screen.LEAF, finished_style=screen.LEAF),
            DownloadColumn(),
            console=screen.console(stderr=True),
            transient=True,
        )
        self.bar.start()
        task = self.bar.add_task("log", total=None)
        return lambda got, total: self.bar.update(task, completed=got, total=total)

    def __exit__(self, *fault):
        if self.bar is not None:
            self.bar.stop()
