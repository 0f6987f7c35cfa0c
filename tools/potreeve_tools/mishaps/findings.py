"""What the judge says, as data: law, code, pot, time, figures. Sentences are made in wording.py, and only there."""

from typing import NamedTuple


class Finding(NamedTuple):
    """One thing that did not hold.

    law: "W1" to "W9", "L1" to "L5", "" for what the judge asks besides; code: what
    of it, a key of wording.SENTENCES; channel: -1 for the rig, then pot is "";
    t_s: true seconds since the start, None where it is of the whole run; figures:
    plain numbers and words, by name, with their units.
    """

    law: str
    code: str
    channel: int = -1
    pot: str = ""
    t_s: float | None = None
    figures: dict = {}

    @property
    def kind(self):
        """What makes two findings the same fault: law and code."""
        return self.law, self.code

    def as_json(self):
        """For `--json`."""
        return {
            "law": self.law or None,
            "code": self.code,
            "pot": self.pot or None,
            "t_s": None if self.t_s is None else round(self.t_s),
            "figures": {name: _plain(value) for name, value in self.figures.items()},
        }


class Death(NamedTuple):
    """A plant that died.

    cause: one of deaths.CAUSES; called_s: when the call that announced it began,
    None where there was none in time; reason: how it died, in the world's words.
    """

    channel: int
    pot: str
    t_s: float
    cause: str
    called_s: float | None
    reason: str = ""

    @property
    def announced(self):
        return self.called_s is not None

    def as_json(self):
        """For `--json`."""
        return {
            "pot": self.pot,
            "t_s": round(self.t_s),
            "cause": self.cause,
            "announced": self.announced,
            "called_s": None if self.called_s is None else round(self.called_s),
        }


def _plain(value):
    return round(value, 1) if isinstance(value, float) else value
