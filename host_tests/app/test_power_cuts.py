"""The power goes at every block write and erase, torn writes included; the board starts again.

In real MicroPython, on the littlefs it carries (see tools/potreeve_tools/standins/proofs/cuts.py). What is judged
after each cut: that the flash mounts, W2, W3, W7, W9, and that no completed record is lost. Pairs of cuts:
`potreeve bench cuts --pairs`.
"""

import shutil

import pytest
from potreeve_tools.bench import cuts
from potreeve_tools.rehearsal.engines import FIRMWARE
from potreeve_tools.terminal.faultlist import BadInput


def show(found):
    return "\n".join(f"{one['id']}: {one['fault']}" for one in found["faults"][:10])


def test_every_single_cut_of_every_scenario(capsys):
    found = cuts.run()
    with capsys.disabled():
        print(f"\n  {found['cuts']} power cuts in {found['s']} s")
    assert not found["faults"], show(found)
    assert [one["scenario"] for one in found["scenarios"]] == list(cuts.SCENARIOS)
    for one in found["scenarios"]:
        assert one["shown"], f"{one['scenario']}: what it is about did not happen"
        # Every write is torn in two ways at least, every erase in four.
        assert one["cuts"] >= 2 * one["writes"] + 4 * one["erases"]


def test_cuts_on_a_board_that_starts_anew_at_each_wake():
    found = cuts.run("esp32", scenarios=("wake", "first"), few=True)
    assert not found["faults"], show(found)
    assert all(one["shown"] for one in found["scenarios"])


def test_an_id_reruns_just_that_cut():
    found = cuts.run(only=("wake:5:w0",))
    assert (found["cuts"], found["pairs"]) == (1, 0)
    # The recovery's fourth operation is either of the two.
    found = cuts.run(only=("wake:5:w0+3:w0", "wake:5:w0+3:e0"))
    assert (found["cuts"], found["pairs"]) == (1, 1)
    with pytest.raises(BadInput, match="no such cut"):
        cuts.run(only=("wake:5:w999",))
    with pytest.raises(BadInput, match="no such scenario"):
        cuts.run(only=("wade:5:w0",))


# (what is broken, file, text, what it becomes, scenario that must notice, what it must say)
BROKEN = (
    (
        "pumps without a stored intent",
        "potreeve/app.py",
        "stored = self._store()\n",
        "stored = True if any(actions.pulse_ms) else self._store()\n",
        "wake",
        "W3",
    ),
    (
        "charges the pulse when it is done",
        "potreeve/logic/water.py",
        "    limits.spend(pot, most_ul)\n",
        "",
        "wake",
        "W2",
    ),
    (
        "one slot, written in two pieces",
        "potreeve/keep.py",
        "self.store.write(ledger.SLOTS[self.slot],",
        "self.store.replace(ledger.SLOTS[0], b''); self.store.write(ledger.SLOTS[0],",
        "wake",
        "W9",
    ),
    (
        "a record in two pieces",
        "potreeve/keep.py",
        "        self.store.append(segments.name(self.numbers[-1]), line)\n",
        "        self.store.append(segments.name(self.numbers[-1]), line[:9])\n"
        "        self.store.append(segments.name(self.numbers[-1]), line[9:])\n",
        "wake",
        "torn record",
    ),
    (
        "replaces a file in place",
        "potreeve/hal/store.py",
        "            os.rename(aside, self._path(name))\n",
        "            _discard(self._path(name))\n            os.rename(aside, self._path(name))\n",
        "settings",
        "W7",
    ),
    (
        "drops segments there is room for",
        "potreeve/keep.py",
        "while len(self.numbers) > self.most",
        "while len(self.numbers) > 2",
        "limit",
        "room",
    ),
    (
        "forgets a record before the broker took it",
        "potreeve/app.py",
        "not self.log.acknowledge(radio.report(lines), len(lines)):",
        "not (self.log.acknowledge(len(lines) // segments.RECORD_BYTES, len(lines)) and radio.report(lines)):",
        "queue",
        "passed over",
    ),
    (
        "starts fresh and generous",
        "potreeve/logic/cycle.py",
        '        limits.fill_day(state.pots, settings)\n        full_ul = settings["tray_headroom_ml"] * 1000\n',
        "        full_ul = 0\n",
        "first",
        "W9",
    ),
)


@pytest.mark.parametrize("what, path, text, instead, scenario, says", BROKEN, ids=[row[0] for row in BROKEN])
def test_the_cuts_notice_firmware_that(what, path, text, instead, scenario, says, tmp_path):
    tree = tmp_path / "firmware"
    shutil.copytree(FIRMWARE, tree)
    source = (tree / path).read_text()
    assert source.count(text) == 1, "the firmware has changed: find the place to break it again"
    (tree / path).write_text(source.replace(text, instead))
    found = cuts.run(scenarios=(scenario,), few=True, firmware=tree, until=says)
    assert any(says in one["fault"] for one in found["faults"]), show(found)
