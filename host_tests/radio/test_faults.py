"""Whatever is wrong with the network: bounded in time and charge, the same pulses on the same seconds, and it is told.

`python -m pytest host_tests/radio/test_faults.py` compares the table of the station's guide with what it measures, and
with POTREEVE_TABLES=1 writes it anew.
"""

import datetime
import os
import re
import ssl
from pathlib import Path

import pytest
from listener import Proxy
from network import Broker, certificates
from potreeve.logic import errors, outbox, recorded
from potreeve_tools import station
from potreeve_tools.settings import judge
from test_told import pulses

GUIDE = Path(station.__file__).parent / "README.md"
DAYS = 2
# A real millisecond of waiting is so many of the rig: with more, a busy machine would show in the figures.
QUICK = {"free": True, "scale": 30}

# A connection may be begun just before the time is up, and then waits for the port's own limit (hal/radio.py).
MOST_MS = outbox.MOST_MS + outbox.ACK_MS + 4000

# What is wrong -> settings, air, what the proxy does ("-": none needed)
FAULTS = {
    "wrong key of the network": ({"wifi_key": "not the right one"}, {}, "-"),
    "no access point": ({}, {"ssid": ""}, "-"),
    "joining never ends": ({}, {"mute": True}, "-"),
    "no route": ({"broker_host": "255.255.255.255"}, {}, "-"),
    "nobody at that address": ({"broker_host": "192.0.2.1"}, {}, "-"),
    "refused": ({}, {}, None),
    "wrong password": ({"broker_key": "wrong"}, {}, ""),
    "hangs up at once": ({}, {}, "closes"),
    "accepts and says nothing": ({}, {}, "mute"),
    "one byte a second": ({}, {}, "drip"),
    "an oversized packet": ({}, {}, "huge"),
    "noise": ({}, {}, "babble"),
    "hangs up after the welcome": ({}, {}, "half"),
    "TLS where none is spoken": ({"broker_tls": True}, {}, ""),
}


def tries(session):
    """How often it sent, by the changes of what it keeps of that: from the records' error bits."""
    return sum(bool(recorded.decode(row)[0]["errors"] & errors.RADIO) for row in session.records)


# {what is wrong: (tries, ms and uAh of each, uAh a day)} of this run.
MEASURED = {}


def judged(what, room, session):
    plain = room.plain("rp2040_wifi", DAYS)
    assert pulses(session) == pulses(plain) and pulses(plain)
    failed = tries(session)
    assert 2 <= failed <= 24
    # The last try's error would stand in the next record.
    each_ms = session.air_ms // failed
    assert each_ms <= MOST_MS
    energy = session.board["energy"]
    extra_uah = outbox.extra_ms(each_ms, energy) * (energy["active_ua"] + energy["probe_ua"]) // 3_600_000
    awake_uah = each_ms * energy["active_ua"] // 3_600_000
    day_uah = failed * (extra_uah + awake_uah) // DAYS
    # Back-off: a day of nothing but failing costs less than a twelfth of an ordinary day's charge
    # (a rehearsed month: 40 mAh a day).
    assert day_uah < 3_100
    MEASURED[what] = failed, each_ms, extra_uah + awake_uah, day_uah


@pytest.mark.parametrize("what", FAULTS)
def test_a_fault_costs_little_and_no_plant_notices(what, room, broker):
    keys, air, how = FAULTS[what]
    with Proxy(broker.port, None if how == "-" else how, after=4) as proxy:
        session = room.with_radio("rp2040_wifi", DAYS, proxy.port, air={**QUICK, **air}, **keys)
    judged(what, room, session)


CERTIFICATES = {
    "of another authority": ({}, {}),
    "for another name": ({"name": "127.0.0.2"}, {}),
    "out of date": ({"days": 300}, {}),
    "not valid yet": ({"begin": datetime.datetime(2060, 1, 1, tzinfo=datetime.UTC)}, {}),
}


