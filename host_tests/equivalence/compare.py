"""The same rehearsal in two interpreters, and what to print when they part."""

import shutil
from contextlib import contextmanager
from pathlib import Path

from potreeve.logic import ledger, recorded
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal import engines, rehearse
from potreeve_tools.world import rooms
from potreeve_tools.world.faults.kinds import make_fault

DAYS = 3
HOUR_S = 3600.0

# What each seed goes through besides its own weather of chance. Times are set so
# that a fresh board's first day without water is over.
MISHAPS = {
    1: (),
    2: (("probe_out", 30, None, 0, {}),),
    3: (("tube_off", 26, None, 1, {}),),
    4: (("brown_out", 24, None, -1, {"times": 2}), ("climate_silent", 40, 50, -1, {})),
    5: (("probe_noisy", 28, 40, 2, {}), ("light_silent", 30, None, -1, {})),
    6: (("watering_can", 33, None, 0, {"ml": 200.0}), ("clock_leap", 20, None, -1, {})),
    7: (("clock_lost", 10, None, -1, {}), ("tubes_crossed", 25, None, 0, {"other": 1})),
    8: (("reset_loop", 40, 41, -1, {"every_s": 300.0}),),
    9: (("battery_low", 36, 48, -1, {}), ("probe_broken", 26, None, 2, {})),
    10: (("probe_stuck", 20, None, 1, {}), ("tray_poured", 30, None, -1, {})),
}

# A worn flash only where files lie on a littlefs: the 32-bit interpreter keeps them
# in a dictionary. A full flash nowhere: when it is full differs with the littlefs build.
FLASH_MISHAPS = {10: (("flash_worn", 20, 60, -1, {"bad_pm": 200.0}),)}

# Appended to a copy of the simulated store: every ledger and record written is also
# told over the link, in order.
TAP = """

_untapped = MirrorStore._put


def _tapped(self, call, name, data):
    _untapped(self, call, name, data)
    if name in self.slots:
        self.link.ask("x " + data.hex())
    elif name.startswith(self.prefix) and data is not None:
        self.link.ask("y " + data[-self.record_bytes:].hex())


MirrorStore._put = _tapped
"""


def make_session(board_name, seed, days=DAYS, start_ticks_ms=0, heap_times=3):
    """A rehearsal that doses early: pots that start just above their refill point, few wakes.

    heap_times: of what the board has. More than it has, because this is about the
    brain: see test_heap.py for what a board can carry.
    """
    board = boards.load(board_name).device_dict()
    rig = rooms.rig_for(board)
    for pot in rig.pots:
        pot["start_pm"] = 650.0
    board["heap"]["bytes"] *= heap_times
    settings = commission.make_settings(rig, board, seed)
    settings.update(wake_s=3000, night_wake_s=6000, soak_s=1500)
    for channel in settings["channels"]:
        # A pot that shows no rise is held within the few days there are.
        channel["unproven_max"] = 2
    mishaps = MISHAPS[seed] + (FLASH_MISHAPS.get(seed, ()) if board["keeps_ram"] else ())
    faults = [
        make_fault(kind, start_h * HOUR_S, end_h * HOUR_S if end_h else float("inf"), channel, **params)
        for kind, start_h, end_h, channel, params in mishaps
    ]
    session = rehearse.make_session(rig, board, days, seed, settings=settings, faults=faults)
    session.start_ticks_ms = start_ticks_ms
    return session


def run(board_name, seed, interpreter, **options):
    return rehearse.run(make_session(board_name, seed, **options), interpreter)


def first_difference(one, other):
    """Index of the first record in which two runs differ, or None."""
    for index, (left, right) in enumerate(zip(one, other)):
        if left != right:
            return index
    return None if len(one) == len(other) else min(len(one), len(other))


@contextmanager
def _trees(device, firmware):
    before = engines.STANDINS, engines.FIRMWARE
    engines.STANDINS, engines.FIRMWARE = device, firmware
    try:
        yield
    finally:
        engines.STANDINS, engines.FIRMWARE = before


def run_tapped(session, interpreter, folder, firmware=None):
    """Run a session and return what it wrote, in order: ("state", State) and ("record", bytes)."""
    device = Path(folder) / "device"
    if not device.exists():
        shutil.copytree(engines.STANDINS, device, ignore=shutil.ignore_patterns("__pycache__"))
        with (device / "simstore.py").open("a") as file:
            file.write(TAP)
    told = []
    answer = session.handle

    def handle(text):
        if text[:2] == "x ":
            found = ledger.decode(bytes.fromhex(text[2:]))
            told.append(("state", found and found[1]))
            return ""
        if text[:2] == "y ":
            told.append(("record", bytes.fromhex(text[2:])))
            return ""
        return answer(text)

    session.handle = handle
    with _trees(device, firmware or engines.FIRMWARE):
        rehearse.run(session, interpreter)
    return told


def at_record(told, index):
    """(state before, state after, record) of the index-th step; None for what is not there."""
    states = []
    seen = 0
    for kind, what in told:
        if kind == "state":
            states.append(what)
            continue
        if seen == index:
            return states[-2] if len(states) > 1 else None, states[-1] if states else None, what
        seen += 1
    return None, None, None


def _flat_state(state):
    if state is None:
        return {"state": "none"}
    flat = {f"rig.{name}": value for name, value in vars(state.rig).items()}
    for index, pot in enumerate(state.pots):
        flat.update({f"pot {index}.{name}": value for name, value in vars(pot).items()})
    return flat


def _flat_record(line):
    told = recorded.decode(line) if line is not None else None
    if told is None:
        return {"record": "none" if line is None else "not a whole record: " + line.hex()}
    head, pots = told
    flat = dict(head)
    for index, pot in enumerate(pots):
        flat.update({f"pot {index}.{name}": value for name, value in pot.items()})
    return flat


def side_by_side(title, names, left, right):
    """Lines with every field of two mappings; the ones that differ are marked."""
    lines = [f"{title:<28}{names[0]:>20}  {names[1]:>20}"]
    for name in [*left, *[name for name in right if name not in left]]:
        a, b = left.get(name, "-"), right.get(name, "-")
        lines.append(f"  {name:<26}{a!s:>20}  {b!s:>20}{'   <- differs' if a != b else ''}")
    return lines


def explain(index, names, runs):
    """What to print about the first differing step.

    names: the two interpreters; runs: what run_tapped gave for each.
    """
    (before_a, after_a, line_a), (before_b, after_b, line_b) = (at_record(told, index) for told in runs)
    lines = [f"{names[0]} and {names[1]} part at step {index}"]
    lines += side_by_side("record", names, _flat_record(line_a), _flat_record(line_b))
    lines += side_by_side("state before", names, _flat_state(before_a), _flat_state(before_b))
    lines += side_by_side("state after", names, _flat_state(after_a), _flat_state(after_b))
    return "\n".join(lines)
