"""A planted difference must be found at its first step and shown with both states."""

import shutil

from compare import at_record, explain, first_difference, make_session, run_tapped
from potreeve_tools.rehearsal import engines

NAMES = ("cpython", "micropython")


def test_a_planted_difference_is_shown(tmp_path):
    """A firmware whose day of water is shorter differs in its state first, and in a record a day later."""
    planted = tmp_path / "planted"
    shutil.copytree(engines.FIRMWARE, planted, ignore=shutil.ignore_patterns("__pycache__"))
    file = planted / "potreeve" / "logic" / "limits.py"
    text = file.read_text()
    assert "BUCKET_S = 7320" in text
    file.write_text(text.replace("BUCKET_S = 7320", "BUCKET_S = 7000"))
    left = run_tapped(make_session("rp2040_wifi", 1, days=2), NAMES[0], tmp_path)
    right = run_tapped(make_session("rp2040_wifi", 1, days=2), NAMES[1], tmp_path, firmware=planted)
    records = [[what for kind, what in told if kind == "record"] for told in (left, right)]
    states = [[what for kind, what in told if kind == "state"] for told in (left, right)]
    assert all(states[0]) and all(states[1])
    index = first_difference(*records)
    assert index is not None and index > 0
    shown = explain(index, NAMES, (left, right))
    assert f"part at step {index}" in shown
    lines = shown.splitlines()
    record_part = lines[: next(at for at, line in enumerate(lines) if line.startswith("state before"))]
    assert any("<- differs" in line for line in record_part)
    after = lines[next(at for at, line in enumerate(lines) if line.startswith("state after")) :]
    assert any("rig.bucket_s" in line and "<- differs" in line for line in after)
    # The step before is alike in its record.
    assert at_record(left, index - 1)[2] == at_record(right, index - 1)[2]


def test_where_two_runs_part():
    assert first_difference([b"a", b"b"], [b"a", b"b"]) is None
    assert first_difference([b"a", b"b"], [b"a", b"c"]) == 1
    assert first_difference([b"a"], [b"a", b"c"]) == 1
    assert first_difference([], []) is None


def test_a_run_that_ends_early_is_shown():
    shown = explain(0, NAMES, ([("record", b"torn")], []))
    assert "not a whole record" in shown
    assert "none" in shown
