"""Letters really go out: a broken promise in real time reaches a local catcher, and no secret shows anywhere on the
way."""

import http.server
import json
import logging
import socketserver
import subprocess
import sys
import threading
import time

import pytest
from click.testing import CliRunner
from potreeve_tools.cli import cli
from potreeve_tools.station import broker, config, messages, notify, rigside, service, watch
from potreeve_tools.terminal.faultlist import BadInput
from station_kit import report, running, until

SECRET = "s3cr3t-topic-9f2c"


class Catcher(socketserver.ThreadingMixIn, http.server.HTTPServer):
    """Takes whatever is posted, or refuses it."""

    daemon_threads = True

    def __init__(self):
        caught = self.caught = []
        self.refuse = False

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_POST(self):
                body = self.rfile.read(int(self.headers.get("content-length", 0)))
                caught.append((time.time(), self.path, body))
                self.send_response(500 if self.server.refuse else 200)
                self.end_headers()

            def do_GET(self):
                caught.append((time.time(), self.path, b""))
                self.send_response(200)
                self.end_headers()

            def log_message(self, *_):
                pass

        super().__init__(("127.0.0.1", 0), Handler)
        threading.Thread(target=self.serve_forever, daemon=True).start()


@pytest.fixture
def catcher():
    made = Catcher()
    yield made
    made.shutdown()
    made.server_close()


def own(catcher, **more):
    path = config.folder() / config.NAME
    lines = [f"{key} = {json.dumps(value)}" for key, value in more.items()]
    lines += ["[[route]]", 'name = "phone"', f'url = "json://127.0.0.1:{catcher.server_port}/{SECRET}"']
    path.write_text("\n".join(lines) + "\n")
    return path


def test_a_broken_promise_reaches_a_person_within_a_minute(mosquitto, tmp_path, catcher, monkeypatch):
    """In real time, through a real broker and a real letter; the grace of half a minute is cut short here."""
    monkeypatch.setattr("potreeve_tools.station.hearing.GRACE_S", 2)
    monkeypatch.setattr(watch, "LOOK_S", 0.5)
    own(catcher)
    to = broker.Address("127.0.0.1", mosquitto.port)
    with running(service.Plan(to, str(tmp_path / "s.db"), config.load(), None)) as station:
        rig = rigside.Line(to, "sill", {})
        assert rig.up.wait(60) and until(lambda: station.ingest.connected)
        rig.send("sill", "report", messages.dump(report(due_s=3)))
        promised = time.time() + 3
        assert until(lambda: catcher.caught)
        at, path, body = catcher.caught[0]
        assert 0 < at - promised < 60 and path == f"/{SECRET}"
        letter = json.loads(body)
        assert (
            letter["title"] == "sill: a rig has broken its promise to report"
            and "To do: look at the rig" in letter["message"]
        )
        rig.send("sill", "report", messages.dump(report(seq=2, due_s=600)))
        assert until(lambda: len(catcher.caught) > 1)
        assert json.loads(catcher.caught[1][2])["title"].startswith("Over: sill")
        time.sleep(1.5)
        assert len(catcher.caught) == 2
        rig.close()


def test_a_letter_that_is_refused_goes_again_and_stops_the_sign_of_life(catcher, tmp_path, monkeypatch):
    from potreeve_tools.station import alarms, book, store

    kept = store.open_store(tmp_path / "s.db")
    made = config.Config(
        None,
        heartbeat_url=f"http://127.0.0.1:{catcher.server_port}/alive",
        routes=[config.Route("phone", f"json://127.0.0.1:{catcher.server_port}/{SECRET}")],
    )
    monkeypatch.setattr(config.Config, "quiet_until", lambda self, now: now)
    post = notify.Post(lambda: kept, made)
    assert post.beat(kept) and catcher.caught[-1][1] == "/alive"
    catcher.refuse = True
    book.settle(kept, [alarms.Finding("sill", "", "silent", 2, "silent", "look")], 1000, made)
    for _ in range(3):
        post.empty(kept)
        kept.do("UPDATE outbox SET next_s = 0")
    assert post.stuck == 1 and not post.beat(kept)
    catcher.refuse = False
    post.empty(kept)
    assert post.stuck == 0 and post.beat(kept)
    post.empty(kept)
    assert sum(path == f"/{SECRET}" for _, path, _ in catcher.caught) == 4
    kept.close()


