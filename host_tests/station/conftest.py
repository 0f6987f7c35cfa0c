"""Every test here has a data folder of its own."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "radio"))
from mosquitto import Mosquitto


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
