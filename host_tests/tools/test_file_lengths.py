"""A file is one idea, and mostly fits in 300 lines: what is longer is listed here with its reason."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MOST = 300

LONGER = {
    "firmware/potreeve/app.py": "the wake cycle, step by step, and what a press asks of it",
    "firmware/potreeve/logic/cycle.py": "one wake, in the order that is the safety argument",
    "host_tests/logic/vectors/cycle.py": "every branch of one wake, as long as what it tries",
    "firmware/potreeve/logic/tub.py": "how much is in the tub: counted, learned, told; reasons beside thresholds",
    "firmware/potreeve/logic/watch.py": "whether a reading can be believed; thresholds beside their sources",
    "firmware/potreeve/logic/water.py": "who gets water, how much of it, and what stands in the way",
    "tools/go.py": "set-up on a fresh machine: one file by itself, standard library only",
    "tools/potreeve_tools/boards/clash.py": "the rules by which two uses of a pin exclude each other",
    "tools/potreeve_tools/commands/calibrate.py": "one command, its subcommands one after the other",
    "tools/potreeve_tools/link/selftest_run.py": "the tests a board runs on itself, one after the other",
    "tools/potreeve_tools/owner/calibration.py": "one calibration, from samples to settings",
    "tools/potreeve_tools/virtual/board.py": "one thread and what may be asked of it; answers and starts are elsewhere",
    "tools/potreeve_tools/world/faults/kinds.py": "the table of all mishaps, and how a file's entry is checked by it",
    "tools/potreeve_tools/world/world.py": "the one clockwork of the simulated rig",
    "host_tests/app/machine.py": "the state machine's rules: one class, one method a rule",
    "host_tests/app/model.py": "the independent model: one class that shares nothing with the firmware",
    "host_tests/app/test_app_wake.py": "what a wake does, device by device",
    "host_tests/hal/cases_power.py": "cases for each way a board sleeps and starts",
    "host_tests/link/test_link_troubles.py": "what can go wrong with a cable, and with each command then",
    "host_tests/logic/test_source_rules.py": "the rules of logic, each with sources that break it",
    "host_tests/logic/vectors/proof.py": "each threshold of one module and its neighbour",
    "host_tests/logic/vectors/watch.py": "each threshold of one module and its neighbour",
    "host_tests/logic/vectors/water.py": "each threshold of one module and its neighbour",
    "host_tests/tools/test_port.py": "a connection from first to last",
    "host_tests/world/test_pot.py": "one pot's water, from pouring to draining",
}


def test_longer_files_are_listed_and_listed_files_are_longer():
    paths = [path for room in ("firmware", "tools", "host_tests") for path in (ROOT / room).rglob("*.py")]
    assert len(paths) > 300
    long = {
        path.relative_to(ROOT).as_posix() for path in paths if len(path.read_text(encoding="utf-8").splitlines()) > MOST
    }
    assert long == set(LONGER)
