"""`potreeve virtual-board`: a board without hardware, behind a serial port of its own."""

import sys
import threading
import time
from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import exits, files
from potreeve_tools.terminal.faultlist import BadInput, collect

HELP = "\n\n".join(
    [
        "Run a board that needs no hardware: real MicroPython with a file system of the board's size, and the "
        "simulated rig as its pumps, probes and sensors. Every command that takes --port works with it.",
        "At first it is blank, as from the shop; its flash is kept in --image. While it sleeps, its time passes "
        "--speed times as fast; awake it is real. Ctrl-C switches it off. Meanwhile it takes these lines on its input:",
        "\b\n  press [MS]      hold the button (300 ms)\n  reset           the reset button\n"
        "  unplug [BYTES]  pull the cable, now or in the middle of what is sent\n  plug            put it back\n"
        "  power           take the power away and give it back\n  look            what the rig is doing\n"
        "  lift POT        take its probe out, into the air\n  soak POT        probe in again, soaked and drained\n"
        "  low POT, up POT hang its tube's end low, and back\n  cups            what came out of each tube since the "
        "last time\n  pour, wipe      water into the tray, up to its sensor; empty and wipe it\n"
        "  display [FILE]  what a display shows, here or as a PNG\n"
        "  skip SECONDS    let so much of its time pass at once, as while a pot drains",
        habits.examples(
            ("potreeve virtual-board --ready", "one that tends already"),
            ("potreeve virtual-board --link ./board", "a port whose name stays"),
            ("potreeve flash --port ./board", "in another window"),
            ("potreeve virtual-board --tcp 4000", "behind socket://127.0.0.1:4000"),
        ),
        "Exit status 2 if a board file, a rig file or a place for image or link won't do; 3 if the port can't be made.",
    ]
)


def _version(ctx, param, value):
    try:
        parts = tuple(int(part) for part in value.split("."))
    except ValueError:
        parts = ()
    if not 2 <= len(parts) <= 3:
        raise click.BadParameter(f"{value}: give it as 1.29 or 1.29.0")
    return (*parts, 0)[:3]


@click.command(
    cls=habits.Command, name="virtual-board", help=HELP, short_help="A board without hardware, to try every command on."
)
@click.option("--board", default="rp2040_wifi", show_default=True, metavar="NAME|FILE", help="Which board it is.")
@click.option(
    "--rig",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The simulated rig, TOML. Default: the reading room, a pot for each pump.",
)
@click.option(
    "--seed", type=click.IntRange(0, 2**53), default=1, show_default=True, help="Fixes all that chance decides."
)
@click.option(
    "--image", type=click.Path(path_type=Path), metavar="FILE", help="Keeps its flash. Default: forgotten at the end."
)
@click.option(
    "--ready", is_flag=True, help="Put firmware and settings on a blank flash first, as flash and calibrate would."
)
@click.option(
    "--tcp",
    type=click.IntRange(0, 65535),
    is_flag=False,
    flag_value=0,
    default=None,
    metavar="[PORT]",
    help="A socket on this machine instead of a terminal.",
)
@click.option(
    "--link",
    type=click.Path(path_type=Path),
    metavar="PATH",
    help="A symbolic link to the terminal, which keeps its name.",
)
@click.option(
    "--speed",
    type=click.FloatRange(1, 1e6),
    default=600.0,
    show_default=True,
    help="How many times faster time passes in its sleep.",
)
@click.option(
    "--usb/--no-usb",
    default=True,
    show_default=True,
    help="Whether the cable brings USB's power; with it the board starts in service mode.",
)
@click.option(
    "--radio/--no-radio", default=None, help="Whether its MicroPython has network. Default: as the board's own."
)
@click.option(
    "--air",
    metavar="NAME[:KEY]",
    help="An access point within its reach; what it sends then leaves by this machine's network.",
)
@click.option(
    "--micropython",
    "version",
    default="1.29.0",
    show_default=True,
    callback=_version,
    metavar="VERSION",
    help="The version it claims, to see what an old one leads to.",
)
@habits.no_color
def command(board, rig, seed, image, ready, tcp, link, speed, usb, radio, air, version):
    from potreeve_tools.virtual.board import VirtualBoard

    device, loaded_rig = _inputs(board, rig)
    _check_places(image, link)
    if ready:
        image = _make_ready(image, device, loaded_rig, seed)
    name, _, key = (air or "").partition(":")
    made = VirtualBoard(
        device,
        loaded_rig,
        seed,
        image,
        tcp,
        link,
        asleep=speed,
        usb=usb,
        version=version,
        radio=radio,
        air=(name, key) if name else None,
    )
    try:
        with made as running:
            click.echo(str(link) if link else running.port)
            click.echo(
                f"{running.name} is running; give this port to the other commands. Ctrl-C switches it off.", err=True
            )
            sys.stdout.flush()
            _attend(running)
    except OSError as fault:
        raise exits.Stop(
            exits.NO_DEVICE, [f"the port can't be made: {fault.strerror or fault}; give another --tcp or --link"]
        ) from fault


