"""Messages of version 1 as they were when it was made, kept as data: the station takes them for ever. What later
firmware adds is passed over; a later version is refused, said, and stays on the board."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from potreeve_tools.cli import cli
from potreeve_tools.station import alarms, intake, logpiece, messages, sight, store
from potreeve_tools.station.messages import Message

NOW = 1_780_460_000
# Made by the firmware of November 2026 in a rehearsal. Never to be changed: a test that fails here is no test to mend.
KEPT = json.loads((Path(__file__).parent / "messages_v1.json").read_text())
LOG = bytes.fromhex("".join(KEPT["log"]))
PAYLOADS = {**{kind: KEPT[kind].encode() for kind in ("about", "report", "lost", "done")}, "log": LOG}


@pytest.fixture
def kept(tmp_path):
    made = store.open_store(tmp_path / "s.db")
    yield made
    made.close()


def arrive(kept, payloads, now=NOW):
    """Messages as they come from the broker, by the way all come."""
    some = []
    for kind, payload in payloads:
        try:
            what = messages.read(messages.topic("sill", kind), payload)
        except messages.Unfit as fault:
            what = ("sill", kind, str(fault), payload)
        some.append((now, what, False))
    return intake.take(kept, some)


def test_old_messages_are_taken_and_mean_what_they_meant(kept):
    taken = arrive(kept, PAYLOADS.items())
    assert taken.aside == 0 and taken.new == len(KEPT["log_says"]["records"])
    one = sight.one_rig(kept, "sill")
    assert one.report == json.loads(KEPT["report"]) and one.about == json.loads(KEPT["about"])
    assert one.name == "reading room" and one.names == ["mint", "strawberry", "cherry tomato"] and one.due_s == 22896


def test_an_old_log_reads_as_it_read_then():
    says = KEPT["log_says"]
    piece = messages.read("potreeve/sill/log", LOG).body
    assert (piece.boot, piece.due_s) == (says["boot"], says["due_s"])
    assert [*logpiece.split(piece.from_place)] == says["from"] and [*logpiece.split(piece.place)] == says["place"]
    for line, told in zip(piece.records, says["records"], strict=True):
        head, pots = intake.recorded.decode(line)
        # What is known of it may grow, never change.
        assert told["head"].items() <= head.items()
        assert all(old.items() <= pot.items() for old, pot in zip(told["pots"], pots, strict=True))


def test_what_the_station_says_is_what_old_boards_were_told():
    """Members, and the order that a board may rely on."""
    ack, do = json.loads(KEPT["ack"]), json.loads(KEPT["do"])
    place = logpiece.place(ack["segment"], ack["byte"])
    assert messages.ack(ack["boot"], place, ack["seq"], ack["time_s"]) == KEPT["ack"].encode()
    made = messages.command("sill", do["boot"], do["counter"], do["until_seq"], do["do"], bytes(range(32)))
    assert made == KEPT["do"].encode()


@pytest.mark.parametrize("kind", ["about", "report", "lost", "done"])
def test_unknown_members_are_passed_over(kept, kind):
    body = json.loads(KEPT[kind])
    more = {**body, "sunshine_h": 4, "next": {"of": ["its", {"kind": None}]}}
    if "pots" in more:
        more["pots"] = [{**pot, "leaves": 12} for pot in more["pots"]]
    assert arrive(kept, [(kind, json.dumps(more).encode())]).aside == 0


LATER = {
    "report": json.dumps({**json.loads(KEPT["report"]), "v": 2, "pots": {"mint": 700}}).encode(),
    "about": json.dumps({"v": 2}).encode(),
    "log": LOG[:2] + b"\x02" + LOG[3:] + b"more",
}


@pytest.mark.parametrize("kind", LATER)
def test_a_later_version_is_refused_and_said_and_nothing_is_lost(kept, kind, tmp_path):
    arrive(kept, [("log", LOG), ("report", PAYLOADS["report"])])
    before = sight.one_rig(kept, "sill")
    taken = arrive(kept, [(kind, LATER[kind])], NOW + 3600)
    # The broker is told that it arrived; the board is told nothing, so its records stay with it.
    assert taken.aside == 1 and taken.acks == {} and "sill" in taken.rigs and taken.heard == {}
    one = sight.one_rig(kept, "sill", NOW - 86400)
    assert (one.report, one.committed_seq) == (before.report, before.committed_seq)
    (found,) = [each for each in alarms.rig_findings(one, NOW + 3600) if "version" in each.what]
    assert (found.kind, found.level, found.todo) == ("firmware", alarms.CALL, "update the station")
    assert "a later version of the messages: 2" in found.what and "keeps its records" in found.what
    # The station was updated, or the board set back: it is understood again.
    intake.take(kept, [(NOW + 7200, Message("sill", "report", json.loads(KEPT["report"])), False)])
    assert not any("version" in each.what for each in alarms.rig_findings(sight.one_rig(kept, "sill", 0), NOW + 7200))


def test_versions_that_are_none_are_no_later_ones():
    for told in (0, -1, True, None, "2", [], 1.5):
        with pytest.raises(messages.Unfit) as fault:
            messages.read("potreeve/sill/lost", json.dumps({"v": told, "rig": "sill", "boot": 1}).encode())
        assert messages.NEWER not in str(fault.value)
    with pytest.raises(messages.Unfit) as fault:
        messages.read("potreeve/sill/lost", b'{"v":' + b"9" * 4000 + b"}")
    assert len(str(fault.value)) < 120


def test_a_store_of_a_newer_station_is_refused_by_the_command(tmp_path):
    path = tmp_path / "s.db"
    made = store.open_store(path)
    made.set_note("tables", 99)
    made.close()
    done = CliRunner().invoke(cli, ["station", "alarms", "--store", str(path)])
    assert done.exit_code == 2 and "written by a newer Potreeve (tables 99)" in done.output