def test_no_sign_of_life_while_something_is_wrong(catcher, tmp_path):
    from potreeve_tools.station import store

    kept = store.open_store(tmp_path / "s.db")
    made = config.Config(None, heartbeat_url=f"http://127.0.0.1:{catcher.server_port}/alive")
    assert not notify.Post(lambda: kept, made, well=lambda: False).beat(kept) and catcher.caught == []
    kept.do("PRAGMA query_only = 1")
    assert not notify.Post(lambda: kept, made).beat(kept) and catcher.caught == []
    kept.close()


def test_a_test_letter_says_which_route_fails(catcher):
    path = own(catcher)
    done = CliRunner().invoke(cli, ["station", "--test-alarm"])
    assert done.output == "phone: taken\n" and done.exit_code == 0
    catcher.refuse = True
    done = CliRunner().invoke(cli, ["station", "--test-alarm"])
    assert "REFUSED" in done.output and done.exit_code == 1 and SECRET not in done.output
    path.unlink()
    assert CliRunner().invoke(cli, ["station", "--test-alarm"]).exit_code == 2


def test_a_letter_that_hangs_holds_nothing_up(monkeypatch):
    import socket

    monkeypatch.setattr(notify, "LIMIT_S", 1)
    with socket.socket() as mute:
        mute.bind(("127.0.0.1", 0))
        mute.listen()
        began = time.monotonic()
        assert not notify.deliver(f"json://127.0.0.1:{mute.getsockname()[1]}/x", "t", "b")
        assert time.monotonic() - began < 5


def test_addresses_of_routes_show_in_no_fault_and_no_log(catcher, caplog):
    path = config.folder() / config.NAME
    path.write_text(
        f'zone = "Nowhere/No"\nquiet = "25:00-7"\nheartbeat_url = "{SECRET}"\n[[route]]\nname = "a"\nurl = "{SECRET}"\n'
        f'[[route]]\nname = "a"\nurl = "nosuch://{SECRET}"\nkinds = ["storm"]\nlevel = "loud"\n'
    )
    with pytest.raises(BadInput) as told:
        config.load()
    text = str(told.value)
    for word in ("zone", "quiet", "heartbeat_url", "[route 1]", "[route 2]", "kinds", "level"):
        assert word in text
    assert SECRET not in text
    with caplog.at_level(logging.DEBUG):
        notify.deliver(f"json://127.0.0.1:1/{SECRET}", "t", "b")
    assert SECRET not in caplog.text
    assert SECRET not in repr(config.Config(None, routes=[config.Route("a", SECRET)], heartbeat_url=SECRET))


def test_a_file_for_others_is_closed_to_them(catcher):
    import os
    import stat

    path = own(catcher)
    os.chmod(path, 0o644)
    config.load()
    assert stat.S_IMODE(os.stat(path).st_mode) == 0o600


def test_no_key_in_the_process_list_or_what_is_printed(mosquitto, tmp_path, catcher):
    own(catcher)
    key = tmp_path / "key"
    key.write_text("broker-" + SECRET)
    station = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "potreeve_tools",
            "station",
            "--broker",
            f"127.0.0.1:{mosquitto.port}",
            "--user",
            "potreeve-station",
            "--key-file",
            str(key),
            "--no-page",
            "--store",
            str(tmp_path / "s.db"),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        assert until((tmp_path / "s.db").exists)
        time.sleep(1)
        listed = subprocess.run(["ps", "-ww", "-eo", "args"], capture_output=True, text=True, check=True).stdout
        assert f"127.0.0.1:{mosquitto.port}" in listed and SECRET not in listed
    finally:
        station.terminate()
        said = station.communicate(timeout=30)[0]
    assert SECRET not in said and station.returncode == 0, said


def test_scripts_get_a_file_and_an_exit_code(mosquitto, tmp_path, catcher, monkeypatch):
    monkeypatch.setattr(watch, "LOOK_S", 0.3)
    where = str(tmp_path / "s.db")
    to = broker.Address("127.0.0.1", mosquitto.port)
    with running(service.Plan(to, where, config.load(), None)) as station:
        rig = rigside.Line(to, "sill", {})
        assert rig.up.wait(60) and until(lambda: station.ingest.connected)
        done = CliRunner().invoke(cli, ["station", "alarms", "--store", where])
        assert done.exit_code == 0 and "Nothing is up" in done.output
        rig.send("sill", "report", messages.dump(report(time_s=5)))
        path = config.folder() / "alarms.json"
        assert until(lambda: path.exists() and json.loads(path.read_text())["alarms"])
        assert json.loads(path.read_text())["alarms"][0]["kind"] == "clock"
        done = CliRunner().invoke(cli, ["station", "alarms", "--store", where, "--json"])
        assert done.exit_code == 0 and json.loads(done.output)["needed"] is False
        rig.close()
