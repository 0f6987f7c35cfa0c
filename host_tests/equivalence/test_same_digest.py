"""One brain: the same seed gives the same records, byte for byte, in every interpreter."""

import pytest
from compare import MISHAPS, explain, first_difference, make_session, run, run_tapped
from potreeve.logic import reasons, record
from potreeve.logic.state import HELD, RATIONED

# The 32-bit engine only knows boards that start over at each wake.
BOARDS_32 = {seed: "latched" if seed % 3 else "esp32" for seed in MISHAPS}
seen = {}


def check(board, seed, names, folder, **options):
    """Run the seed in each interpreter; at a difference, run the two again, tapped, and show where they part."""
    runs = [run(board, seed, name, **options) for name in names]
    seen[board, seed] = runs[0]
    assert len(runs[0].records) > 50
    for name, other in zip(names[1:], runs[1:]):
        index = first_difference(runs[0].records, other.records)
        if index is not None:
            told = [run_tapped(make_session(board, seed, **options), each, folder) for each in (names[0], name)]
            pytest.fail(f"{board}, seed {seed}: " + explain(index, (names[0], name), told), pytrace=False)
        assert other.digest == runs[0].digest


@pytest.mark.parametrize("seed", MISHAPS)
def test_three_interpreters_on_a_board_that_starts_over(seed, tmp_path):
    check(BOARDS_32[seed], seed, ("cpython", "micropython", "micropython32"), tmp_path)


@pytest.mark.parametrize("seed", MISHAPS)
def test_two_interpreters_on_a_board_that_keeps_its_memory(seed, tmp_path):
    # The tick counter wraps one day into the run.
    check("rp2040_wifi", seed, ("cpython", "micropython"), tmp_path, start_ticks_ms=(1 << 30) - 86_400_000)


def test_the_seeds_reach_what_decides():
    """A digest says nothing about paths that were never walked."""
    if len(seen) < 2 * len(MISHAPS):
        pytest.skip("needs all seeds of this file in one process")
    for keeps_ram in (False, True):
        reached = set()
        for (board, _), session in seen.items():
            if (board == "rp2040_wifi") != keeps_ram:
                continue
            for line in session.records:
                head, pots = record.decode(line)
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
    if not seen:
        pytest.skip("needs the seeds of this file in one process")
    assert len({session.digest for session in seen.values()}) == len(seen)
