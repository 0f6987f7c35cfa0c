"""`potreeve bench fleet` and `bench lies`, in small: they run, they count, and they would say what is wrong."""

import json

import mosquitto
import pytest
from click.testing import CliRunner
from potreeve_tools.bench import fleet
from potreeve_tools.cli import cli
from potreeve_tools.station import rigside

pytestmark = pytest.mark.skipif(mosquitto.PROGRAM is None, reason="mosquitto is not installed")


def figures(*words):
    done = CliRunner().invoke(cli, ["bench", *words, "--json"])
    return done.exit_code, json.loads(done.stdout)


def test_a_small_fleet():
    code, found = figures("fleet", "--rigs", "5", "--records", "24")
    (one,) = found["runs"]
    assert code == 0 and (one["rigs"], one["records"], one["lost"], one["doubled_or_wrong"]) == (5, 120, 0, 0)
    assert one["records_per_s"] > 0 and one["lag_99_ms"] >= one["lag_median_ms"] > 0


def test_some_lies():
    code, found = figures("lies", "--count", "1000")
    assert code == 0 and found["payloads"] == 1000 and found["alive"] and found["stored_unfit"] == 0
    assert found["refused"] > 300 and found["memory_kb_late"] > 1000


def test_an_answer_that_comes_late_is_an_answer(monkeypatch):
    """On a busy machine it came between two questions, and there was nothing left to ask."""

    class Line:
        rigs, sent = {}, 0
        client = type("Client", (), {"subscribe": lambda *_: None})()

        def send(self, rig, kind, payload):
            Line.sent += 1

    monkeypatch.setattr(fleet.time, "sleep", lambda s: None)
    line = Line()
    assert not fleet.listens(line) and Line.sent == 1
    line.asked.mark = rigside.place_of(1)
    assert fleet.listens(line) and Line.sent == 1
