"""`potreeve flash`: put the firmware on a board, or MicroPython itself on one in bootloader mode."""

import contextlib
import sys
from pathlib import Path

import click

from potreeve_tools.commands import habits, progress
from potreeve_tools.terminal import screen
from potreeve_tools.terminal.faultlist import BadInput

HELP = "\n\n".join(
    [
        "Put the firmware on the board, or bring it up to date.",
        "First comes the gate: quick tests, a rehearsal and some mishaps, with the settings that are on this board. "
        "Only what differs is sent; each file is checked by the board before it takes its place. Settings, "
        "calibration, ledger and logs stay. Broken off anywhere, the board runs the old firmware or the new one, or "
        "stays safe with its pumps off and says that it is "
        "unfinished; the same command again completes it.",
        habits.examples(
            ("potreeve flash", "the board that is plugged in, as it is wired already"),
            ("potreeve flash --board rp2040_wifi", "a bare board: say how it is wired"),
            ("potreeve flash --dry-run", "only show what would be sent"),
            ("potreeve flash --firmware FILE.uf2", "MicroPython itself, in bootloader mode"),
            ("potreeve flash --firmware FILE.bin --port PORT", "the same on an ESP32, with esptool"),
        ),
        "Exit status 1 if the gate fails, MicroPython is too old or the board is full; 2 if the board file does "
        "not fit the board; "
        f"{habits.LINK_CODES}; 5 if what was written does not read back.",
    ]
)


@click.command(cls=habits.Command, name="flash", help=HELP, short_help="Put the firmware on a board.")
@habits.port
@click.option(
    "--board", "asked", metavar="NAME|FILE", help="How the board is wired. Default: as it was flashed before."
)
@click.option(
    "--settings",
    "settings_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Settings for the gate. Default: those on the board.",
)
@click.option(
    "--rig",
    "rig_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The rig for the gate. Default: one simulated to resemble the settings.",
)
@click.option("--dry-run", is_flag=True, help="Show what would be sent and removed; change nothing.")
@click.option("--no-gate", is_flag=True, help="Leave out the gate; asks for the board's name.")
@click.option("--confirm", metavar="NAME", help="The board's name, for scripts that use --no-gate.")
@click.option(
    "--firmware",
    "firmware_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="MicroPython itself: .uf2 for RP2 boards, .bin for an ESP32.",
)
@click.option(
    "--drive",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder of the drive a board shows in bootloader mode. Default: looked for.",
)
@click.option("--no-wait", is_flag=True, help="With --firmware: do not wait for the board to come back.")
@habits.as_json
@habits.no_color
def command(
    port, wait_s, asked, settings_path, rig_path, dry_run, no_gate, confirm, firmware_path, drive, no_wait, as_json
):
    _check_options(firmware_path, drive, no_wait, dry_run, no_gate, confirm, settings_path or rig_path)
    if firmware_path is not None:
        from potreeve_tools.commands import flash_micropython

        flash_micropython.run(firmware_path, drive, port, wait_s, not no_wait, say)
        return
    from potreeve_tools.link.flash import gatesetting, work

    gatesetting.check_files(settings_path, rig_path)
    # Service mode would leave its mark on the board; a look does without.
    with habits.connect(port, wait_s, service=not dry_run) as link:
        job = work.prepare(link, asked)
        _tell_board(link, job)
        if dry_run:
            _show(link, job, as_json)
            if job.plan.steps:
                work.refuse_full(job)
            return
        if not job.plan.steps:
            _say_unchanged(link, job, as_json)
            return
        work.refuse_full(job)
        if no_gate:
            work.own_name_typed(job, confirm if confirm is not None else _ask_name(job, link))
        else:
            setting = work.setting_of(link, job, settings_path, rig_path)
            with _waiting() as tell:
                # Service mode ends by itself when nobody talks for long.
                work.pass_gate(setting, say, lambda *so_far: (link.touch(), tell(*so_far)))
            link.touch()
        _flash(link, job, as_json)


def say(text):
    """One sentence on what is going on."""
    click.echo(text, err=True)


def _check_options(firmware_path, drive, no_wait, dry_run, no_gate, confirm, for_gate):
    wrong = []
    if firmware_path is None and (drive is not None or no_wait):
        wrong.append("--drive and --no-wait belong to --firmware FILE; add it or leave them out")
    if firmware_path is not None and (dry_run or no_gate or for_gate):
        wrong.append(
            "--firmware puts on MicroPython itself, which --dry-run, --no-gate, --settings and --rig know nothing of; "
            "leave them out"
        )
    elif no_gate and for_gate:
        wrong.append("--settings and --rig belong to the gate, which --no-gate leaves out; leave out one or the other")
    if confirm is not None and not no_gate:
        wrong.append("--confirm belongs to --no-gate; leave it out, or add that")
    if wrong:
        raise BadInput(wrong)


def _ask_name(job, link):
    from potreeve_tools.link import awake

    if not screen.is_terminal(sys.stdin):
        raise BadInput(
            [f"--no-gate asks for the board's name and nobody is there to type it; add --confirm {job.board_name}"]
        )
    say("Without the gate nothing has shown that this firmware tends this rig.")
    with awake.kept(link):
        return click.prompt(f"Type the board's name ({job.board_name}) to flash all the same", err=True)


