"""One damaged block of a flash the firmware has lived on: what the next boot makes of the ledger. For the unix build.

usage: damage.py JOB RESULT     JOB: board, settings, wakes, cuts, seed

The rig tends for a while; in each later wake with a pulse the power goes while the pump runs, or after it. Then every
block that was ever written is damaged in several ways, one at a time, and the board starts. RESULT: one line of JSON,
the counts, and for each fault a line in words.
"""

import json

import cutrig
from ends import PowerCut
from potreeve import keep
from potreeve.logic import cycle, limits
from provekit import run


class Dice:
    def __init__(self, seed):
        self.state = seed

    def below(self, most):
        self.state = (self.state * 1103515245 + 12345) & 0x7FFFFFFF
        return (self.state >> 8) % most


class Blocks:
    """seen: boots by what came of them: as it was, held (its memory counts as lost), or nothing of it left."""

    def __init__(self, job, tell):
        self.job = job
        self.tell = tell
        self.size = job["board"]["flash"]["block_bytes"]
        self.dice = Dice(job["seed"])
        self.seen = {"whole": 0, "lost": 0, "bare": 0}
        self.faults = []

    def run(self):
        rig = self.rig = cutrig.CutRig(self.job["board"], self.job["settings"])
        rig.power_on()
        rig.send_settings(json.dumps(self.job["settings"]).encode())
        rig.wakes(1)
        self._owner_looks()
        for cut in range(self.job["cuts"]):
            self._live(cut % 2)
            rig.power_off()
            whole = bytes(rig.image)
            for block in range(len(whole) // self.size):
                self._try(whole, block)
            rig.image[:] = whole
            rig.power_on()
        self.tell({"seen": self.seen, "faults": self.faults})

    def _owner_looks(self):
        """The first day of a new memory gives no water; an owner's press and a day end that."""
        ledger = keep.Ledger(self.rig.store)
        state = ledger.load(len(self.job["settings"]["channels"]))
        state.rig.memory = 0
        state.rig.tray_ul = 0
        for pot in state.pots:
            pot.spent = [0] * len(pot.spent)
        ledger.save(state)

    def _live(self, midway):
        """So many wakes, then on until a pump has run; the power goes in that pulse or soon after."""
        rig = self.rig
        rig.wakes(self.job["wakes"])
        given = len(rig.sill.given)
        if midway:

            def cut(channel, ms):
                raise PowerCut

            rig.sill.on_pulse = cut
        try:
            rig.wakes(400, lambda: len(rig.sill.given) > given)
        except PowerCut:
            pass
        rig.sill.on_pulse = None
        if len(rig.sill.given) == given:
            self.faults.append("no pulse was ever given: nothing is shown")

    def _try(self, whole, block):
        at = block * self.size
        if all([byte == 0xFF for byte in whole[at : at + self.size]]):
            return
        written = self.size
        while written > 1 and whole[at + written - 1] == 0xFF:
            written -= 1
        for kind in ("bit", "bit", "last", "zeros", "blank", "noise"):
            image = bytearray(whole)
            if kind == "bit":
                image[at + self.dice.below(written)] ^= 1 << self.dice.below(8)
            elif kind == "last":
                image[at + written - 1 - self.dice.below(min(64, written))] ^= 1 << self.dice.below(8)
            else:
                for place in range(at, at + self.size):
                    image[place] = 0 if kind == "zeros" else 0xFF if kind == "blank" else self.dice.below(256)
            self._boot(image, "block %d, %s" % (block, kind))

    def _boot(self, image, words):
        rig = self.rig
        rig.image[:] = image
        rig.may_format = True
        rig.power_on()
        try:
            settings = keep.load_settings(rig.store, len(rig.board["pins"]["pumps"]))[0]
            if not settings:
                self.seen["bare"] += 1
                return
            state = keep.Ledger(rig.store).load(len(settings["channels"]))
            self.seen["lost" if state.rig.memory == keep.LOST else "whole"] += 1
            cycle.remember(state, settings)
            for index, pot in enumerate(state.pots):
                if limits.spent_ul(pot) < rig.sill.day_ul(index):
                    self.faults.append(
                        "%s: pot %d was given %d ul, its account says %d"
                        % (words, index, rig.sill.day_ul(index), limits.spent_ul(pot))
                    )
            if state.rig.tray_ul < rig.sill.tray_ul:
                self.faults.append(
                    "%s: the tray holds %d ul, its account says %d" % (words, rig.sill.tray_ul, state.rig.tray_ul)
                )
        finally:
            rig.power_off()


run(Blocks)
