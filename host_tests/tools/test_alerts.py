"""From records to alerts; every number of the firmware has its sentence."""

from potreeve.logic import errors, reasons
from potreeve.logic.state import HELD, RATIONED, TENDED
from potreeve_tools.rehearsal import summary
from potreeve_tools.words import alerts
from potreeve_tools.words import sentences as words
from rich.console import Console


def row(t_s, *pots, hold=0, memory=0, error=0, tub=(0, 255)):
    head = {"hold": hold, "memory": memory, "errors": error, "tub_note": tub[0], "tub_days": tub[1]}
    return t_s, head, [{"ladder": ladder, "reason": reason} for ladder, reason in pots]


def told(*rows, calm_until_s=0):
    return [(a["t_s"], a["pot"], a["kind"]) for a in alerts.from_records(rows, ["mint", "thyme"], calm_until_s)]


OK = (TENDED, 0)


def test_nothing_to_tell():
    assert told(row(0, OK, OK), row(10, OK, OK)) == []


def test_one_per_change_of_rung():
    out = (RATIONED, reasons.OUT_OF_SOIL)
    assert told(row(0, OK, OK), row(10, OK, out), row(20, OK, out), row(30, OK, OK)) == [
        (10, "thyme", "rung"),
        (30, "thyme", "rung"),
    ]


def test_a_rung_says_why_and_what_to_do():
    found = alerts.from_records([row(0, (HELD, reasons.NO_RISE), OK)], ["mint", "thyme"])[0]
    assert found["what"].startswith("Held, no water: pulse after pulse") and found["what"].endswith(".")
    assert "reservoir" in found["do"]


def test_notes_come_once_a_day():
    note = (TENDED, reasons.RIG_DAY)
    rows = [row(hour * 3600, note if hour % 2 else OK, OK) for hour in range(50)]
    assert [t_s // 86400 for t_s, _, kind in told(*rows)] == [0, 1, 2]


def test_another_reason_on_the_same_rung_is_a_note():
    found = told(row(0, (RATIONED, reasons.NOISY), OK), row(9, (RATIONED, reasons.BROKEN), OK))
    assert found == [(0, "mint", "rung"), (9, "mint", "note")]


def test_hold_memory_and_devices():
    found = told(
        row(0, OK, OK, memory=1),
        row(1, OK, OK, hold=reasons.REBOOTS),
        row(2, OK, OK, error=errors.CLIMATE),
        row(3, OK, OK, error=errors.CLIMATE),
    )
    assert found == [
        (0, None, "memory"),
        (1, None, "memory"),
        (1, None, "hold"),
        (2, None, "hold"),
        (2, None, "device"),
    ]


def test_what_passes_under_the_owners_eyes_is_not_told():
    setting_up = [row(0, OK, OK, memory=1), row(60, OK, OK, hold=reasons.OWNER, memory=1)]
    assert told(*setting_up, row(180, OK, OK), row(900, OK, OK), calm_until_s=600) == []
    assert told(*setting_up, row(900, OK, OK, hold=reasons.OWNER, memory=1), calm_until_s=600) == [
        (60, None, "memory"),
        (60, None, "hold"),
    ]
    assert told(*setting_up, calm_until_s=600) == [(60, None, "memory"), (60, None, "hold")]


def numbers(module, but=()):
    return {
        value for name, value in vars(module).items() if name.isupper() and isinstance(value, int) and name not in but
    }


def test_every_reason_and_error_has_words():
    assert numbers(reasons, but=("NONE",)) == set(words.WHY)
    assert numbers(errors) == set(words.ERRORS)
    for what, do in [*words.WHY.values(), *words.ERRORS.values(), words.MEMORY]:
        assert what and do and not what.endswith(".") and not do.endswith(".")


def test_a_number_from_a_newer_firmware_does_no_harm():
    found = alerts.from_records([row(0, (HELD, 251), OK)], ["mint", "thyme"])[0]
    assert "251" in found["what"]


def test_what_says_the_same_is_told_once_and_what_matters_comes_first():
    days = [row(day * 86400, (TENDED, reasons.RIG_DAY), OK) for day in range(30)]
    rows = [*days, row(30 * 86400, (HELD, reasons.NO_RISE), OK), row(31 * 86400, OK, OK)]
    found = alerts.from_records(rows, ["mint", "thyme"])
    groups = alerts.grouped(found)
    assert len(found) > 30 and len(groups) == 3
    assert [group["level"] for group in groups] == ["call", "calm", "calm"]
    assert groups[0]["what"].startswith("Held, no water") and groups[0]["count"] == 1
    assert groups[1]["count"] == 30
    assert (groups[1]["first"]["t_s"], groups[1]["last"]["t_s"]) == (0, 29 * 86400)
    assert sum(group["count"] for group in groups) == len(found)


def test_the_terminal_shows_what_is_calm_below_the_alerts(capsys):
    one = {"pot": "mint", "kind": "note", "do": "", "count": 1, "first_day": 3, "last_day": 3}
    calm = {**one, "level": "calm", "what": "used up"}
    summary.alerts(Console(width=90), [calm])
    first, said = capsys.readouterr().out.split(f"{alerts.CALM}:")
    assert first.startswith("No alerts.") and "used up" in said
    summary.alerts(Console(width=90), [{**one, "level": "note", "what": "leaks"}, calm])
    first, said = capsys.readouterr().out.split(f"{alerts.CALM}:")
    assert "leaks" in first and "No alerts" not in first and "used up" in said and "leaks" not in said


def test_the_terminal_shows_groups_with_their_days():
    one = {"count": 1, "first_day": 3, "last_day": 3}
    assert summary._days(one) == "3"
    assert summary._days({**one, "count": 2}) == "3 ×2"
    assert summary._days({"count": 96, "first_day": 3, "last_day": 90}) == "3–90 ×96"


def test_what_the_tub_asks_for_is_told_once_a_day_as_loud_as_the_rig_says_it():
    low, leak = reasons.TUB_LOW, reasons.TUB_LEAK
    rows = [
        row(at, OK, tub=told) for at, told in ((0, (low, 6)), (60, (low, 6)), (90000, (low, 3)), (90060, (leak, 9)))
    ]
    found = alerts.from_records(rows, ["mint"])
    assert [(one["t_s"], one["pot"], one["kind"], one["level"]) for one in found] == [
        (0, None, "note", "note"),
        (90000, None, "note", "call"),
        (90060, None, "note", "call"),
    ]
    assert "fill the tub" in found[0]["do"] and "leaks" in found[2]["what"]
