"""What service mode decides: when it begins and ends, and that it gives no water the caps do not allow.

In CPython and in MicroPython.
"""

import subprocess
import sys
from pathlib import Path

import pytest
from potreeve.logic import commanded, limits, reasons, servicing, timekeep
from potreeve.logic.state import HELD
from service_kit import rested, whole

FIRMWARE = Path(__file__).resolve().parents[2] / "firmware"

# (what, expected) read by both interpreters.
DECISIONS = """
from potreeve.logic import servicing as s, timekeep as t
said = []
for mark in ("", "asked", "usb", "leaving", "left", "nonsense"):
    for held in (0, 1):
        for usb in (0, 1):
            after = s.mark_for_tending(mark, usb, held)
            said.append((mark, held, usb, s.enter(mark, held, usb), after, s.calls(usb, mark)))
said.append([s.idle_s(why) for why in (s.ASKED, s.BUTTON, s.USB)])
said.append([s.cause_of(mark, t.OTHER_RESET) for mark in ("leaving", "left")])
said.append([cause for cause in range(7) if not s.watches_button(cause)])
print(said)
"""


def test_both_interpreters_decide_alike():
    here, there = (
        subprocess.run([*command, "-c", DECISIONS], capture_output=True, text=True, cwd=FIRMWARE, timeout=60)
        for command in ([sys.executable], [Path(sys.executable).with_name("micropython")])
    )
    assert here.stdout and here.stdout == there.stdout, there.stderr


@pytest.mark.parametrize(
    "mark, held, usb, why",
    [
        ("", 0, 0, servicing.NO),
        ("", 1, 0, servicing.BUTTON),
        ("", 0, 1, servicing.USB),
        ("asked", 0, 0, servicing.ASKED),
        ("leaving", 0, 1, servicing.NO),
        ("left", 0, 1, servicing.NO),
        ("left", 1, 1, servicing.BUTTON),
        ("usb", 0, 1, servicing.USB),
        ("usb", 0, 0, servicing.USB),
    ],
)
def test_what_leads_into_service(mark, held, usb, why):
    assert servicing.enter(mark, held, usb) == why


def test_a_rig_that_lives_from_usb_is_called_once_and_then_tends():
    """Left by time, it is not called again until USB was absent once."""
    mark = servicing.MARK_LEAVING
    for _ in range(3):
        assert servicing.enter(mark, 0, 1) == servicing.NO
        mark = servicing.mark_for_tending(mark, 1, 0)
        assert mark == servicing.MARK_LEFT and not servicing.calls(1, mark)
    # So soon after a reset it need not be seen yet: that is not absent.
    assert servicing.mark_for_tending(mark, 0, 1) == servicing.MARK_LEFT
    mark = servicing.mark_for_tending(mark, 0, 0)
    assert servicing.calls(1, mark) and servicing.enter(mark, 0, 1) == servicing.USB
    assert servicing.idle_s(servicing.USB) < servicing.idle_s(servicing.ASKED)
    assert not servicing.watches_button(timekeep.BUTTON) and servicing.watches_button(timekeep.POWER_ON)


def test_a_pulse_on_command_is_charged_before_it_runs():
    before = rested()
    state, ms, reason, cup = commanded.open_pulse(before, 1, 2000, whole(), 4000, 0)
    assert (ms, reason, cup) == (2000, reasons.NONE, 0) and before.pots[1].intent_ms == 0
    assert state.pots[1].intent_ms == 2000 and limits.spent_ul(state.pots[1]) >= 22_000 and state.rig.tray_ul >= 22_000
    assert commanded.open_pulse(before, 1, 60_000, whole(), 4000, 0)[1] == 6000


@pytest.mark.parametrize(
    "change, reason",
    [
        (lambda s: limits.spend(s.pots[0], 110_000), reasons.POT_DAY),
        (lambda s: (limits.spend(s.pots[1], 100_000), limits.spend(s.pots[2], 90_000)), reasons.RIG_DAY),
        (lambda s: setattr(s.rig, "tray_ul", 290_000), reasons.TRAY),
        (lambda s: setattr(s.rig, "hold", reasons.OWNER), reasons.OWNER),
        (lambda s: setattr(s.rig, "hold", reasons.DAMAGED), reasons.DAMAGED),
        (
            lambda s: (setattr(s.pots[0], "ladder", HELD), setattr(s.pots[0], "reason", reasons.NO_RISE)),
            reasons.NO_RISE,
        ),
        # A lost memory counts every cap as reached.
        (lambda s: setattr(s.rig, "memory", 2), reasons.RIG_DAY),
    ],
)
def test_what_refuses_a_pulse_says_so_and_charges_nothing(change, reason):
    before = rested()
    change(before)
    spent = sum(limits.spent_ul(pot) for pot in before.pots)
    state, ms, why, _ = commanded.open_pulse(before, 0, 3000, whole(), 4000, 0)
    assert (ms, why) == (0, reason) and state.pots[0].intent_ms == 0
    assert before.rig.memory == 2 or sum(limits.spent_ul(pot) for pot in state.pots) == spent


