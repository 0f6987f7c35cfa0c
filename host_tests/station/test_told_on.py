"""Other tools join in: OpenMetrics through another's parser, line protocol into a real time-series database, a
rehearsal into a live station."""

import json
import time
import urllib.parse
import urllib.request

import pytest
from click.testing import CliRunner
from mosquitto import free_port
from potreeve_tools.cli import cli
from potreeve_tools.station import (
    book,
    broker,
    config,
    intake,
    lines,
    messages,
    metrics,
    rehearsed,
    service,
    sight,
    store,
    watch,
)
from potreeve_tools.station.messages import Message
from station_kit import about, line, pieces, report, running, until

ABOUT = about('mint "x" \\')
NOW = 1_790_000_000


@pytest.fixture
def kept(tmp_path):
    made = store.open_store(tmp_path / "s.db")
    yield made
    made.close()


def heard(kept, *bodies, now=NOW):
    intake.take(kept, [(now, Message("sill", kind, body), False) for kind, body in bodies])


def parsed(text):
    from prometheus_client.openmetrics.parser import text_string_to_metric_families

    return {sample.name: sample for family in text_string_to_metric_families(text) for sample in family.samples}


def test_metrics_hold_to_the_format_and_its_units(kept):
    some = pieces([line(n + 1, pots=((713, 0, 0),), temp_cdeg=-1234, rh_pm=-1) for n in range(5)])
    heard(kept, ("about", ABOUT), ("report", report(due_s=60)), *[("log", piece) for piece in some])
    found = parsed(metrics.text(sight.all_rigs(kept), [], {"records": 5}))
    assert found["potreeve_pot_moisture_ratio"].value == 0.713
    assert found["potreeve_pot_moisture_ratio"].labels == {"rig": "sill", "pot": 'mint "x" \\'}
    assert found["potreeve_battery_volts"].value == 4.0 and found["potreeve_air_temperature_celsius"].value == -12.34
    assert found["potreeve_battery_left_seconds"].value == 60 * 86400 and found["potreeve_rig_records_total"].value == 5
    assert (
        found["potreeve_rig_due_timestamp_seconds"].value == NOW + 60
        and found["potreeve_station_records_total"].value == 5
    )
    assert "potreeve_air_humidity_ratio" not in found, "what is not known is not told"


def test_a_silent_rig_has_no_readings_and_an_alarm_shows(kept):
    heard(kept, ("report", report()), ("log", pieces([line(1)])[0]))
    alarm = {"rig": "sill", "pot": "", "kind": "silent", "raised_s": NOW}
    sights = sight.all_rigs(kept)
    sight.mark_silent(sights, [alarm])
    found = parsed(metrics.text(sights, [alarm]))
    assert found["potreeve_rig_silent"].value == 1 and "potreeve_pot_moisture_ratio" not in found
    assert found["potreeve_alarm_raised_timestamp_seconds"].labels == {"rig": "sill", "pot": "", "kind": "silent"}


def test_lines_escape_what_would_break_them(kept):
    made = lines.of_record("sill", ["a b,c=d\ne"], NOW, line(1))
    assert (
        made[1]
        == f"potreeve,rig=sill,pot=a\\ b\\,c\\=d\\ e pot_moisture_ratio=0.7,pot_rung=0,pot_reason=0 {NOW}000000000"
    )
    assert made[0].startswith("potreeve,rig=sill battery_volts=4.0,battery_charge_ratio=0.8,") and len(made) == 2


