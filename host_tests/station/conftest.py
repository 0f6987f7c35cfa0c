"""Every test here has a data folder of its own."""

import pytest
from station_kit import Mosquitto


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
