"""What a rig with floats tells of its tub: as alarms, on the page, in metrics; its own word before the reckoned one."""

from types import SimpleNamespace

import pytest
from potreeve.logic import reasons, record, recorded
from potreeve_tools.station import alarms, metrics, words
from potreeve_tools.station.sight import Sight
from potreeve_tools.station.watch import Watch

HEAD = (1, 5, 9000, 1795600000, 1800, 1500, 6, 0, 3900, 2100, 450, 800, 0, 1800, 0, 0, 0, 900, 30, 9, 0)


def seen(**changes):
    head, pots = recorded.decode(record.encode(HEAD, [(30000, 40, record.NOT_RUN, 0, 800, 0, 0, 0, 0)]))
    head.update(changes)
    return Sight("sill", "sill", ["mint"], ["mint"], [600], [400], heard_s=1, head=head, pots=pots)


def told(sight, days=None):
    return [(one.kind, one.level) for one in alarms.rig_findings(sight, 1795600000, days)]


@pytest.mark.parametrize(
    ("changes", "days", "found"),
    [
        ({}, None, []),
        ({"tub_days": 9}, 9, []),
        ({"tub_days": 4, "tub_note": reasons.TUB_LOW}, 4, [("tub", alarms.NOTE)]),
        ({"tub_days": 2, "tub_note": reasons.TUB_LOW}, 2, [("tub", alarms.CALL)]),
        ({"tub_days": 9, "tub_note": reasons.TUB_LEAK}, 9, [("water", alarms.CALL)]),
        ({"tub_days": 9, "tub_note": reasons.TUB_STAYS}, 9, [("tub", alarms.NOTE)]),
        ({"tub_note": reasons.TUB_FLOAT}, None, [("tub", alarms.NOTE)]),
        ({"tub_days": 0, "hold": reasons.TUB_EMPTY, "tub_note": reasons.TUB_LOW}, 0, [("tub", alarms.CALL)]),
    ],
)
def test_alarms(changes, days, found):
    assert told(seen(**changes), days) == found


def test_a_rigs_own_word_counts_before_what_its_pumps_may_have_taken():
    one = seen(tub_days=6, tub_mark=3)
    assert Watch.tub_days(SimpleNamespace(config=None), one, None) == 6
    blank = seen()
    assert Watch.tub_days(SimpleNamespace(config=SimpleNamespace(tubs={})), blank, None) is None


def test_the_page_and_the_metrics_tell_it():
    one = seen(tub_days=6, tub_mark=3)
    assert dict(words.facts(one, 6))["tub"] == "water for 6 days, 2 marks reached"
    assert ("potreeve_tub_left_seconds", 6 * 86400) in [pair[:2] for pair in metrics.head_values(one.head)]
    assert "tub" not in dict(words.facts(seen(), None))
    assert "potreeve_tub_left_seconds" not in [pair[0] for pair in metrics.head_values(seen().head)]