def _tell_board(link, job):
    found = job.found
    say(
        f"{link.port}: {found.machine}, MicroPython {found.version_text}, "
        + _has(found)
        + (", unfinished" if found.present.unfinished else "")
    )
    if link.info["refuses"]:
        say(f"It does not start its firmware ({link.info['refuses']}); its pumps are off.")
    say(f"Board file: {job.board_name}, {job.why}.")
    if job.board is not None and found.build and found.build != job.board.data["micropython"]:
        say(
            f"Note: its MicroPython is built for {found.build}, the board file expects {job.board.data['micropython']}."
        )
    from potreeve_tools.link.flash import look

    if found.version[:2] > look.NEWEST_TESTED:
        say(f"Note: MicroPython {found.version_text} is newer than tested (1.26 to 1.29).")


def _has(found):
    """Words for the firmware on a board; one that was copied by hand has no manifest to say which."""
    if found.runs:
        return f"Potreeve {found.runs}"
    return "Potreeve, which version it does not say" if found.has_firmware else "no Potreeve yet"


def _rows(job):
    """(path, what is done, bytes) of each file, in the order of the work; kept ones last."""
    plan = job.plan
    sizes = {path: len(data) for path, data in job.image.files.items()}
    rows = [
        (step.path, step.kind, len(step.data) if step.kind == "send" else job.found.present.files[step.path][0])
        for step in plan.steps
        if step.kind in ("send", "remove")
    ]
    return rows + [(path, "keep", sizes[path]) for path in plan.kept]


def _result(link, job, **more):
    return {
        "port": link.port,
        "board": job.board_name,
        "machine": job.found.machine,
        "micropython": job.found.version_text,
        "version": job.image.version,
        "send_files": len(job.plan.sends),
        "send_bytes": job.plan.send_bytes,
        "removed": len(job.plan.removes),
        "kept": len(job.plan.kept),
        **more,
    }


def _show(link, job, as_json):
    """The plan, as a table or as JSON."""
    rows = _rows(job)
    if as_json:
        files = [{"path": path, "action": action, "bytes": size} for path, action, size in rows]
        habits.print_json(_result(link, job, files=files))
        return
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    table.add_column("file")
    table.add_column("what")
    table.add_column("bytes", justify="right")
    colours = {"send": screen.LEAF, "remove": screen.CLAY, "keep": screen.FAINT}
    for path, action, size in rows:
        table.add_row(path, action, f"{size:,}", style=colours[action])
    screen.console().print(table)
    plan = job.plan
    click.echo(
        f"Would send {_files(plan.sends)} ({plan.send_bytes:,} bytes), remove {len(plan.removes)}, keep "
        f"{len(plan.kept)}. "
        "Nothing was changed."
    )


def _files(listed):
    return f"{len(listed)} file{'' if len(listed) == 1 else 's'}"


def _say_unchanged(link, job, as_json):
    text = f"Nothing to send: the board runs Potreeve {job.image.version} already, every file as it should be."
    if as_json:
        say(text)
        habits.print_json(_result(link, job, seconds=0.0, round_trips=link.traffic.round_trips))
    else:
        click.echo(text)


def _flash(link, job, as_json):
    from potreeve_tools.link.flash import work

    copied = work.keep_copy(link, job)
    if copied is not None:
        say(f"A copy of its settings and ledger is in {copied}")
    before = link.traffic.round_trips
    with progress.of_bytes(job.plan.send_bytes) as on_bytes:
        seconds = work.carry_out(link, job, on_bytes)
    trips = link.traffic.round_trips - before
    plan = job.plan
    rate = f", {plan.send_bytes / seconds / 1000:.0f} kB/s" if plan.send_bytes and seconds > 0 else ""
    say(
        f"Sent {_files(plan.sends)} ({plan.send_bytes:,} bytes), removed {len(plan.removes)}, kept {len(plan.kept)}, "
        f"in {seconds:.1f} s{rate}; every file reads back as sent."
    )
    version = work.start_anew(link)
    link.leave = "tend"
    own = work.read_settings(link)
    if as_json:
        habits.print_json(_result(link, job, seconds=round(seconds, 2), round_trips=trips))
        return
    click.echo(
        f"The board now runs Potreeve {version} on MicroPython {job.found.version_text}, wired as {job.board_name}."
    )
    if own is None:
        click.echo(
            "It has no settings yet, so no pump will run. Next: potreeve settings push FILE (potreeve settings new "
            "begins one), or with a copy of an earlier board potreeve settings push --from-backup"
        )
    else:
        click.echo("Its settings, calibration, ledger and logs are as before. It tends again from now on.")


@contextlib.contextmanager
def _waiting():
    """A line on stderr that says which check runs, for how long and how far it is, gone when it ends."""
    if not screen.is_terminal(sys.stderr):
        yield lambda check, seconds, share: None
        return
    from rich.status import Status

    def tell(check, seconds, share):
        far = "" if share is None else f", {share} %"
        status.update(f"the gate: {check.title}, {seconds:.0f} s{far}")

    with Status("the gate", console=screen.console(stderr=True)) as status:
        yield tell
