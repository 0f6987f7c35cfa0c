"""What a finished run leaves for the judge: the world's truth, and what was on flash and in the log.

Truth comes from the simulated rig. Of the firmware's own doing the judge only
takes what it stored: the ledger slot found on flash at each pulse, and records.
"""

import bisect
import math
from bisect import bisect_left, bisect_right
from typing import NamedTuple

from potreeve.logic import ledger, moisture, record, recorded
from potreeve.logic.state import TENDED

from potreeve_tools.mishaps.findings import Finding

DAY_S = 86400

# What a plant died of, and what moved water through a tube with every pump off, in the world's words.
DROWNED = "roots drowned"
_BY_ITSELF = ("siphon", "stuck")


class Seen(NamedTuple):
    """One pump run with what was on flash when it began; `state` is None where no whole slot was there."""

    t_s: float
    channel: int
    ms: int
    actual_ms: int
    brownout: bool
    state: object


class Evidence:
    """See the module. Times are true seconds since the start.

    rows: (t_s, head, pots) per record; pulses: list of Seen; tubes: (t_s,
    channel, landed, ml, cause) of all water that left a tube; heard: what arrived at a broker; mishaps: the
    scenario's faults as the world left them; settings: those in force at first.
    """

    def __init__(self, session, scenario):
        self.session = session
        self.scenario = scenario
        self.settings = session.checked
        self.world = session.world
        self.samples = session.samples
        self._sample_s = None
        self.panels = session.panels
        self.mishaps = session.mishaps
        self.end_s = min(session.end_s, session.world.now_s)
        self.rows = [(t_s, *recorded.decode(line)) for t_s, line in zip(session.record_s, session.records, strict=True)]
        self.row_s = [row[0] for row in self.rows]
        self.pulses = [Seen(p.t_s, p.channel, p.ms, p.actual_ms, p.brownout, _state(p.slot)) for p in session.pulses]
        self.heard = session.broker.heard if session.broker else []
        self.tubes = [d for d in session.world.deliveries if d[4] != "hand"]

    @property
    def last(self):
        """The last sample of the world's truth."""
        return self.samples[-1]

    def by_itself_ml(self):
        """How much water left tubes with every pump off, in ml."""
        return sum(ml for _, _, _, ml, cause in self.tubes if cause in _BY_ITSELF)

    def ran_by_itself_s(self):
        """When water first left a tube with every pump off; None where it never did."""
        return min([t_s for t_s, _, _, _, cause in self.tubes if cause in _BY_ITSELF], default=None)

    @property
    def channels(self):
        """Numbers of all channels."""
        return range(len(self.settings["channels"]))

    def name(self, channel):
        """What the pot of a channel is called."""
        return self.settings["channels"][channel]["name"]

    def finding(self, law, code, channel=-1, t_s=None, **figures):
        """A Finding about a pot, or about the rig."""
        return Finding(law, code, channel, self.name(channel) if channel >= 0 else "", t_s, figures)

    def fault_end_s(self):
        """When the last of the mishap's faults ended; inf for those that last."""
        ends = [f.start_s if at_once(f) else f.end_s for f in self.mishaps]
        return max(ends) if ends else 0.0

    def rows_from(self, t_s):
        """Records written at t_s or later."""
        return self.rows[bisect_left(self.row_s, t_s) :]

    def rows_between(self, from_s, to_s):
        """Records written from from_s to to_s."""
        return self.rows[bisect_left(self.row_s, from_s) : bisect_right(self.row_s, to_s)]

    def died_s(self, channel):
        """When the plant of a channel was first seen dead; None where it lives. One that was dead when it was put there
        in exchange did not die there."""
        before = None
        for sample in self.samples:
            if not sample["pots"][channel]["alive"]:
                return None if before and self._brought_dead(channel, before, sample["t_s"]) else sample["t_s"]
            before = sample
        return None

    def _brought_dead(self, channel, before, t_s):
        """Whether the pot of a channel changed places, since a sample, with one whose plant was dead by then."""
        for fault in self.mishaps:
            places = (fault.channel, fault.params.get("other", -1))
            if fault.kind == "swapped" and channel in places and before["t_s"] <= fault.start_s <= t_s:
                return any(not before["pots"][place]["alive"] for place in places)
        return False

    def powered(self, from_s, to_s):
        """Whether the board could have run all the time between two wakes."""
        return not any(from_s < at < to_s for at in self.session.dead_s)

    def arrivals(self):
        """(written, heard) per record that a broker got, in true seconds, in the order of the log. A record counts when
        it first arrived, and once where a board that could not keep its ledger wrote it twice; what nobody wrote is not
        among them."""
        first, written = {}, {}
        for t_s, line in self.heard:
            first.setdefault(line, t_s)
        for t_s, line in zip(self.row_s, self.session.records, strict=True):
            written.setdefault(line, t_s)
        return [(t_s, first[line]) for line, t_s in written.items() if line in first]

    def drank_pm(self, channel, from_s, to_s):
        """What the plant of a channel really drew between two times, in pm of what its settings say it holds."""
        first, second = (self._sampled(channel, t_s)["transpired_ml"] for t_s in (from_s, to_s))
        return 1000 * (second - first) / self.settings["channels"][channel]["holds_ml"]

    def moisture_pm(self, channel, t_s):
        """The true moisture of a channel's pot at a time."""
        return self._sampled(channel, t_s)["moisture_pm"]

    def _sampled(self, channel, t_s):
        if self._sample_s is None:
            self._sample_s = [sample["t_s"] for sample in self.samples]
        at = min(len(self.samples) - 1, bisect.bisect_left(self._sample_s, t_s))
        return self.samples[at]["pots"][channel]

    def pm(self, row, channel):
        """Moisture by a record's raw reading, its temperature and the calibration alone. row: of `rows`."""
        _, head, pots = row
        settings = self.settings["channels"][channel]
        pm = moisture.to_pm(pots[channel]["raw"], settings["curve"])
        cdeg = head["temp_cdeg"] if head["soil_cdeg"] == record.NO_TEMP else head["soil_cdeg"]
        return pm if cdeg == record.NO_TEMP else pm - moisture.warmth_pm(cdeg, settings)

    def pulses_of(self, channel):
        """Pulses of a channel, in order of time."""
        return [p for p in self.pulses if p.channel == channel]

    def tended_pulses(self, channel):
        """Pulses of a channel that its probe steered."""
        return [p for p in self.pulses if p.channel == channel and p.state and p.state.pots[channel].ladder == TENDED]


