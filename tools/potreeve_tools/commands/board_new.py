"""`potreeve board new`: a board file of one's own, from chip, pins and sensors."""

import sys
from pathlib import Path

import click

from potreeve_tools.commands import habits
from potreeve_tools.terminal import screen
from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, collect, fault_line, nearest

CHIPS = ("rp2040", "rp2350", "esp32")
EXAMPLE = "potreeve board new my_board.toml --chip esp32 --pots 2"
ANSWERS = (
    Key("name", "str", 1, 40, default="", help="the board's name"),
    Key("chip", "choice", choices=CHIPS, default=""),
    Key("micropython", "str", 0, 60, default="", help="name of the MicroPython build"),
    Key("pots", "int", 1, 4, default=0),
    Key("pins", "table", default={}),
    Key("sensors", "table", default={}),
    Key("soil_pin", "int", -1, 48, default=-1),
)
HELP = "\n\n".join(
    [
        "Write a board file of your own: say chip, pots, pins and sensors, on a terminal in answer to questions, else "
        "by options or a file of answers. For what you don't say it takes pins that the chip's own constraints leave, "
        "as on Potreeve's boards.",
        "Every pin is checked: one that can't do its job, sets the boot mode, belongs to flash, radio or serial port, "
        "or is used twice is refused with a remedy, and nothing is written. The file has the cautions, the wiring as "
        "a table, and energy figures marked as assumed: measure yours. A file that is there is never written over. "
        "Boards behind a load switch, pulsing probes and photodiodes are for an editor: copy the nearest board file.",
        habits.examples(
            (EXAMPLE, "all pins chosen for you"),
            ("potreeve board new my_board.toml --chip esp32 --pin pumps=18,19 --pin buzzer=none", "two gates given"),
            ("potreeve board new my_board.toml --answers wiring.json --dry-run", "answers from a file; only look"),
        ),
        "Keys of --pin are those of [pins] in a board file. Exit status 2 if anything won't do.",
    ]
)


def _pins(ctx, param, words):
    found, faults = {}, []
    for word in words:
        key, _, text = word.partition("=")
        try:
            if text.strip() == "none":
                numbers = [-1]
            else:
                numbers = [int(part) for part in text.split(",")]
            if not all(-1 <= number <= 48 for number in numbers):
                raise ValueError
        except ValueError:
            faults.append(f"--pin {word}: not pins; write KEY=GPIO, KEY=GPIO,GPIO,... or KEY=none, GPIO 0 to 48")
            continue
        if key in found:
            faults.append(f"--pin {word}: {key} is given twice; give it once")
        found[key.strip()] = numbers
    if faults:
        raise BadInput(faults)
    return found


@click.command(cls=habits.Command, name="new", help=HELP, short_help="A board file of your own, checked.")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.toml")
@click.option("--chip", type=click.Choice(CHIPS), help="What is on the board.")
@click.option("--pots", type=click.IntRange(1, 4), help="How many, each a pump and a probe.")
@click.option("--pin", "pins", multiple=True, callback=_pins, metavar="KEY=GPIO", help="A pin; may be given again.")
@click.option("--climate", metavar="NAME", help="Sensor of temperature and humidity, or none.  [default: bme280]")
@click.option("--climate-address", type=click.IntRange(8, 119), help="Its I2C address, if not the usual one.")
@click.option("--light", metavar="NAME", help="Sensor of light, or none.  [default: bh1750]")
@click.option("--soil-pin", type=click.IntRange(0, 48), help="Data wire of a DS18B20 in a pot's soil, if there is one.")
@click.option("--micropython", metavar="BUILD", help="Name of its MicroPython build.  [default: the chip's usual one]")
@click.option("--name", metavar="NAME", help="What you call it.  [default: the file's name]")
@click.option(
    "--answers", type=click.Path(path_type=Path), metavar="FILE", help="Answers, JSON or TOML; options go before them."
)
@click.option("--dry-run", is_flag=True, help="Print the file instead of writing it.")
@habits.as_json
@habits.no_color
def command(
    path, chip, pots, pins, climate, climate_address, light, soil_pin, micropython, name, answers, dry_run, as_json
):
    from potreeve_tools.terminal import files

    _check_place(path)
    told = _answers(answers)
    told["pins"] |= pins
    told["sensors"] |= {
        key: value
        for key, value in (("climate", climate), ("climate_address", climate_address), ("light", light))
        if value is not None
    }
    for key, value in (("chip", chip), ("pots", pots), ("micropython", micropython), ("soil_pin", soil_pin)):
        told[key] = value if value is not None else told[key]
    told["name"] = name or told["name"] or path.stem
    plan = _plan(path, told, asking=screen.is_terminal(sys.stdin) and not answers)
    text = plan.fill().text()
    if not dry_run:
        files.write_whole(path, text.encode("utf-8"))
    if as_json:
        habits.print_json(_result(path, plan, text, not dry_run))
        return
    if dry_run:
        click.echo(text, nl=False)
    if plan.given.get("pump_enable", -1) < 0:
        click.echo("Caution: without a master switch (pump_enable) one transistor stuck on empties the tub.", err=True)
    if plan.suggested:
        chosen = "; ".join(f"{key} {_shown(plan.given[key])}" for key in plan.suggested)
        click.echo(f"Chosen for you: {chosen}.", err=True)
    click.echo("Energy figures are assumed: days on a battery are a guess until you measure yours.", err=True)
    if dry_run:
        click.echo(f"Nothing is written; without --dry-run it goes to {path}.", err=True)
    else:
        click.echo(f"Written to {path}; look through it, then: potreeve rehearse --board {path}", err=True)


