"""Outages: nothing lost, nothing doubled, whatever stops in whatever moment. The guarantee, and the test that would
break it:

A record leaves the board's queue only when the station says that it holds it (test_a_broker_s_word_is_no_proof).
"""

import pytest
from listener import Listener, Proxy
from network import Broker
from test_told import pulses

QUICK = {"free": True, "scale": 50}


def sent(listener):
    return [row for _, row in sorted(listener.rows.items())]


def test_three_weeks_without_a_broker(room, tmp_path):
    """Everything arrives within a day and a half of its return, in order, once."""
    broker = Broker(tmp_path)
    heard = []

    def on_day(day):
        if day == 22:
            broker.start()
            heard.append(Listener(broker.port).__enter__())

    session = room.with_radio("rp2040_wifi", 24, broker.port, air=QUICK, on_day=on_day)
    broker.stop()
    (listener,) = heard
    listener.over = True
    rows = sent(listener)
    assert len(session.records) > 900 and rows == session.records[: len(rows)]
    assert len(session.records) - len(rows) <= 3 and listener.other == 0
    assert len({boot for boot, _, _ in listener.rows}) == 1


def test_a_broker_s_word_is_no_proof(room, tmp_path):
    """Its access list refuses the log, and it acknowledges all the same: nothing leaves the queue."""
    acl = "user sill\ntopic read potreeve/sill/ack\ntopic write potreeve/sill/report\nuser station\ntopic readwrite #\n"
    heard = {}
    for trust in ("station", "broker"):
        folder = tmp_path / trust
        folder.mkdir()
        broker = Broker(folder, acl=acl).start()
        first = Listener(broker.port).__enter__()
        told = []

        def on_day(day, broker=broker, first=first, told=told, folder=folder):
            if day == 1:
                # The owner mends the list.
                told.append(len(first.rows))
                (folder / "acl").write_text(
                    "user sill\ntopic readwrite potreeve/sill/#\nuser station\ntopic readwrite #\n"
                )
                broker.process.send_signal(1)

        session = room.with_radio("rp2040_wifi", 2, broker.port, air=QUICK, on_day=on_day, trust=trust)
        first.over = True
        broker.stop()
        assert told == [0] and first.reports
        heard[trust] = len(session.records) - len(sent(first))
    assert heard["station"] <= 3
    # Who takes the broker's word loses that day.
    assert heard["broker"] > 40


def test_a_station_that_is_silent_for_days_and_one_that_lost_its_store(room, broker):
    with Listener(broker.port, answers=False) as listener:

        def on_day(day):
            if day == 2:
                assert len(listener.rows) == 8  # one piece, again and again
                listener.answers = True
            if day == 4:
                # Its store is gone; it says so.
                (boot,) = listener.ends
                listener.rows.clear()
                listener.ends[boot] = (0, 0)
                listener.acknowledge(boot)

        session = room.with_radio("rp2040_wifi", 6, broker.port, air=QUICK, on_day=on_day)
        rows = sent(listener)
    assert rows == session.records[: len(rows)] and len(session.records) - len(rows) <= 3
    assert listener.twice > 100 and listener.other == 0


@pytest.mark.parametrize("after", [0, 4, 5, 9, 11, 13, 40, 60, 100])
def test_a_connection_that_breaks_after_so_many_bytes_of_the_broker_s_words(room, broker, after):
    with Listener(broker.port) as listener, Proxy(broker.port, "half", after=after) as proxy:

        def on_day(day):
            if day == 1:
                proxy.how = ""

        session = room.with_radio("rp2040_wifi", 2, proxy.port, air=QUICK, on_day=on_day)
        rows = sent(listener)
    assert rows == session.records[: len(rows)] and len(session.records) - len(rows) <= 3
    assert listener.other == 0
    # Each that broke off after it had begun is told by the broker: the will.
    assert listener.lost and all(told.keys() == {"v", "rig", "boot"} for told in listener.lost)
    assert {told["boot"] for told in listener.lost} == {boot for boot, _, _ in listener.rows}


def test_a_broker_killed_with_what_it_had(room, tmp_path):
    """Killed three times, its store with it; who listens was away meanwhile."""
    broker = Broker(tmp_path).start()
    listener = Listener(broker.port).__enter__()

    def on_day(day):
        broker.kill()
        broker.start()

    session = room.with_radio("rp2040_wifi", 4, broker.port, air=QUICK, on_day=on_day)
    listener.over = True
    broker.stop()
    found = sent(listener)
    assert found == session.records[: len(found)] and len(session.records) - len(found) <= 3 and listener.other == 0


@pytest.mark.parametrize(
    "said",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"boot":BOOT}',
        b'{"boot":BOOT,"segment":999999,"byte":668}',
        b'{"boot":BOOT,"segment":1,"byte":669}',
        b'{"boot":BOOT,"segment":-1,"byte":-1,"time_s":-1}',
        b'{"boot":BOOT,"segment":"1","byte":[],"time_s":1e99}',
        b'{"boot":BOOT,"segment":true,"byte":true,"time_s":true}',
        b'{"water_ml":5000,"pulse_ms":99999,"ack":1,"settings":{"rig_day_ml":5000}}',
        b"\xff\xfe\x00" * 100,
        b"{" * 400,
        b"x" * 3000,
    ],
)
def test_whatever_is_said_to_a_board_moves_no_water_and_loses_no_record(room, broker, said):
    """W8, and the queue: an answer that makes no sense is none."""
    with Listener(broker.port) as listener:
        plain = listener.acknowledge

        def acknowledge(boot, place=None):
            listener.client.publish("potreeve/sill/ack", said.replace(b"BOOT", str(boot).encode()), 1)

        def on_day(day):
            if day == 1:
                listener.acknowledge = plain

        listener.acknowledge = acknowledge
        session = room.with_radio("rp2040_wifi", 2, broker.port, air=QUICK, on_day=on_day)
        rows = sent(listener)
    assert pulses(session) == pulses(room.plain("rp2040_wifi", 2))
    assert rows == session.records[: len(rows)] and len(session.records) - len(rows) <= 41