def spells(times, holds, end_s):
    """[(from_s, to_s)] during which something held. holds: one truth value per time; each lasts until the next time."""
    found, since_s = [], None
    for t_s, held in zip(times, holds, strict=True):
        if held and since_s is None:
            since_s = t_s
        elif not held and since_s is not None:
            found.append((since_s, t_s))
            since_s = None
    return found + ([(since_s, end_s)] if since_s is not None and end_s > since_s else [])


def joined(spans, gap_s=0.0):
    """Spans in order of time, those put together that lie no more than gap_s apart."""
    found = []
    for from_s, to_s in sorted(spans):
        if found and from_s <= found[-1][1] + gap_s:
            found[-1] = (found[-1][0], max(found[-1][1], to_s))
        else:
            found.append((from_s, to_s))
    return found


def without(span, spans):
    """What is left of a span outside other spans (in order, apart from each other)."""
    at, end_s = span
    found = []
    for from_s, to_s in spans:
        if from_s > at:
            found.append((at, min(from_s, end_s)))
        at = max(at, to_s)
        if at >= end_s:
            return found
    return found + [(at, end_s)]


def overlap_s(span, spans):
    """Seconds of a span that other spans cover."""
    return sum(max(0.0, min(span[1], to_s) - max(span[0], from_s)) for from_s, to_s in spans)


def _state(slot):
    found = ledger.decode(slot)
    return found[1] if found else None


def at_once(fault):
    """Whether a fault happens in a moment and has no end of its own."""
    from potreeve_tools.world.faults.kinds import KINDS

    return KINDS[fault.kind].instant


def day_text(t_s):
    """A time as "d4 06:30": day from 1, hour on the sill."""
    if t_s == math.inf:
        return "never"
    minutes = int(t_s // 60)
    return f"d{minutes // 1440 + 1} {minutes // 60 % 24:02d}:{minutes % 60:02d}"
