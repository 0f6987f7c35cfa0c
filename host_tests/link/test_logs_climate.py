"""The room's climate from pulled logs: hourly means, hours without a reading left out, and a rig that takes it."""

import made
import pytest
from click.testing import CliRunner
from potreeve.logic import record
from potreeve_tools import cli
from potreeve_tools.link import logs_climate, logs_read, logs_store
from potreeve_tools.terminal import exits
from potreeve_tools.world import rigfile, setting, weatherfile


def rows_of(folder):
    return logs_read.read([folder])[0]


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """Pulled logs of one board: ten days, a wake each half hour, the first five hours before its clock was set."""
    monkeypatch.setenv("POTREEVE_DATA_DIR", str(tmp_path / "data"))
    folder = logs_store.new_memory("e66/12")
    life = made.Life(folder).wake(10)
    life.utc_s = 1795600000
    life.wake(480)
    return folder


def test_hours_are_means_of_their_wakes(kept):
    rows = rows_of(kept)
    rows[-1].head["temp_cdeg"] += 300
    found = logs_climate.hours(rows)
    assert all(when_s % 3600 == 0 for when_s in found)
    *_, last = found
    pair = [row.head["temp_cdeg"] for row in rows if row.head["utc_s"] // 3600 * 3600 == last]
    assert found[last][0] == pytest.approx(sum(pair) / len(pair) / 100, abs=0.006)


def test_wakes_before_the_clock_was_set_count_at_their_reckoned_time(kept):
    found = logs_climate.hours(rows_of(kept))
    assert min(found) < 1795600000 - 4 * 3600 and len(found) == pytest.approx(245, abs=2)


def test_an_hour_without_a_reading_is_left_out(kept):
    rows = rows_of(kept)
    for row in rows[200:206]:
        row.head["lx"] = record.NO_LX
    assert len(logs_climate.hours(rows)) <= len(logs_climate.hours(rows_of(kept))) - 2
    for row in rows:
        row.head["rh_pm"] = record.NO_RH
    with pytest.raises(exits.Stop) as stop:
        logs_climate.to_csv(rows)
    assert "light sensor" in stop.value.lines[1]


def test_what_is_written_is_weather_for_a_rig(kept, tmp_path):
    done = CliRunner().invoke(cli.cli, ["logs", "climate", str(tmp_path / "room.csv")])
    assert done.exit_code == 0 and "245 hours" in done.stderr or "246 hours" in done.stderr, done.output
    series = weatherfile.load(tmp_path / "room.csv")
    assert series.indoors and series.columns["temp_c"][0] == 21.0
    words = rigfile.DEFAULT_RIG.read_text(encoding="utf-8")
    (tmp_path / "rig.toml").write_text(
        words.replace('data = "greensboro"', 'weather = "room.csv"').replace('start = "2026-06-01"', "")
    )
    rig = rigfile.load_rig(tmp_path / "rig.toml")
    assert rig.rig["start"] == "2026-11-26" and setting.make_climate(rig).at(0.0).temp_c == 21.0


def test_a_name_that_will_not_do_is_told(kept, tmp_path):
    done = CliRunner().invoke(cli.cli, ["logs", "climate", str(tmp_path / "room.txt")])
    assert done.exit_code == 2 and "name it room.csv" in done.stderr
