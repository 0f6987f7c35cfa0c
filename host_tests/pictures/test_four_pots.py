"""The whole road with four pots: flash, settings, calibrate, the first drop, wiring, status, logs, selftest."""

import pytest
from potreeve_tools.pictures import tour, walk

BOARD = "rp2040_wifi_four"
NAMES = ("mint", "strawberry", "cherry tomato", "everbearer")


def road():
    """The road's steps, with the reading room's fourth pot told to `settings new`."""
    more = "--plant strawberry --pot 12x10.5 " + " ".join(f'--name "{name}"' for name in NAMES)
    steps = tour.on(BOARD, tour.lines(tour.ROAD.read_text(encoding="utf-8")))
    return [line.replace("--tray-cm2 750", f"{more} --tray-cm2 1040") for line in steps]


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_the_road_with_four_pots(tmp_path):
    with walk.Walk(BOARD, tmp_path) as person:
        assert tuple(person.names) == NAMES
        try:
            truth = person.go(road())
        finally:
            print(person.text())
        by_itself = {delivery[1] for delivery in person.board.world.deliveries[person.by_hand :]}
    told = {words: "\n".join(lines) for words, lines in person.told}
    assert "4 of 4 channels are right." in told["potreeve calibrate wiring --soak 1800 --port ./board"]
    assert told["potreeve status --port ./board"].count(": tended, moisture") == 4
    assert by_itself == {0, 1, 2, 3} and all(pot["alive"] for pot in truth["pots"])
    assert all(name[:9] in told["potreeve logs show --last 4"] for name in NAMES)
    assert " hold." in told["potreeve selftest --port ./board"]
