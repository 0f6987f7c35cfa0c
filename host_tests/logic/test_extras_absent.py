"""A board that was sent no extras, and meets what a board with them has left."""

import sys

import kit
from potreeve import logic
from potreeve.logic import extra, extra_keys, settings, settings_help, state


def _without(monkeypatch, name):
    monkeypatch.setitem(sys.modules, f"potreeve.logic.{name}", None)
    monkeypatch.delattr(logic, name, raising=False)


def test_a_state_with_extras_is_read_without_them(monkeypatch):
    made = kit.make_state(2, seq=7)
    made.extra = extra.fresh()
    data = state.sealed(7, 2, 3, made)
    _without(monkeypatch, "extra")
    number, read = state.unsealed(data, 7, 2)
    assert (number, read.rig.seq, read.extra) == (3, 7, None)


def test_settings_with_their_tables_pass(monkeypatch):
    _without(monkeypatch, "extra_keys")
    checked, faults = settings.check(kit.make_data(1, tray_sensor={"colour": 5}))
    assert faults == [] and "tray_sensor" not in checked


def test_every_key_of_a_table_is_explained_and_nothing_else():
    assert set(settings_help.EXTRA_HELP) == {row[0] for rows in extra_keys.TABLES.values() for row in rows}
    assert all(settings_help.EXTRA_HELP.values())
    assert tuple(extra_keys.TABLES) == settings.EXTRAS
