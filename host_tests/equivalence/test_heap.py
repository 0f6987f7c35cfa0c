"""On the heap a board really has, nothing is left undone for want of memory."""

import pytest
from compare import first_difference, run
from potreeve.logic import recorded


@pytest.mark.parametrize("board", ["esp32", "latched", "rp2040_wifi", "rp2040_wifi_four", "rp2350_wifi"])
def test_a_boards_own_heap_is_enough(board):
    """The unix build gets twice a board's heap, as its objects are twice as large, and compiles the sources in it
    where a board loads .mpy files: a harder case than the board's. A memory error would show as an error bit."""
    tight = run(board, 1, "micropython", days=2, heap_times=1)
    assert [told["errors"] for told, _ in map(recorded.decode, tight.records) if told["errors"]] == []
    assert first_difference(tight.records, run(board, 1, "cpython", days=2).records) is None
