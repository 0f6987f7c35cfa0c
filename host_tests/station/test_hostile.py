"""Rigs that lie: fuzzed payloads from a paired client, spoofed rigs against the generated access list, signed commands
twisted."""

import hashlib
import hmac
import json
import resource
import sqlite3

import pytest
from click.testing import CliRunner
from mosquitto import Mosquitto, free_port
from potreeve.logic import recorded
from potreeve_tools.cli import cli
from potreeve_tools.station import (
    access,
    alarms,
    broker,
    config,
    course,
    fuzzing,
    intake,
    keys,
    logpiece,
    messages,
    metrics,
    pages,
    rigside,
    sight,
    store,
    web,
)
from potreeve_tools.station.ingest import Ingest
from potreeve_tools.station.messages import Message
from station_kit import about, line, pieces, report, until

ABOUT = about()
GOOD = fuzzing.truth("sill", pieces([line(n + 1) for n in range(8)])[0], report(), ABOUT)


def test_fuzzed_payloads_store_nothing_wrong_and_render_nothing(tmp_path):
    """What is stored of thousands of lies: whole records of ours, messages that hold to their schema, counts. Every
    page can be made of it."""
    kept = store.open_store(tmp_path / "s.db")
    ready, some = 0, []
    for n, (kind, payload) in enumerate(fuzzing.stream(8, 4000, GOOD)):
        try:
            what = messages.read(messages.topic("sill", kind), payload)
            ready += 1
        except messages.Unfit as fault:
            what = ("sill", kind, str(fault), payload)
        some.append((1_790_000_000 + n, what, n % 7 == 0))
        if len(some) == 40:
            intake.take(kept, some)
            some = []
    assert 50 < ready < 2000, "neither all nor nothing must pass, or the test shows nothing"
    for (body,) in kept.rows("SELECT body FROM records"):
        assert recorded.decode(bytes(body)) is not None
    one = sight.one_rig(kept, "sill")
    for kind, body in (("report", one.report), ("about", one.about)):
        assert body is None or messages.load(kind, messages.dump(body)) == body
    found = alarms.rig_findings(one, 1_790_009_000)
    view = web.View(1_790_009_000, [one], [], [], {}, "", {"sill": one.name})
    made = pages.house(view, "x") + pages.rig(view, one, "x", course.pulses(kept, one, 20))
    assert "<script" not in made and "{{7" not in made.replace("{{7*7}}", "") and found is not None
    json.dumps(course.course(kept, one, 0, 2**33), allow_nan=False)
    assert metrics.text([one], []).endswith("# EOF\n")
    rows = kept.rows("SELECT SUM(LENGTH(body)), COUNT(*) FROM aside")[0]
    assert rows[1] <= intake.MOST_REASONS + 8 and rows[0] <= rows[1] * intake.KEPT_BYTES
    kept.close()


def test_fuzz_over_the_wire_leaves_the_station_up_and_small(mosquitto, tmp_path):
    to = broker.Address("127.0.0.1", mosquitto.port)
    listening = Ingest(to, lambda: store.open_store(tmp_path / "s.db"))
    listening.start()
    liar = rigside.Line(to, "liar", {})
    assert liar.up.wait(60) and until(lambda: listening.connected)
    sizes = []
    try:
        for turn in range(3):
            for kind, payload in fuzzing.stream(turn, 1000, GOOD):
                liar.send("sill", kind, payload)
            assert until(lambda turn=turn: listening.counts["messages"] >= 1000 * (turn + 1), 40)
            sizes.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
        assert listening.trouble == "" and listening.counts["unfit"] > 1500
        # The first turn fills caches; after it the most that was ever held must stay.
        assert sizes[2] - sizes[1] < 8 * 1024, sizes
        honest = rigside.RigLog(5)
        for n in range(20):
            honest.append(line(n + 1))
        told = rigside.Line(to, "porch", {"porch": honest})
        assert told.up.wait(60)
        honest.begin()
        while (piece := honest.next_piece()) is not None:
            told.send("porch", "log", logpiece.pack(piece))
        assert until(lambda: not honest.waiting())
        told.close()
    finally:
        liar.close()
        listening.stop()


@pytest.fixture
def guarded(tmp_path):
    """A mosquitto with the access list that the command generates, for two rigs and the station."""
    folder = tmp_path / "broker"
    done = CliRunner().invoke(
        cli,
        ["station", "access", str(folder), "--rig", "sill", "--rig", "porch", "--listener", f"{free_port()} 127.0.0.1"],
    )
    assert done.exit_code == 0, done.output
    text = (folder / access.SETTINGS).read_text()
    made = Mosquitto(folder, port=int(text.split()[1]))
    made.configure(f"{text}persistence_location {folder}/\n")
    with made:
        yield made


def as_user(made, name, key):
    return broker.Address("127.0.0.1", made.port, name, key)