def _check_place(path):
    if path.suffix.lower() != ".toml":
        raise BadInput([f"{path}: a board file is TOML; name it {path.stem or 'my_board'}.toml"])
    if path.exists() or path.is_symlink():
        raise BadInput([f"{path}: is there already and is never written over; give another name, or move it away"])
    if not path.absolute().parent.is_dir():
        raise BadInput([f"{path}: there is no folder {path.parent}; make it first or give another place"])


def _answers(path):
    """The answers of a file, or none. Raises BadInput."""
    from potreeve_tools.terminal import files

    data = {}
    if path is not None:
        read = files.read_json if path.suffix.lower() == ".json" else files.read_toml
        data = read(path)
    clean, faults = check_table(data, ANSWERS, str(path))
    for key, value in dict(clean.get("pins", {})).items():
        numbers = value if isinstance(value, list) else [value]
        if not numbers or not all(type(one) is int and -1 <= one <= 48 for one in numbers):
            faults.append(fault_line(f"{path} [pins]", key, value, "no pins", "give GPIO numbers, -1 to 48"))
    if faults:
        raise BadInput(faults)
    return {**clean, "pins": {k: v if isinstance(v, list) else [v] for k, v in clean["pins"].items()}}


def _plan(path, told, asking):
    """A newboard.Plan of what is told; on a terminal what is missing is asked for."""
    from potreeve_tools.boards import newboard

    if asking:
        told["chip"] = told["chip"] or click.prompt("Which chip?", type=click.Choice(CHIPS), err=True)
    pumps = told["pins"].get("pumps", [])
    told["pots"] = told["pots"] or len(pumps)
    if asking and not told["pots"]:
        told["pots"] = click.prompt("How many pots?", type=click.IntRange(1, 4), default=3, err=True)
    faults = []
    if not told["chip"]:
        faults.append(f"--chip is missing and nobody is there to ask; e.g. {EXAMPLE}")
    if not told["pots"]:
        faults.append(f"--pots is missing and nobody is there to ask; e.g. {EXAMPLE}")
    if told["pots"] and pumps and len(pumps) != told["pots"]:
        faults.append(f"--pots {told['pots']}: but {len(pumps)} pumps are given; give one pump for each pot")
    if told["pots"] > newboard.POTS_MOST:
        faults.append(f"pumps = {pumps}: the firmware tends {newboard.POTS_MOST} pots at most; leave some out")
    if faults:
        raise BadInput(faults)
    collect(
        lambda: _sensor(told["sensors"], "climate", newboard.CLIMATES, asking, "Sensor of temperature and humidity?"),
        lambda: _sensor(told["sensors"], "light", newboard.LIGHTS, asking, "Sensor of light?"),
    )
    pins = _shaped(told["pins"], newboard, path)
    plan = newboard.Plan(
        str(path),
        told["name"],
        told["chip"],
        told["pots"],
        pins,
        told["sensors"],
        told["micropython"],
        told["soil_pin"],
    )
    if asking:
        for key in plan.needs():
            if key not in plan.given and not (key == "probes" and plan.by_switch()):
                plan.given[key] = _ask(plan, key, newboard)
    return plan


def _sensor(sensors, kind, known, asking, question):
    if kind not in sensors:
        if asking:
            sensors[kind] = click.prompt(question, type=click.Choice(known), default=known[0], err=True)
        return
    if sensors[kind] not in known:
        hint = nearest(sensors[kind], known)
        raise BadInput([f"--{kind} {sensors[kind]}: not known{hint}; give one of {', '.join(known)}"])


def _shaped(pins, newboard, path):
    """Lists where [pins] has lists, one number elsewhere. Raises BadInput."""
    found, faults = {}, []
    for key, numbers in pins.items():
        if key in newboard.LISTS:
            found[key] = [] if numbers == [-1] else numbers
        elif len(numbers) == 1:
            found[key] = numbers[0]
        else:
            faults.append(fault_line(f"{path} [pins]", key, numbers, "more than one pin", "give one"))
    if faults:
        raise BadInput(faults)
    return found


def _ask(plan, key, newboard):
    """Ask for one key until the answer will do; the suggestion stands as default."""
    words = newboard.ROLES[key][1]
    try:
        usual = _shown(plan.suggest(key))
    except BadInput:
        if key in newboard.NEEDED:
            raise
        usual = "none"
    while True:
        text = click.prompt(f"{words}, or none?", default=usual, err=True)
        try:
            given = _pins(None, None, [f"{key}={text}"])
            shaped = _shaped(given, newboard, "answer")[key]
        except BadInput as fault:
            click.echo("\n".join(fault.faults), err=True)
            continue
        wrong = plan.wrong(key, shaped)
        if not wrong:
            return shaped
        click.echo("\n".join(wrong), err=True)


def _shown(value):
    return ",".join(map(str, value)) if isinstance(value, list) else str(value) if value >= 0 else "none"


def _result(path, plan, text, written):
    device = plan.device()
    return {
        "schema": "potreeve-board-new/1",
        "path": str(path),
        "written": written,
        "name": plan.name,
        "mcu": plan.mcu,
        "micropython": plan.micropython,
        "pins": device["pins"],
        "sensors": device["sensors"],
        "extras": device.get("extras", {}),
        "chosen": plan.suggested,
        "assumed": sorted(plan.figures()),
        "text": text,
    }
