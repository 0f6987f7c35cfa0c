"""A board that was sent no extras, and meets what a board with them has left."""

import sys

import kit
from potreeve import logic
from potreeve.logic import extra, extra_keys, outbox, record, settings, settings_help
from potreeve_tools.station import messages


def _without(monkeypatch, name):
    monkeypatch.setitem(sys.modules, f"potreeve.logic.{name}", None)
    monkeypatch.delattr(logic, name, raising=False)


def test_settings_with_their_tables_pass(monkeypatch):
    _without(monkeypatch, "extra_keys")
    checked, faults = settings.check(kit.make_data(1, tray_sensor={"colour": 5}))
    assert faults == [] and "tray_sensor" not in checked


def test_every_key_of_a_table_is_explained_and_nothing_else():
    assert set(settings_help.EXTRA_HELP) == {row[0] for rows in extra_keys.TABLES.values() for row in rows}
    assert all(settings_help.EXTRA_HELP.values())
    assert tuple(extra_keys.TABLES) == settings.EXTRAS


def test_a_report_tells_of_extras_only_where_there_are_any():
    head = (1, 7, 8, 9, 10, 11, 3, 2, 3900, 2100, 450, 800, 0, 1800, 56, 2, 0, 900, 30, 40, 0)
    line = record.encode(head, [(30000, 40, 65535, 3800, 800, 0, 0, 0, 0)])
    what = extra.fresh()
    what.tub_days = 6
    made = extra.in_record(line, kit.make_readings([800], tray_wet=record.TRAY_WET, tub_mark=2), what)
    told = outbox.report(made, "sill", 5, 600, ["mint"], "0.1.0")
    assert (told["tray_sensor"], told["tub_left_d"], told["alarm"], told["memory_lost"]) == (2, 5, 2, 0)
    plain = outbox.report(line, "sill", 5, 600, ["mint"], "0.1.0")
    assert set(told) - set(plain) == {"tray_sensor", "tub_left_d"}
    for body in (told, plain):
        messages.load("report", messages.dump(body))
