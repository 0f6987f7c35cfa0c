"""Reading and exporting pulled logs: honest about time, about gaps, whatever the bytes are."""

import csv
import io
import json
import sys

import made
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import reasons, record, segments, state
from potreeve_tools.link import logs_export, logs_read, logs_show, status_view
from potreeve_tools.terminal import exits


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A memory: 100 wakes without a clock, then 50 with one."""
    folder = tmp_path_factory.mktemp("log") / "001"
    life = made.Life(folder).wake(100)
    life.utc_s = 1795600000
    life.wake(50)
    return folder


def test_wall_time_is_empty_where_it_was_not_known(folder):
    rows, gaps = logs_read.read([folder])
    assert gaps == [] and len(rows) == 150
    lines = list(csv.DictReader(io.StringIO(logs_export.to_csv(rows, made.POTS).decode())))
    assert len(lines) == 450
    assert {line["time_utc"] for line in lines[:300]} == {""}
    assert lines[300]["time_utc"] == "2026-11-25T10:16:40Z"
    assert lines[297]["proven_s"] == str(99 * 1800)
    assert all(not line["time_utc"].startswith(("1970", "2000", "2021")) for line in lines)
    assert lines[1]["pot"] == "strawberry" and lines[1]["channel"] == "1"


def test_json_lines_say_null(folder):
    rows, _ = logs_read.read([folder])
    lines = [json.loads(line) for line in logs_export.to_json_lines(rows, made.POTS).splitlines()]
    assert lines[0]["time_utc"] is None and lines[0]["last_pulse_ran_ms"] is None
    assert lines[-1]["battery_mv"] == 3900 and lines[-1]["temperature_cdeg"] == 2100


def test_parquet_reads_back_the_same(folder):
    parquet = pytest.importorskip("pyarrow.parquet")
    rows, _ = logs_read.read([folder])
    table = parquet.read_table(io.BytesIO(logs_export.to_parquet(rows, made.POTS)))
    assert table.column_names == list(logs_export.COLUMNS)
    back = table.to_pylist()
    told = list(logs_export.flat(rows, made.POTS))
    assert len(back) == len(told)
    for one, other in zip(back, told):
        time = one.pop("time_utc")
        assert (time.strftime("%Y-%m-%dT%H:%M:%SZ") if time else None) == other["time_utc"]
        assert one == {key: value for key, value in other.items() if key != "time_utc"}


def test_without_pyarrow_it_says_what_to_install(folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    rows, _ = logs_read.read([folder])
    with pytest.raises(exits.Stop) as stop:
        logs_export.to_parquet(rows, made.POTS)
    assert "potreeve[parquet]" in stop.value.lines[0]


def test_every_column_with_a_quantity_has_its_unit():
    plain = {
        "memory",
        "segment",
        "seq",
        "channel",
        "pot",
        "rung",
        "reason",
        "cause",
        "button",
        "usb",
        "rig_hold",
        "memory_lost",
        "alarm",
        "errors",
        "tray_sensor",
        "tub_mark",
        "tub_note",
    }
    units = ("_utc", "_s", "_pm", "_counts", "_ms", "_ul", "_mv", "_d", "_cdeg", "_lx", "_ml")
    assert all(column in plain or column.endswith(units) for column in logs_export.COLUMNS)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """(bytes of a segment of twelve wakes, its rows by sequence number)."""
    folder = tmp_path_factory.mktemp("short") / "001"
    made.Life(folder).wake(12)
    data = (folder / segments.name(1)).read_bytes()
    return data, {row.head["seq"]: row for row in logs_read.read([folder])[0]}


def spoiled(data, spots, cut):
    data = bytearray(data)
    for place, value in spots:
        data[place % len(data)] = value
    return bytes(data[: len(data) - cut % (len(data) + 1)])


@settings(max_examples=3000, deadline=None)
@given(
    spots=st.lists(st.tuples(st.integers(0, 1 << 20), st.integers(0, 255)), max_size=12), cut=st.integers(0, 1 << 20)
)
def test_spoiled_segments_never_break_it_and_never_pass_for_whole(whole, spots, cut):
    good, true = whole
    data = spoiled(good, spots, cut)
    rows, gaps = [], []
    logs_read._read_segment(data, (1, 1), None, rows, gaps)
    assert all(row.head == true[row.head["seq"]].head and row.pots == true[row.head["seq"]].pots for row in rows)
    # Only an end that falls between two records can't be told from a log that ends there.
    ends_early = (
        good.startswith(data)
        and (len(data) - segments.HEAD_BYTES) % record.RECORD_BYTES == 0 <= len(data) - segments.HEAD_BYTES
    )
    assert gaps or ends_early
    logs_export.to_csv(rows[:3], made.POTS)
    status_view.records(data[-500:])


@settings(max_examples=2000, deadline=None)
@given(data=st.binary(max_size=4000))
def test_noise_gives_no_rows(data):
    rows, gaps = [], []
    logs_read._read_segment(data, (1, 1), None, rows, gaps)
    assert rows == []
    assert status_view.records(data) == []


def test_times_before_the_first_known_moment_are_reckoned_and_said_to_be(folder):
    rows, _ = logs_read.read([folder])
    reckoned = logs_read.reckoned(rows)
    first = rows[100].head
    assert reckoned[100:] == [0] * 50
    assert reckoned[0] == first["utc_s"] - (first["up_s"] - rows[0].head["up_s"]) == first["utc_s"] - 100 * 1800
    lines = list(csv.DictReader(io.StringIO(logs_export.to_csv(rows, made.POTS).decode())))
    assert lines[0]["time_utc"] == "" and lines[0]["time_reckoned_utc"].startswith("2026-11-23T")
    assert lines[-1]["time_reckoned_utc"] == ""
    shown = logs_show.lines(list(zip(rows, reckoned))[98:102], made.POTS)
    assert shown[1].startswith("~11-25 ") and shown[3].startswith("11-25 10:16")


def test_what_comes_after_the_last_known_moment_is_reckoned_on_from_it(folder):
    rows, _ = logs_read.read([folder])
    lost = [*rows[:149], rows[149]._replace(head={**rows[149].head, "utc_s": 0})]
    assert logs_read.reckoned(lost)[149] == rows[148].head["utc_s"] + rows[149].head["up_s"] - rows[148].head["up_s"]
    other = [rows[0], rows[149]._replace(memory=2)]
    assert logs_read.reckoned(other) == [0, 0], "another memory has another count"


def test_one_line_per_wake_at_80_columns(folder):
    rows, _ = logs_read.read([folder])
    pot = {**rows[0].pots[0], "pm": 1000, "pulse_ms": 29_400, "ladder": state.HELD, "reason": 20}
    crowded = [
        row._replace(head={**row.head, "errors": 0xFFFF, "hold": 50, "memory": 1, "tray_ml": 20000}, pots=[pot] * 4)
        for row in rows[:3]
    ]
    names = ("cherry tomato", "strawberry", "mint", "a pot of 16 char")
    for chosen in (rows, crowded):
        lines = logs_show.lines(list(zip(chosen, logs_read.reckoned(chosen))), names)
        assert len(lines) == len(chosen) + 1 and max(map(len, lines)) <= 80
    assert "1000 H +29s" in lines[1]


def test_a_probe_never_calibrated_reads_as_not_known(folder):
    rows, _ = logs_read.read([folder])
    pot = {**rows[0].pots[0], "pm": 0, "ladder": state.HELD, "reason": reasons.NOT_CALIBRATED}
    quiet = {**rows[0].head, "memory": 0, "cause": 2, "hold": 0, "errors": 0}
    bare = [rows[0]._replace(head=quiet, pots=[pot, rows[0].pots[1]])]
    line = logs_show.lines([(bare[0], 0)], made.POTS[:2])[1]
    assert " ? H " in line and "not calibrated (mint)" in line and "0 ‰" not in line
    told = list(logs_export.flat(bare, made.POTS))
    assert told[0]["moisture_pm"] is None and told[1]["moisture_pm"] is not None
