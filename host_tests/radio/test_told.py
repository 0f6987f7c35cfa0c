"""Rehearsed rigs tell a real mosquitto, over TCP and TLS; the plants do not notice."""

import json

import pytest
from listener import Listener
from potreeve.logic import dosing, recorded

BOARDS = ("rp2040_wifi", "esp32", "latched")


def pulses(session):
    """When each pump ran and for how long: true seconds to the millisecond."""
    return [(round(pulse.t_s, 3), pulse.channel, pulse.ms, pulse.actual_ms) for pulse in session.pulses]


@pytest.mark.parametrize("board", BOARDS)
def test_every_record_arrives_once_and_the_plants_drink_as_without_a_radio(room, broker, board):
    plain = room.plain(board, 2)
    with Listener(broker.port) as listener:
        told = room.with_radio(board, 2, broker.port, air={"free": True})
    assert pulses(plain) and pulses(told) == pulses(plain)
    assert len({boot for boot, _, _ in listener.rows}) == 1 and listener.twice == 0
    heard = [row for _, row in sorted(listener.rows.items())]
    # What came after the last report is still on its way.
    assert heard == told.records[: len(heard)] and len(told.records) - len(heard) <= 3
    assert len(listener.reports) >= 44 and not listener.lost
    assert not any(recorded.decode(row)[0]["errors"] for row in heard)


def test_tls_with_the_certificate_checked(room, secured):
    with Listener(secured.plain_port) as listener:
        told = room.with_radio("rp2040_wifi", 1, secured.port, ca=secured.ca, broker_tls=True)
    heard = [row for _, row in sorted(listener.rows.items())]
    assert len(heard) > 40 and heard == told.records[: len(heard)] and listener.twice == 0


def test_a_report_says_what_the_record_says_and_promises_the_next(room, broker):
    with Listener(broker.port) as listener:
        told = room.with_radio("rp2040_wifi", 1, broker.port, send_s=7200)
    report = listener.reports[-1]
    rows = [recorded.decode(row) for row in told.records]
    head, pots = next(row for row in rows if row[0]["seq"] == report["seq"])
    assert report["v"] == 1 and report["rig"] == "sill" and report["proven_s"] == head["up_s"]
    assert report["battery_mv"] == head["battery_mv"] and report["tray_most_ml"] == head["tray_ml"]
    assert [pot["moisture_pm"] for pot in report["pots"]] == [pot["pm"] for pot in pots]
    assert [pot["pot"] for pot in report["pots"]] == ["mint", "strawberry", "cherry tomato"]
    assert 3 * 7200 < report["due_s"] <= 604800
    gaps = [
        later["proven_s"] - one["proven_s"] for one, later in zip(listener.reports, listener.reports[1:], strict=False)
    ]
    assert gaps and max(gaps) <= report["due_s"] // 2 and min(gaps) >= 7200
    assert all(isinstance(value, (int, str, list, type(None))) for value in report.values())
    assert len(json.dumps(report)) < 1000


@pytest.mark.parametrize("board", BOARDS)
def test_what_the_rig_is_stands_before_its_reports_once(room, broker, board):
    """Again only where it may not be known: for a station whose store is new."""
    with Listener(broker.port) as listener:
        heard = []

        def forget():
            (boot,) = listener.ends
            listener.rows.clear()
            listener.ends[boot] = (0, 0)
            listener.acknowledge(boot)

        def on_day(day):
            heard.append(len(listener.abouts))
            if day == 1:
                listener.soon.append(forget)

        told = room.with_radio(board, 2, broker.port, air={"free": True, "scale": 50}, on_day=on_day)
        (boot,) = listener.ends
    about = listener.abouts[0]
    # The first connection hears of no station yet. A day has 24 of them, which follow one another within milliseconds
    # here: the one after the first that a new station hears of may come before its answer.
    assert heard[0] == 1 and heard[1] in (2, 3) and all(one == about for one in listener.abouts)
    assert (about["v"], about["rig"], about["boot"], about["board"]) == (1, "sill", boot, board)
    assert about["name"] == told.checked["name"] and about["interval_s"] == 3600
    assert about["firmware"] == listener.reports[0]["firmware"]
    channels = told.checked["channels"]
    assert about["pots"] == [
        {
            "pot": one["name"],
            "plant": one["plant"],
            "refill_pm": dosing.refill_point_pm(one),
            "stress_pm": dosing.stress_point_pm(one),
        }
        for one in channels
    ]


@pytest.mark.parametrize("board", BOARDS)
def test_the_radio_s_charge_is_in_the_books(room, broker, board):
    """A rig that sends believes that more was used; what the world's battery gave says the same."""
    with Listener(broker.port):
        told = room.with_radio(board, 2, broker.port, send_s=600)
    plain = room.plain(board, 2)
    assert told.air_ms > 40_000
    awake = [sum(recorded.decode(row)[0]["awake_ms"] for row in session.records) for session in (plain, told)]
    energy = told.board["energy"]
    on_air_uah = told.air_ms * energy["report_uah"] // 4000
    booked_uah = (awake[1] - awake[0]) * (energy["active_ua"] + energy["probe_ua"]) // 3_600_000
    # The time itself, awake, and what the radio drew on top; the last connection is booked in the wake to come.
    assert booked_uah >= on_air_uah * 95 // 100
    awake_uah = told.air_ms * (energy["active_ua"] + energy["probe_ua"]) // 3_600_000
    # Each connection counts in whole seconds.
    assert booked_uah <= (on_air_uah + awake_uah) * 150 // 100
