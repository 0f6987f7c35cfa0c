"""Somebody who listens to the rehearsed rig, and is not always of sound mind. Invented, to test
the queue alone; real brokers are in host_tests/radio."""

from typing import NamedTuple

from potreeve.logic.record import RECORD_BYTES

# Of so many pieces one is taken in part, and to one the answer makes no sense.
ROUND = 7
IN_PART, NONSENSE = 3, 5
PART = 3


class Heard(NamedTuple):
    """One record as it arrived: true second, its bytes."""

    t_s: float
    line: bytes


class Broker:
    """heard: list of Heard, with what was sent twice; pieces: how often it was given something."""

    def __init__(self):
        self.heard = []
        self.pieces = 0

    def take(self, t_s, data):
        """How many records it says it took. data: whole records, oldest first."""
        self.pieces += 1
        lines = [data[at : at + RECORD_BYTES] for at in range(0, len(data), RECORD_BYTES)]
        turn = self.pieces % ROUND
        if turn == IN_PART:
            lines = lines[:PART]
        self.heard += [Heard(t_s, line) for line in lines]
        return 10**6 if turn == NONSENSE else len(lines)