def exported(url, what):
    """{labels as text: {second: value}} of a series, as the database has it."""
    with urllib.request.urlopen(f"{url}/api/v1/export?" + urllib.parse.urlencode({"match[]": what})) as answer:
        found = [json.loads(row) for row in answer.read().splitlines()]
    return {
        row["metric"]["pot"]: dict(zip([at // 1000 for at in row["timestamps"]], row["values"], strict=True))
        for row in found
    }


def test_a_real_time_series_database_is_filled_and_refilled(kept, tmp_path, database):
    now = int(time.time()) - 86400
    some = pieces([line(n + 1, utc_s=now + n * 300, pots=((500 + n, 0, 0),)) for n in range(200)])
    heard(
        kept,
        ("about", {**ABOUT, "pots": [{"pot": "mint", "plant": "mint"}]}),
        *[("log", piece) for piece in some[:10]],
        now=now + 90000,
    )
    pusher = lines.Pusher(None, "http://127.0.0.1:1/write")
    with pytest.raises(OSError):
        pusher.step(kept)
    assert kept.note(lines.NOTE) is None, "what was not taken goes again"
    pusher = lines.Pusher(None, database + "/write")
    assert pusher.step(kept) and not pusher.step(kept)
    heard(kept, *[("log", piece) for piece in some[9:]], now=now + 90000)
    while pusher.step(kept):
        pass
    wanted = {now + n * 300: round((500 + n) / 1000, 3) for n in range(200)}
    urllib.request.urlopen(database + "/internal/force_flush").read()
    assert until(lambda: exported(database, "potreeve_pot_moisture_ratio").get("mint") == wanted, 20)
    question = urllib.parse.urlencode({"query": "min_over_time(potreeve_pot_moisture_ratio[2d])", "time": now + 86000})
    with urllib.request.urlopen(f"{database}/api/v1/query?{question}") as answer:
        assert json.load(answer)["data"]["result"][0]["value"][1] == "0.5"


@pytest.mark.parametrize("interpreter", ["micropython", "cpython"])
def test_a_rehearsal_reports_to_a_live_station_and_its_mishap_is_an_alarm(
    mosquitto, tmp_path, monkeypatch, interpreter
):
    """By the firmware's own radio code: real sockets, a real broker; about, records and reports are the board's."""
    monkeypatch.setattr(watch, "LOOK_S", 0.3)
    where = str(tmp_path / "s.db")
    to = broker.Address("127.0.0.1", mosquitto.port)
    with running(service.Plan(to, where, config.load(), None)) as station:
        assert until(lambda: station.ingest.connected)
        used = tmp_path / "used.toml"
        command = f"rehearse --days 3 --interpreter {interpreter} --pace 0 --station 127.0.0.1:{mosquitto.port} --json"
        done = CliRunner().invoke(cli, [*command.split(), "--write-settings", str(used)])
        assert done.exit_code == 0, done.output
        told = json.loads(done.stdout)
        assert f"{told['wakes'] - 1} records reported" in done.stderr or f"{told['wakes']} records" in done.stderr
        # What it used to report is of no use to an owner.
        assert "radio" not in used.read_text()
        kept = store.open_store(where)
        one = sight.one_rig(kept, "rehearsal")
        assert one.rehearsed and one.names == ["mint", "strawberry", "cherry tomato"]
        assert one.name == "reading room" and one.about["firmware"] == one.report["firmware"]
        assert told["wakes"] - kept.rows("SELECT COUNT(*) FROM records")[0][0] in (0, 1)
        assert one.head["seq"] == one.committed_seq == one.report["seq"]
        assert [pot["pm"] for pot in one.pots] == [row["moisture_pm"] for row in one.report["pots"]]
        assert all(stress < refill for stress, refill in zip(one.stress_pm, one.refill_pm, strict=True))
        # It began without a memory, and said so on its first day.
        assert kept.rows("SELECT * FROM gaps") == []
        assert until(lambda: book.open_alarms(kept) == []), book.open_alarms(kept)
        CliRunner().invoke(cli, [*command.split(), "--days", "6", "--mishap", "probe_broken"])
        assert until(lambda: book.open_alarms(kept))
        found = book.open_alarms(kept)[0]
        assert found["kind"] == "probe" and found["pot"] in one.names and found["todo"]
        kept.close()


def test_a_rehearsal_keeps_to_its_pace(mosquitto, tmp_path):
    """At two days a second a day takes half a second or longer; what lies behind is not waited for."""
    to = broker.Address("127.0.0.1", mosquitto.port)
    with rehearsed.Live(to, 2.0) as live:
        began = time.monotonic()
        live.on_wake(86400)
        assert 0.45 < time.monotonic() - began < 5
        live.on_wake(86400)
        assert time.monotonic() - began < 5


def test_a_rehearsal_says_what_can_not_report(tmp_path, mosquitto):
    base = ["rehearse", "--days", "1", "--station", f"127.0.0.1:{mosquitto.port}"]
    done = CliRunner().invoke(cli, [*base, "--interpreter", "micropython32"])
    assert done.exit_code == 2 and "has no sockets" in done.output
    done = CliRunner().invoke(cli, [*base[:-1], "no-such-host.invalid"])
    assert done.exit_code == 2 and "no IPv4 address" in done.output


def test_a_rehearsal_says_that_nobody_listens(mosquitto, monkeypatch):
    monkeypatch.setattr(rehearsed, "WORD_S", 1)
    monkeypatch.setattr(rehearsed, "CONNECT_S", 1)
    base = ["rehearse", "--days", "1", "--interpreter", "cpython", "--pace", "0", "--station"]
    done = CliRunner().invoke(cli, [*base, f"127.0.0.1:{mosquitto.port}"])
    assert done.exit_code == 4 and "no station says" in done.output
    done = CliRunner().invoke(cli, [*base, f"127.0.0.1:{free_port()}"])
    assert done.exit_code == 4 and "no broker" in done.output
    done = CliRunner().invoke(cli, [*base[:-1], "--mishap", "probe_brokn"])
    assert done.exit_code == 2 and 'did you mean "probe_broken"' in done.output


def test_what_the_station_publishes_holds_to_the_schemas(kept):
    taken = intake.take(kept, [(NOW, Message("sill", "log", pieces([line(1)])[0]), False)])
    (place, seq) = taken.acks["sill", 17]
    sent = messages.ack(17, place, seq, NOW)
    assert messages.load("ack", sent) == json.loads(sent) and len(sent) <= 192 and b" " not in sent
    assert sent == b'{"v":1,"boot":17,"segment":1,"byte":848,"seq":1,"time_s":%d}' % NOW
