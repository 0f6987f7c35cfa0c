"""From records to the list of things a person would want to have been told.

One alert per change of a pot's rung, of the rig's hold or memory; one per day
for a note on a pot (such as a cap that was reached) or on the tub, and for a
device that did not answer.
"""

from potreeve.logic import reasons, signals, tub_guard
from potreeve.logic.state import HELD, TENDED

from potreeve_tools.words import sentences as words

DAY_S = 86400


def from_records(rows, names, calm_until_s=0):
    """List of alert dicts, in order of time.

    rows: (t_s, head, pots) per record, t_s seconds since the start, the rest as
    recorded.decode gives them. names: of the channels. Until calm_until_s the owner
    stands beside the rig: only what is still so at its end is told.
    An alert: t_s; pot (name, None for the rig); kind "rung", "hold", "memory",
    "note" or "device"; level, see LEVELS; what; do.
    """
    watcher = _Watcher(names)
    waiting = None
    for t_s, head, pots in rows:
        if t_s < calm_until_s:
            waiting = (t_s, head, pots)
            continue
        if waiting:
            watcher.see(*waiting)
            waiting = None
        watcher.see(t_s, head, pots)
    if waiting:
        watcher.see(*waiting)
    return watcher.alerts


def grouped(found):
    """Alerts that say the same of the same pot as one, what matters most first.

    found: as from_records gives them, perhaps with keys of a caller's own. A group: pot, level (see LEVELS),
    kind, what, do; count; first and last, the alerts at its ends.
    """
    groups = {}
    for alert in found:
        key = (alert["pot"], alert["what"], alert["do"])
        group = groups.setdefault(
            key, {**{name: alert[name] for name in ("pot", "level", "kind", "what", "do")}, "count": 0, "first": alert}
        )
        group["count"] += 1
        group["last"] = alert
    # Sorted by level alone: within one the order of time stays.
    return sorted(groups.values(), key=lambda group: LEVELS.index(group["level"]))


def parted(found):
    """(alerts, calm): what asks for a person, and what only tells. found: alerts or groups of them."""
    return [one for one in found if one["level"] != "calm"], [one for one in found if one["level"] == "calm"]


LEVELS = ("call", "note", "calm")
"""How loudly the rig asks for a person, by the firmware's own signals; the loudest first."""
CALM = "Calm, the rig sees to it"
"""Above what is told and is no alert."""
_LEVEL = {signals.CALL: "call", signals.NOTE: "note", signals.CALM: "calm"}
# Of the battery nothing is said here: it has a sentence of its own.
_DAYS = 999


class _Watcher:
    def __init__(self, names):
        self.names = names
        self.alerts = []
        self.rungs = [TENDED] * len(names)
        self.hold = self.memory = self.errors = 0
        self.told = {}

    def see(self, t_s, head, pots):
        """Take one record, note what has changed since the one before."""
        self.t_s = t_s
        self._memory(head["memory"])
        self._hold(head["hold"])
        self._errors(head["errors"])
        self._tub(head["tub_note"], head["tub_days"])
        for index, pot in enumerate(pots):
            self._pot(index, pot["ladder"], pot["reason"])

    def _say(self, pot, kind, level, what, do=""):
        self.alerts.append(
            {
                "t_s": self.t_s,
                "pot": pot,
                "kind": kind,
                "level": _LEVEL[level],
                "what": what[:1].upper() + what[1:] + ".",
                "do": do,
            }
        )

    def _once_a_day(self, key):
        day = self.t_s // DAY_S
        if self.told.get(key) == day:
            return False
        self.told[key] = day
        return True

    def _memory(self, memory):
        if memory and not self.memory:
            self._say(None, "memory", signals.NOTE, *words.MEMORY)
        elif self.memory and not memory:
            self._say(None, "memory", signals.CALM, "the memory is whole again")
        self.memory = memory

    def _hold(self, hold):
        if hold != self.hold:
            if hold:
                what, do = words.why(hold)
                self._say(
                    None, "hold", signals.rig_level(hold, 0, 0, _DAYS), f"the whole rig gets no water: {what}", do
                )
            else:
                self._say(None, "hold", signals.CALM, "the rig may be watered again")
        self.hold = hold

    def _errors(self, errors):
        for bit, (what, do) in words.ERRORS.items():
            if errors & bit and not self.errors & bit and self._once_a_day(("error", bit)):
                self._say(None, "device", signals.rig_level(0, 0, bit, _DAYS), what, do)
        self.errors = errors

    def _tub(self, note, days):
        if note and self._once_a_day(("tub", note)):
            self._say(None, "note", tub_guard.level(note, days), *words.why(note))

    def _pot(self, index, rung, reason):
        name, before = self.names[index], self.rungs[index]
        self.rungs[index] = rung
        if rung != before:
            self.told[index, reason] = self.t_s // DAY_S
            if rung == TENDED:
                self._say(name, "rung", signals.CALM, "tended again")
                if reason == reasons.NONE:
                    return
            else:
                what, do = words.why(reason)
                action = "held, no water" if rung == HELD else "rationed, a small daily amount"
                self._say(name, "rung", signals.pot_level(rung, reason), f"{action}: {what}", do)
                return
        if reason != reasons.NONE and self._once_a_day((index, reason)):
            what, do = words.why(reason)
            lead = "" if rung == TENDED else f"still {words.RUNGS[rung]}: "
            self._say(name, "note", signals.pot_level(rung, reason), lead + what, do)
