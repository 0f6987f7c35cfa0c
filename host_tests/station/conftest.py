"""Every test here has a data folder of its own."""

import pytest


@pytest.fixture(autouse=True)
def data_folder(tmp_path, monkeypatch):
    folder = tmp_path / "user data"
    monkeypatch.setenv("POTREEVE_DATA_DIR", str(folder))
    return folder
