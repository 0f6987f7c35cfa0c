"""Every test here has a data folder of its own."""

import contextlib
import glob
import os
import shutil
import subprocess
import sys
import tempfile
import urllib.request
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "radio"))
from house_kit import Clock, House
from mosquitto import Mosquitto, free_port
from station_kit import until


@pytest.fixture(autouse=True)
def data_folder(tmp_path, monkeypatch):
    folder = tmp_path / "user data"
    monkeypatch.setenv("POTREEVE_DATA_DIR", str(folder))
    return folder


@pytest.fixture
def mosquitto(tmp_path):
    folder = tmp_path / "broker"
    folder.mkdir()
    with Mosquitto(folder) as made:
        yield made


BIN = next(iter(sorted(glob.glob("/usr/lib/postgresql/*/bin"), reverse=True)), None)


@pytest.fixture(scope="session")
def server():
    """A PostgreSQL of the test's own, on a socket in its folder."""
    if BIN is None:
        pytest.skip("PostgreSQL is not installed")
    # Not in pytest's own folder, which only its owner may enter; and a socket's path must be short.
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    # It refuses to run as root.
    before = []
    if os.geteuid() == 0:
        if not shutil.which("runuser"):
            pytest.skip("PostgreSQL does not run as root")
        before = ["runuser", "-u", "nobody", "--"]
        shutil.chown(folder, "nobody")
    run = {"check": True, "stdout": subprocess.DEVNULL, "cwd": "/"}
    subprocess.run([*before, f"{BIN}/initdb", "-D", f"{folder}/d", "-A", "trust", "-U", "me"], **run)
    options = f"-k {folder} -c listen_addresses=''"
    subprocess.run(
        [*before, f"{BIN}/pg_ctl", "-D", f"{folder}/d", "-l", f"{folder}/log", "-w", "-o", options, "start"], **run
    )
    yield f"postgresql://me@/postgres?host={folder}"
    subprocess.run([*before, f"{BIN}/pg_ctl", "-D", f"{folder}/d", "-m", "immediate", "stop"], **run)
    shutil.rmtree(folder)


@pytest.fixture
def database(tmp_path):
    """The address of a VictoriaMetrics of the test's own."""
    program = shutil.which("victoria-metrics")
    if program is None:
        pytest.skip("victoria-metrics is not installed")
    port = free_port()
    started = subprocess.Popen(
        [program, f"-storageDataPath={tmp_path}/vm", f"-httpListenAddr=127.0.0.1:{port}", "-retentionPeriod=100y"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    url = f"http://127.0.0.1:{port}"

    def there():
        with contextlib.suppress(OSError):
            return urllib.request.urlopen(url + "/health", timeout=1).status == 200

    assert until(there)
    yield url
    started.terminate()
    started.wait(30)


@pytest.fixture
def clock(monkeypatch):
    return Clock(monkeypatch)


@pytest.fixture
def house(clock, tmp_path):
    made = House(clock, tmp_path / "station.db")
    yield made
    made.kept.close()
