"""A ledger slot that can't be read, or is spoilt, may have held the newest state: then the day counts as given (W9)."""

import kit
import pytest
from fake_rig import FakeRig
from potreeve import app, keep
from potreeve.logic import errors, ledger, limits, record, recorded, segments

SPOILT = b"\x00" * ledger.SLOT_BYTES


def rig_with_history():
    """Slot a: an old state with nothing given; slot b, newer: 20 ml charged to the first pot, its intent open."""
    rig = FakeRig(2, kit.make_data(2), cause=4)
    rig.pms = [500, 850]
    rig.keep_state(kit.make_state(2), number=7, slot=0)
    newer = kit.make_state(2)
    limits.spend(newer.pots[0], 20000)
    newer.pots[0].intent_ms = 900
    rig.keep_state(newer, number=8, slot=1)
    return rig


def unreadable(rig, *names):
    rig.store.fails = lambda count, call, name: call == "read" and name in names


def last_record(rig):
    number = max(segments.numbers(rig.store.files))
    return recorded.decode(rig.store.files[segments.name(number)][-record.RECORD_BYTES :])


def damage(rig, slots, how):
    if how == "unreadable":
        unreadable(rig, *slots)
    else:
        for name in slots:
            rig.store.files[name] = SPOILT


@pytest.mark.parametrize("how", ["unreadable", "spoilt"])
@pytest.mark.parametrize("slots", [("ledger.b",), ("ledger.a", "ledger.b")], ids=["newest", "both"])
def test_no_water_on_the_word_of_an_older_slot(slots, how):
    rig = rig_with_history()
    damage(rig, slots, how)
    session = app.Session(rig)
    session.wake()
    assert not rig.pulses()
    for index, pot in enumerate(session.state.pots):
        assert limits.spent_ul(pot) >= session.settings["channels"][index]["day_ml"] * 1000
    head, _ = last_record(rig)
    assert head["errors"] & errors.LEDGER
    assert head["memory"] == 1


@pytest.mark.parametrize("slots", [("ledger.a",), ("ledger.b",), ("ledger.a", "ledger.b")])
def test_a_slot_that_was_unreadable_once_never_comes_back_as_the_newest(slots):
    """The power goes after each of the first stores that follow; what is read then knows of the full day."""
    for cut_after in range(1, 5):
        rig = rig_with_history()
        unreadable(rig, *slots)
        kept = keep.Ledger(rig.store)
        state = kept.load(2)
        state.rig.memory = 1
        limits.fill_day(state.pots, kit.make_settings(2))
        writes = []
        rig.store.fails = lambda count, call, name: (
            writes.append(call) or len(writes) > cut_after if call in ("write", "remove") else False
        )
        kept.save(state)
        rig.store.fails = lambda count, call, name: False
        after = keep.Ledger(rig.store).load(2)
        spent_ul = limits.spent_ul(after.pots[0])
        # The full day; the newest state itself; or nothing at all, which counts as a full day in the next step.
        assert spent_ul >= 20000 or after.rig.memory == 2, (slots, cut_after)


def test_an_empty_slot_is_no_damage():
    """The file of a first write that the power cut before it was closed."""
    rig = FakeRig(2, kit.make_data(2))
    rig.keep_state(kit.make_state(2), number=1, slot=0)
    rig.store.files["ledger.b"] = b""
    kept = keep.Ledger(rig.store)
    assert kept.load(2).rig.memory == 0
    assert not kept.damaged