@pytest.mark.parametrize("battery_mv", [0, 3000])
def test_a_battery_that_is_low_or_unknown_refuses(battery_mv):
    assert commanded.open_pulse(rested(), 0, 3000, whole(), battery_mv, 0)[1:3] == (0, reasons.BATTERY)


def test_no_run_of_commands_exceeds_a_cap():
    state, given_ul = rested(), [0, 0, 0]
    for n in range(200):
        state, ms, _, _ = commanded.open_pulse(state, n % 3, 700 + 137 * n % 5000, whole(), 4000, 0)
        # The fastest this pump may be.
        given_ul[n % 3] += ms * 11
        state.pots[n % 3].intent_ms = 0
    assert max(given_ul) <= 120_000 and sum(given_ul) <= 200_000 and state.rig.tray_ul <= 300_000
    assert sum(given_ul) > 150_000


def test_a_cup_takes_what_the_caps_leave_no_room_for_but_no_more_than_a_press_allows():
    state = rested()
    limits.spend(state.pots[0], 120_000)
    assert commanded.open_pulse(state, 0, 5000, whole(), 4000, 4000)[1:3] == (0, reasons.POT_DAY)
    after, ms, _, cup = commanded.open_pulse(state, 0, 5000, whole(), 4000, 5000)
    assert (ms, cup) == (5000, 1) and after.rig.tray_ul == state.rig.tray_ul
    assert limits.spent_ul(after.pots[0]) > limits.spent_ul(state.pots[0])
    assert commanded.open_pulse(state, 0, 5000, whole(), 0, 5000)[2] == reasons.BATTERY
    # Where the caps have room, they are what is used.
    assert commanded.open_pulse(rested(), 0, 2000, whole(), 4000, 5000)[3] == 0


def test_first_drops_stay_within_half_of_the_trays_headroom_however_often_somebody_presses():
    """The day counts as given; every drop is charged to pot and tray before it runs."""
    state, given_ul, clean = rested(), 0, whole()
    limits.fill_day(state.pots, clean)
    for n in range(200):
        state, ms, reason, cup = commanded.open_pulse(
            state, n % 3, 300 + 137 * n % 3000, clean, 4000, commanded.CUP_MS, 1
        )
        assert not cup and (ms or reason in (reasons.TRAY, reasons.POT_DAY, reasons.RIG_DAY))
        given_ul += ms * 11
        state.pots[n % 3].intent_ms = 0
    assert 100_000 < given_ul <= 150_000 == clean["tray_headroom_ml"] * 500
    assert state.rig.tray_ul >= given_ul


def test_usb_that_is_seen_late_after_a_reset_is_no_loop():
    """A restart for it is wanted: it leads into service, once, and is not held against the rig."""
    rig_power = {"cause": timekeep.OTHER_RESET}
    assert servicing.cause_of(servicing.MARK_USB, rig_power["cause"]) not in timekeep.UNPLANNED
    mark = servicing.MARK_USB
    assert servicing.enter(mark, 0, 0) == servicing.USB
    # Service ends by itself, and again the port is not seen at the start, but at the first wake's end.
    mark = servicing.mark_for_tending(servicing.MARK_LEAVING, 0, 1)
    assert not servicing.calls(1, mark)


def test_a_computer_that_comes_back_after_the_reset_hears_soon_that_it_serves(monkeypatch):
    from types import ModuleType, SimpleNamespace

    from potreeve import service

    rests = []

    def sleep_ms(ms):
        rests.append(ms)
        if len(rests) == 3:
            raise KeyboardInterrupt

    serving = ModuleType("potreeve.serving")
    serving.Service = lambda rig, why, mark: SimpleNamespace(left_s=900)
    monkeypatch.setitem(sys.modules, "potreeve.serving", serving)
    monkeypatch.setattr("potreeve.serving", serving, raising=False)
    monkeypatch.setattr(service, "_running", None)
    rig = SimpleNamespace(
        pumps=SimpleNamespace(all_off=lambda: None),
        power=SimpleNamespace(start_watchdog=lambda ms: None),
        clock=SimpleNamespace(sleep_ms=sleep_ms),
        board={"wdt_max_ms": 8388},
    )
    with pytest.raises(KeyboardInterrupt):
        service.serve(rig, 1)
    # A port is open again within a fraction of a second; later on nobody wants to read it more often.
    assert rests[0] <= 250 and rests[1] == rests[2] >= 2000