def test_a_rig_speaks_for_itself_alone(guarded, tmp_path):
    known = keys.load()
    listening = Ingest(as_user(guarded, keys.STATION, known["broker"]), lambda: store.open_store(tmp_path / "s.db"))
    listening.start()
    mine, spoofed = rigside.RigLog(5), rigside.RigLog(6)
    told = rigside.Line(
        as_user(guarded, "sill", known["rigs"]["sill"]["broker"]), "sill", {"sill": mine, "porch": spoofed}
    )
    assert told.up.wait(60) and until(lambda: listening.connected)
    try:
        for rig, log in (("porch", spoofed), ("sill", mine)):
            log.append(line(1))
            log.begin()
            told.send(rig, "log", logpiece.pack(log.next_piece()))
            told.send(rig, "report", messages.dump(report(rig=rig)))
            told.send(rig, "ack", messages.ack(5, 10**9, 99, 0), retain=True)
        assert until(lambda: not mine.waiting())
        # The broker has acknowledged what it threw away: the queue is emptied on the station's word alone.
        assert spoofed.waiting() == 1 and spoofed.mark == 0
        kept = store.open_store(tmp_path / "s.db")
        assert kept.rows("SELECT rig FROM rigs") == [("sill",)]
        kept.close()
        eaves = rigside.Line(
            as_user(guarded, "porch", known["rigs"]["porch"]["broker"]), "porch", {"sill": rigside.RigLog(5)}
        )
        assert eaves.up.wait(60)
        told.send("sill", "report", messages.dump(report(seq=2)))
        assert until(lambda: listening.counts["messages"] >= 3)
        assert eaves.acks == 0
        eaves.close()
    finally:
        told.close()
        listening.stop()


def test_without_the_right_key_nobody_comes_in(guarded):
    known = keys.load()
    for name, key in ((None, None), ("sill", "wrong"), ("porch", known["rigs"]["sill"]["broker"]), ("nobody", "x")):
        told = rigside.Line(as_user(guarded, name, key), "x", {})
        assert not told.up.wait(1)
        told.close()
    text = (guarded.folder / access.PASSWORDS).read_text()
    assert known["broker"] not in text and known["rigs"]["sill"]["broker"] not in text
    assert oct((guarded.folder / access.PASSWORDS).stat().st_mode)[-2:] == "00"


def test_the_station_says_that_its_key_is_refused(guarded):
    listening = Ingest(as_user(guarded, keys.STATION, "wrong"), lambda: None)
    listening.start()
    assert until(lambda: listening.refused) and "uthor" in listening.refused and "wrong" not in listening.refused
    listening.stop()


def test_signed_commands_hold_to_the_document():
    """By the document alone, with another's hand: the mac covers all before `,"mac":"`, and nothing can be changed."""
    key = bytes(range(32))
    sent = messages.command("sill", 17, 8, 4730, "hold", key)
    at = sent.rfind(b',"mac":"')
    assert sent[:at] == b'{"v":1,"rig":"sill","boot":17,"counter":8,"until_seq":4730,"do":"hold"' and sent.endswith(
        b'"}'
    )
    assert sent[at + 8 : -2].decode() == hmac.new(key, sent[:at], hashlib.sha256).digest()[:16].hex()
    assert len(sent) <= 256 and messages.load("do", sent)["counter"] == 8
    assert messages.command("sill", 17, 9, 4730, "hold", key)[at + 8 :] != sent[at + 8 :]


def test_a_command_is_told_until_it_is_answered_or_stale(tmp_path):
    kept = store.open_store(tmp_path / "s.db")
    _, key, _ = keys.rig(keys.load(), "sill")
    words = ["station", "tell", "sill", "hold", "--store", str(tmp_path / "s.db")]
    assert CliRunner().invoke(cli, words).exit_code == 2, "a rig that was never heard has no boot to sign for"

    def hear(kind, body):
        return intake.take(kept, [(5, Message("sill", kind, body), False)]).tell

    assert hear("log", pieces([line(1)])[0]) == {}
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 0 and "waits until the rig reports" in done.output
    for seq in (1, 2):
        told = hear("report", report(seq=seq))["sill"]
        assert messages.load("do", told)["counter"] == 1 and messages.load("do", told)["until_seq"] == 201
        assert told == messages.command("sill", 17, 1, 201, "hold", bytes.fromhex(key))
    hear("done", {"v": 1, "rig": "sill", "boot": 17, "counter": 9, "result": "done"})
    assert hear("report", report(seq=3))
    hear("done", {"v": 1, "rig": "sill", "boot": 17, "counter": 0, "result": "refused", "why": "mac"})
    assert hear("report", report(seq=3))
    assert "waits" in (said := CliRunner().invoke(cli, [*words[:3], *words[4:]]).output) and "pair it again" in said
    hear("done", {"v": 1, "rig": "sill", "boot": 17, "counter": 1, "result": "refused", "why": "off"})
    assert hear("report", report(seq=4)) == {}
    assert "refused (off)" in CliRunner().invoke(cli, [*words[:3], *words[4:]]).output
    CliRunner().invoke(cli, words)
    assert messages.load("do", hear("report", report(seq=5))["sill"])["counter"] == 2
    assert hear("report", report(seq=202)) == {}
    assert "stale" in CliRunner().invoke(cli, [*words[:3], *words[4:]]).output
    kept.close()


def test_no_secret_in_store_page_export_or_metrics(tmp_path):
    known = keys.load()
    secret, command, _ = keys.rig(known, "sill")
    kept = store.open_store(tmp_path / "s.db")
    intake.take(
        kept,
        [
            (1, Message("sill", "about", {**ABOUT, "name": "x"}), False),
            (1, Message("sill", "log", pieces([line(1)])[0]), False),
        ],
    )
    kept.close()
    out = tmp_path / "out.csv"
    assert (
        CliRunner().invoke(cli, ["station", "export", "sill", str(out), "--store", str(tmp_path / "s.db")]).exit_code
        == 0
    )
    dump = "\n".join(sqlite3.connect(tmp_path / "s.db").iterdump()) + out.read_text()
    for hidden in (secret, command, known["broker"], known["page"], known["metrics"]):
        assert hidden not in dump
    assert oct((config.folder() / keys.NAME).stat().st_mode)[-3:] == "600"
    assert out.read_text().count("\n") == 2 and "moisture_pm" in out.read_text()
