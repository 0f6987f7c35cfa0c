"""What a move on the ladder leaves as it is, and what it begins anew."""

import kit
import pytest
from potreeve.logic import ladder, reasons
from potreeve.logic.state import HELD, RATIONED, TENDED


@pytest.mark.parametrize(
    ("before", "after", "start_pm"),
    [
        (TENDED, RATIONED, 640),
        (HELD, RATIONED, 640),
        (RATIONED, RATIONED, 700),
        (TENDED, HELD, 700),
        (RATIONED, HELD, 700),
        (TENDED, TENDED, 700),
        (RATIONED, TENDED, 700),
        (HELD, TENDED, 700),
    ],
)
def test_the_lowest_reading_of_a_ration_is_sought_from_its_beginning(before, after, start_pm):
    """Only there: a dose under way, or a ration that goes on for another reason, keeps the moisture it began at."""
    pot = kit.make_state(1).pots[0]
    pot.ladder, pot.pm, pot.start_pm = before, 640, 700
    ladder.move(pot, after, reasons.NOISY, 5)
    assert pot.start_pm == start_pm


def test_a_rig_held_for_its_starts_says_since_when():
    rig = kit.make_state(1, up_s=7777, boot_s=7777, boots=ladder.BOOTS_HOLD - 1, hold_s=5).rig
    ladder.count_boot(rig, True)
    assert (rig.hold, rig.hold_s) == (reasons.REBOOTS, 7777)


def test_a_hold_that_goes_on_keeps_its_beginning():
    rig = kit.make_state(1, up_s=7777, boot_s=7777, boots=ladder.BOOTS_HOLD, hold=reasons.REBOOTS, hold_s=5).rig
    ladder.count_boot(rig, True)
    assert (rig.hold, rig.hold_s) == (reasons.REBOOTS, 5)
