"""A board that was sent no extras, and meets what a board with them has left."""

import sys

import kit
from potreeve import logic
from potreeve.logic import extra_keys, settings, settings_help


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
