"""What fails in a wake stands in a record, even where it failed too late for that wake's own."""

import pytest
from fake_rig import records, thirsty
from potreeve import app
from potreeve.logic import errors, ledger, record, recorded, segments


def fail(*args):
    raise OSError(5)


def one_boot(rig, cause):
    """A wake of a board that forgets everything afterwards."""
    rig.power.cause = cause
    session = app.Session(rig)
    session.sleep(session.wake())


@pytest.mark.parametrize(
    "part, call, bit",
    [("radio", "report", errors.RADIO), ("panel", "led", errors.PANEL), ("pumps", "pulse", errors.PUMP)],
)
def test_a_late_failure_survives_a_reset(part, call, bit):
    rig = thirsty()
    adapter = getattr(rig, part)
    working = getattr(adapter, call)
    setattr(adapter, call, fail)
    one_boot(rig, 2)
    setattr(adapter, call, working)
    one_boot(rig, 2)
    one_boot(rig, 2)
    told = [head["errors"] for head, _ in records(rig)]
    assert told[0] == 0 and told[1] & bit and told[2] == 0


def test_without_failures_the_ledger_is_written_once():
    rig = thirsty()
    # So wet that none is due: a pulse would be noted in a second write, with what came of it.
    rig.pms = [950, 950]
    one_boot(rig, 2)
    assert not rig.pulses()
    assert len([event for event in rig.events if event[0] == "write" and event[1] in ledger.SLOTS]) == 1


def test_a_record_says_itself_that_the_ledger_before_it_failed():
    rig = thirsty()
    rig.store.fails = lambda count, call, name: call == "write"
    one_boot(rig, 2)
    assert [head["errors"] for head, _ in records(rig)] == [errors.NOT_KEPT]
    assert not rig.pulses()


def test_a_record_stored_by_a_call_that_then_complains_is_not_stored_twice():
    rig = thirsty()
    one_boot(rig, 2)
    append = rig.store.append

    def late(name, data):
        append(name, data)
        raise OSError(5)

    rig.store.append = late
    one_boot(rig, 2)
    assert [head["seq"] for head, _ in records(rig)] == [0, 1]


def test_settings_that_could_not_be_read_for_a_while_are_told_of():
    rig = thirsty()
    rig.store.fails = lambda count, call, name: call == "read" and name.startswith("settings")
    session = app.Session(rig)
    session.sleep(session.wake())
    rig.store.fails = lambda count, call, name: False
    session.wake()
    assert [head["errors"] for head, _ in records(rig)] == [errors.SETTINGS]


def test_with_errors_changes_nothing_else():
    rig = thirsty()
    one_boot(rig, 2)
    line = rig.store.files["log.000001"][segments.HEAD_BYTES :]
    head, pots = recorded.decode(line)
    marked_head, marked_pots = recorded.decode(record.with_errors(line, errors.NOT_KEPT | errors.RADIO))
    assert marked_head == {**head, "errors": errors.NOT_KEPT | errors.RADIO}
    assert marked_pots == pots
