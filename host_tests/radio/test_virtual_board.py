"""The real hal/radio.py in MicroPython on the virtual board, through `network` and sockets, to a real mosquitto."""

import pytest
from listener import Listener, Proxy
from network import PASSWORD, RIG
from potreeve.logic import outbox, recorded
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard

AIR = ("reading room", "a key of the room")


def keys(port, **more):
    return {
        "wifi_ssid": "reading room",
        "wifi_key": "a key of the room",
        "broker_host": "127.0.0.1",
        "broker_port": port,
        "broker_user": RIG,
        "broker_key": PASSWORD,
        "send_s": 600,
        **more,
    }


@pytest.mark.parametrize("board, tls", [("rp2040_wifi", False), ("rp2040_wifi", True), ("esp32", False)])
def test_a_board_reports_over_its_own_radio(room, broker, secured, tmp_path, board, tls):
    device = boards.load(board).device_dict()
    if board == "esp32":
        # Of the virtual one's heap more goes to what stands in for its hardware than it is given for that.
        device["heap"]["bytes"] = 140_000
    image = tmp_path / "board.img"
    settings = {**room.settings(board), "radio": keys(secured.port if tls else broker.port, broker_tls=tls)}
    imagefile.install(image, device, settings, {"data/" + outbox.CA: secured.ca} if tls else None)
    with (
        Listener(secured.plain_port if tls else broker.port) as listener,
        VirtualBoard(device, room.rig, image=image, usb=False, asleep=100_000.0, air=AIR) as virtual,
    ):
        assert virtual.wait(lambda: len(listener.reports) >= 3, 60), (virtual.log, listener.pieces)
        assert "watchdog" not in virtual.log and "fault" not in virtual.log
    rows = [recorded.decode(row)[0] for _, row in sorted(listener.rows.items())]
    assert [row["seq"] for row in rows] == list(range(len(rows))) and len(rows) >= 3
    assert not any(row["errors"] for row in rows) and listener.twice == 0


@pytest.mark.parametrize("air", [None, ("another room", ""), ("reading room", "another key")])
def test_a_board_that_can_not_join_tends(room, broker, tmp_path, air):
    device = boards.load("rp2040_wifi").device_dict()
    image = tmp_path / "board.img"
    imagefile.install(image, device, {**room.settings("rp2040_wifi"), "radio": keys(broker.port)})
    with VirtualBoard(
        "rp2040_wifi", room.rig, image=image, usb=False, awake=0, asleep=float("inf"), air=air
    ) as virtual:
        assert virtual.wait(lambda: virtual.time.now_us() > 8 * 3600e6, 200), virtual.log
        assert "watchdog" not in virtual.log and "fault" not in virtual.log


@pytest.mark.parametrize("how", ["mute", "drip", "babble"])
def test_whatever_a_broker_does_the_watchdog_is_fed_and_the_board_tends(room, broker, tmp_path, how):
    """The watchdog of the virtual board bites, by its time (test_virtual_time.py)."""
    device = boards.load("rp2040_wifi").device_dict()
    image = tmp_path / "board.img"
    with Proxy(broker.port, how) as proxy:
        imagefile.install(image, device, {**room.settings("rp2040_wifi"), "radio": keys(proxy.port)})
        with VirtualBoard(
            "rp2040_wifi", room.rig, image=image, usb=False, awake=0, asleep=float("inf"), air=AIR
        ) as virtual:
            assert virtual.wait(lambda: virtual.time.now_us() > 4 * 3600e6 and proxy.seen >= 3, 200), virtual.log
            assert "watchdog" not in virtual.log and "fault" not in virtual.log