@pytest.mark.parametrize("what", CERTIFICATES)
def test_a_certificate_that_is_not_right(what, room, tmp_path):
    made, _ = CERTIFICATES[what]
    ca, *own = certificates(tmp_path, **made)
    if what == "of another authority":
        other = tmp_path / "other"
        other.mkdir()
        ca, *_ = certificates(other)
    with Broker(tmp_path, tls=own) as secured:
        session = room.with_radio("rp2040_wifi", DAYS, secured.port, air=QUICK, ca=ca, broker_tls=True)
    judged("certificate " + what, room, session)


def test_tls_without_the_authority_s_certificate_sends_nothing(room, secured):
    session = room.with_radio("rp2040_wifi", DAYS, secured.port, air=QUICK, broker_tls=True)
    judged("no ca.der on the board", room, session)


def test_no_room_for_tls_is_an_error_like_any_other(room, secured, monkeypatch):
    """TLS takes some 30 kB at once (test_tls_heap.py); a board may not have them."""

    def wrap(*given):
        raise MemoryError

    monkeypatch.setattr(ssl.SSLContext, "wrap_socket", wrap)
    session = room.with_radio(
        "rp2040_wifi", DAYS, secured.port, interpreter="cpython", air=QUICK, ca=secured.ca, broker_tls=True
    )
    assert pulses(session) == pulses(room.plain("rp2040_wifi", DAYS, "cpython"))
    assert 2 <= tries(session) <= 24 and session.air_ms // tries(session) <= MOST_MS


@pytest.mark.parametrize("name", ["broker.example.org", "localhost", "1.2.3", "1.2.3.456", "::1", "1.2.3.4 "])
def test_no_name_is_ever_asked_for(name, room):
    """No DNS: a board is given figures, and settings with a name do not pass."""
    own = {"wifi_ssid": "sill", "broker_host": name, "broker_user": "sill"}
    _, faults = judge.check({**room.settings("rp2040_wifi"), "radio": own})
    assert len(faults) == 1 and faults[0].startswith("radio.broker_host = ")


def test_forgetting_boards_back_off_just_as_well(room, broker):
    with Proxy(broker.port, "mute") as proxy:
        session = room.with_radio("esp32", DAYS, proxy.port, air=QUICK)
    assert pulses(session) == pulses(room.plain("esp32", DAYS))
    assert 2 <= tries(session) <= 12 and session.air_ms // tries(session) <= MOST_MS


TABLE = re.compile(r"(\| what is wrong \|[^\n]*\n\|[- |:]*\|\n)((?:\|[^\n]*\n)+)")


def test_the_guide_has_the_table_of_what_each_costs():
    """As measured in this run; a busy machine makes tries longer, so figures may be a few times off."""
    if len(MEASURED) < len(FAULTS) + len(CERTIFICATES) + 1:
        pytest.skip("needs the whole file in one process")
    rows = [
        f"| {what} | {failed} | {ms / 1000:.1f} | {each_uah} | {day_uah / 1000:.2f} |"
        for what, (failed, ms, each_uah, day_uah) in sorted(MEASURED.items(), key=lambda row: (row[1][1], row[0]))
    ]
    text = GUIDE.read_text(encoding="utf-8")
    if os.environ.get("POTREEVE_TABLES"):
        GUIDE.write_text(TABLE.sub(lambda found: found[1] + "\n".join(rows) + "\n", text, count=1), encoding="utf-8")
        return
    told = {}
    for row in TABLE.search(text)[2].splitlines():
        what, *figures = [cell.strip() for cell in row.strip("|").split("|")]
        told[what] = [float(figure) for figure in figures]
    assert told.keys() == MEASURED.keys()
    for what, (failed, ms, *_) in MEASURED.items():
        assert abs(told[what][0] - failed) <= 3, what
        assert told[what][1] / 3 < ms / 1000 < 3 * told[what][1], what
