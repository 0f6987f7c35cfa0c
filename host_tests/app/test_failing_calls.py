"""Every adapter call fails: at its n-th use, from its n-th use on, or after its work is done; three kinds of exception.

Three wakes with doses: the real main.py, app and pump driver over fake pins (tools/potreeve_tools/standins/proofs/
failing.py). Judged: pumps off and no time passing with one on after a failure in a pulse, W1 to W3, no pulse on a
probe or a battery that could not be read (W5, W6), W9, a record that says so, and that the rig tends again once all is
well.
"""

import shutil

import pytest
from potreeve_tools.bench import failing
from potreeve_tools.rehearsal.engines import FIRMWARE

# Adapters the app must not do without a failure being tried.
ADAPTERS = {"pumps", "probes", "climate", "light", "battery", "clock", "store", "panel", "power", "radio", "code"}


def show(found):
    return "\n".join(f"{one['id']}: {one['fault']}" for one in found["faults"][:10])


# Each board once and each interpreter once; the other pairs, in which neither is new, when asked for.
@pytest.mark.parametrize(
    ("board", "interpreter"),
    [
        ("rp2040_wifi", "micropython"),
        ("esp32", "cpython"),
        pytest.param("rp2040_wifi", "cpython", marks=pytest.mark.slow),
        pytest.param("esp32", "micropython", marks=pytest.mark.slow),
    ],
)
def test_every_call_failing(board, interpreter, capsys):
    found = failing.run(board, interpreter)
    with capsys.disabled():
        print(f"\n  {board}, {interpreter}: {found['runs']} failures of {sum(found['calls'].values())} calls")
    assert not found["faults"], show(found)
    assert found["pulses"] >= 1
    # What main.py can't tend through ends in hal's long sleep, which the rig here must have, too.
    assert found["stood_by"] > 0
    assert {name.split(".")[0] for name in found["calls"]} == ADAPTERS
    # Each use fails once and from then on, in three kinds.
    assert found["runs"] >= 6 * sum(found["calls"].values())


APP = "potreeve/app.py"
BROKEN = (
    (
        "leaves the pump on when the loop fails",
        [
            (
                "potreeve/hal/pumps.py",
                "            try:\n                self.all_off()\n            finally:\n",
                "            if True:\n",
            ),
            (APP, "                rig.pumps.all_off()\n", ""),
        ],
        "battery.read_mv:10:once:OSError",
        "W2",
    ),
    (
        "swallows a failed probe",
        [(APP, "            self.errors |= bit\n            return otherwise\n", "            return otherwise\n")],
        "probes.burst:3:once:OSError",
        "no record",
    ),
    ("forgets in its sleep", [(APP, "        self._keep_errors()\n", "")], "radio.report:1:once:OSError", "no record"),
    (
        "takes a battery it could not read for a full one",
        [
            (
                APP,
                "self._try(errors.BATTERY, 0, rig.battery.read_mv)",
                "self._try(errors.BATTERY, 4100, rig.battery.read_mv)",
            )
        ],
        "battery.read_mv:1:once:OSError",
        "W6",
    ),
    (
        "takes a probe it could not read for one in a thirsty pot",
        [(APP, "self.buffer[:] = NOTHING\n", "self.buffer[:] = [26400] * BURST\n")],
        "probes.burst:1:once:OSError",
        "W5",
    ),
    (
        "runs the last good settings and keeps quiet",
        [("potreeve/keep.py", "    return good, errors.SETTINGS\n", "    return good, 0\n")],
        "store.read:2:once:OSError",
        "no record",
    ),
    (
        "gives up at the first failure",
        [(APP, "        except Exception:\n", "        except KeyError:\n")],
        "climate.read:1:on:OSError",
        "starts over",
    ),
)


@pytest.mark.parametrize("what, edits, only, says", BROKEN, ids=[row[0] for row in BROKEN])
def test_the_failures_notice_firmware_that(what, edits, only, says, tmp_path):
    tree = tmp_path / "firmware"
    shutil.copytree(FIRMWARE, tree)
    for path, text, instead in edits:
        source = (tree / path).read_text()
        assert text in source, "the firmware has changed: find the place to break it again"
        (tree / path).write_text(source.replace(text, instead))
    found = failing.run("esp32", "cpython", only=(only,), firmware=tree)
    assert found["runs"] == 1
    assert any(says in one["fault"] for one in found["faults"]), show(found)
