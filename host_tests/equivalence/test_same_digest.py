"""One brain: the same seed gives the same records, byte for byte, in every interpreter."""

from functools import cache

import pytest
from compare import MISHAPS, explain, first_difference, make_session, run, run_tapped
from potreeve.logic import reasons, recorded
from potreeve.logic.state import HELD, RATIONED

# The 32-bit engine only knows boards that start over at each wake.
BOARDS_32 = {seed: "latched" if seed % 3 else "esp32" for seed in MISHAPS}
# The tick counter wraps one day into the run of a board that keeps its memory.
KEEPS = {"start_ticks_ms": (1 << 30) - 86_400_000}
CASES = [(BOARDS_32[seed], seed) for seed in MISHAPS] + [("rp2040_wifi", seed) for seed in MISHAPS]


def options_of(board):
    return KEEPS if board == "rp2040_wifi" else {}


@cache
def in_cpython(board, seed):
    """The run that the others are held against; made once in a process, whichever tests it has."""
    return run(board, seed, "cpython", **options_of(board))


@pytest.mark.parametrize("board, seed", CASES)
def test_every_interpreter_gives_the_same(board, seed, tmp_path):
    """At a difference, the two run again, tapped, and it is shown where they part."""
    options = options_of(board)
    one = in_cpython(board, seed)
    assert len(one.records) > 50
    for name in ("micropython",) if board == "rp2040_wifi" else ("micropython", "micropython32"):
        other = run(board, seed, name, **options)
        index = first_difference(one.records, other.records)
        if index is not None:
            told = [run_tapped(make_session(board, seed, **options), each, tmp_path) for each in ("cpython", name)]
            pytest.fail(f"{board}, seed {seed}: " + explain(index, ("cpython", name), told), pytrace=False)
        assert other.digest == one.digest


def test_the_seeds_reach_what_decides():
    """A digest says nothing about paths that were never walked."""
    for keeps_ram in (False, True):
        reached = set()
        for board, seed in CASES:
            if (board == "rp2040_wifi") != keeps_ram:
                continue
            for line in in_cpython(board, seed).records:
                head, pots = recorded.decode(line)
                reached |= {("hold", head["hold"]), ("alarm", head["alarm"]), ("cause", head["cause"])}
                for pot in pots:
                    reached |= {("ladder", pot["ladder"]), ("reason", pot["reason"])}
                    if pot["pulse_ms"]:
                        reached.add(("pulse on", pot["ladder"]))
        wanted = {
            ("pulse on", 0),
            ("pulse on", RATIONED),
            ("ladder", HELD),
            ("alarm", 2),
            ("cause", 0),
            ("reason", reasons.NO_RISE),
            ("reason", reasons.BROKEN),
            ("hold", reasons.OWNER),
        }
        assert wanted <= reached, sorted(wanted - reached)


def test_seeds_are_not_all_alike():
    assert len({in_cpython(*case).digest for case in CASES}) == len(CASES)