def _inputs(board, rig):
    from potreeve_tools.boards import boardfile as boards
    from potreeve_tools.world import rigfile, rooms

    device, loaded = collect(lambda: boards.load(board).device_dict(), lambda: rigfile.load_rig(rig) if rig else None)
    return device, loaded or rooms.rig_for(device)


def _check_places(image, link):
    for path in (image, link):
        if path is not None and not path.absolute().parent.is_dir():
            raise BadInput(
                [f"{path}: there is no folder {path.absolute().parent}; make it first or give another place"]
            )
    if image is not None and image.exists() and not image.is_file():
        raise BadInput([f"--image {image}: {files.what_it_is(image.stat().st_mode)}; give the name of a file"])
    if link is not None and link.exists() and not link.is_symlink():
        raise BadInput([f"--link {link}: something else has that name; give another"])


def _make_ready(image, device, rig, seed):
    """Firmware and settings on an image that has none yet; returns its path."""
    import tempfile

    from potreeve_tools.owner import commission
    from potreeve_tools.virtual import imagefile

    if image is None:
        image = Path(tempfile.mkdtemp(prefix="potreeve-")) / "board.img"
    if not image.exists():
        imagefile.install(image, device, commission.make_settings(rig, device, seed))
    return image


def _attend(board):
    """Follow what is typed until Ctrl-C; tell what happens to the board."""
    lines = threading.Thread(target=_follow, args=(board,), daemon=True)
    lines.start()
    told = 1
    try:
        while True:
            time.sleep(0.2)
            for what in board.log[told:]:
                click.echo(f"  {what}" + (f": {board.port}" if what == "plugged in" else ""), err=True)
            told = len(board.log)
    except KeyboardInterrupt:
        click.echo("switched off", err=True)


def _follow(board):
    from potreeve_tools.virtual.hands import Hands

    hands = Hands(board)
    for line in sys.stdin:
        words = line.split()
        if not words:
            continue
        try:
            if not _handle(hands, *words):
                _do(board, *words)
        except (TypeError, ValueError, KeyError):
            click.echo(
                "  press [MS], reset, unplug [BYTES], plug, power, look, lift POT, soak POT, low POT, up POT, cups, "
                "pour, wipe, display [FILE] or skip SECONDS",
                err=True,
            )


def _handle(hands, word, *pot):
    """Do what hands do at the rig; returns whether it was that."""
    names = [channel.name for channel in hands.board.world.channels]
    if word == "cups":
        click.echo(
            "  " + ", ".join(f"{name} {ml:.0f} ml" for name, ml in zip(names, hands.cup_ml(), strict=True)), err=True
        )
        return True
    if word == "display":
        _display(hands.board, *pot)
        return True
    acts = {
        "lift": hands.lift,
        "soak": hands.soak,
        "low": lambda index: hands.hang(index, True),
        "up": lambda index: hands.hang(index, False),
    }
    if word == "pour":
        click.echo(f"  {hands.pour():.0f} ml poured into the tray, until its sensor stands in it", err=True)
        return True
    if word == "wipe":
        hands.wipe()
        return True
    if word not in acts:
        return False
    acts[word](names.index(" ".join(pot)))
    return True


def _display(board, *path):
    """Show what the display shows, or write it as a picture."""
    from potreeve_tools.virtual import dots

    chip = board.wiring.display
    if chip is None:
        click.echo("  this board has no display", err=True)
        return
    memory, lit = board.do(lambda: (bytes(chip.memory), chip.lit))
    if not lit:
        click.echo("  the display is dark; press lights it", err=True)
    elif path:
        try:
            Path(" ".join(path)).write_bytes(dots.sheet([memory], times=4))
        except OSError as fault:
            click.echo(f"  {' '.join(path)}: {fault.strerror}; give another place", err=True)
    else:
        click.echo("\n".join(dots.text(memory)), err=True)


def _do(board, word, number=None):
    whole = int(number) if number is not None else None
    if word == "press":
        board.press(whole or 300)
    elif word == "unplug":
        board.unplug(whole)
    elif word == "look":
        _look(board)
    elif word == "skip":
        board.skip(whole or 0)
    else:
        {"reset": board.hard_reset, "plug": board.plug, "power": board.power_cycle}[word]()


def _look(board):
    truth = board.truth()
    state = "asleep" if board.asleep else "running its firmware" if board.running else "at its prompt"
    click.echo(
        f"  {state}; day {truth['t_s'] / 86400:.2f} of the rig; battery {truth['battery_mv'] / 1000:.2f} V; "
        f"tray {truth['tray_ml']:.0f} ml; LEDs ok {int(board.wiring.led('ok'))}, warn {int(board.wiring.led('warn'))}",
        err=True,
    )
    for channel, pot in enumerate(truth["pots"]):
        on = ", pump on" if channel in board.wiring.running else ""
        click.echo(f"  {pot['name']}: {pot['moisture_pm']:.0f} per mille, given {pot['given_ml']:.0f} ml{on}", err=True)
