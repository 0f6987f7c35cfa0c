"""The station's own broker: made keys, learns of a rig that is paired while it runs, leaves nobody behind when the
station is killed."""

import os
import signal
import subprocess
import sys
import time

import mosquitto
import pytest
from mosquitto import free_port
from potreeve_tools.station import broker, builtin, config, keys, rigside
from potreeve_tools.terminal.exits import Stop
from station_kit import until

pytestmark = pytest.mark.skipif(mosquitto.PROGRAM is None, reason="mosquitto is not installed")


def test_keys_open_it_and_new_ones_are_learnt(monkeypatch):
    with pytest.raises(Stop, match="another broker"):
        import socket

        with socket.socket() as taken:
            taken.bind(("127.0.0.1", 0))
            taken.listen()
            builtin.Builtin("127.0.0.1", taken.getsockname()[1]).start()
    made = builtin.Builtin("127.0.0.1", free_port()).start()
    try:
        own = rigside.Line(made.address(), "station", {})
        assert own.up.wait(60)
        stranger = rigside.Line(broker.Address("127.0.0.1", made.port), "stranger", {})
        assert not stranger.up.wait(1)
        key, _, _ = keys.rig(keys.load(), "sill")
        rig = rigside.Line(broker.Address("127.0.0.1", made.port, "sill", key), "sill", {})
        assert not rig.up.wait(0.5)
        made.renew()
        assert rig.up.wait(20)
        for one in (own, stranger, rig):
            one.close()
    finally:
        made.stop()
    assert made.process.poll() is not None


def test_a_station_that_is_killed_leaves_a_broker_that_the_next_one_ends():
    port = free_port()
    command = [
        sys.executable,
        "-m",
        "potreeve_tools",
        "station",
        "--broker",
        "builtin",
        "--no-page",
        "--broker-listen",
        f"127.0.0.1:{port}",
    ]
    pid = config.folder() / "broker" / builtin.PID

    def brokers():
        listed = subprocess.run(["ps", "-ww", "-eo", "pid,args"], capture_output=True, text=True, check=True).stdout
        return [
            # Not its mosquitto_passwd.
            int(row.split()[0])
            for row in listed.splitlines()
            if str(config.folder()) in row and "mosquitto -c" in row
        ]

    first = subprocess.Popen(command, stderr=subprocess.DEVNULL)
    assert until(lambda: pid.exists() and brokers(), 30)
    first.send_signal(signal.SIGKILL)
    first.wait()
    orphan = brokers()
    assert len(orphan) == 1
    second = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
    try:
        assert until(lambda: brokers() not in ([], orphan), 30)
        assert len(brokers()) == 1
        time.sleep(0.5)
    finally:
        second.terminate()
        said = second.communicate(timeout=30)[1]
    assert second.returncode == 0, said
    assert until(lambda: not brokers(), 5)
    with pytest.raises(ProcessLookupError):
        os.kill(orphan[0], 0)
