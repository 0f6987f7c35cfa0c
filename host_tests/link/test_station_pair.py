"""`potreeve station pair` over the cable: name, keys and address go to the board as settings, and no key is shown."""

import json

import board_files
import pytest
from potreeve.logic import settings as logic
from potreeve_tools.station import keys, sight, store
from test_settings_end_to_end import settings_on

pytest.importorskip("potreeve.logic.radio_keys", reason="this firmware has no radio of its own yet")


def test_a_board_is_paired_over_the_cable(plug, potreeve, monkeypatch, tmp_path):
    monkeypatch.setenv("POTREEVE_WIFI_KEY", "the key of the house")
    board = plug(board_files.lived())
    where = tmp_path / "s.db"
    words = f"station pair --rig sill --broker-host 192.168.1.20 --ssid HOME --commands --store {where}"
    code, out, err = potreeve(words + " --dry-run", board.port)
    assert code == 0, err
    assert "radio.broker_user" not in potreeve("settings show", board.port)[1].replace(" ", "")
    code, out, err = potreeve(words + " --yes", board.port)
    assert code == 0, err
    again, _, _ = potreeve(words + " --yes", board.port)
    assert again == 0
    on_board = settings_on(board)
    radio = on_board["radio"]
    known = keys.load()["rigs"]["sill"]
    assert (radio["broker_user"], radio["broker_host"], radio["wifi_ssid"]) == ("sill", "192.168.1.20", "HOME")
    assert (
        radio["wifi_key"] == "the key of the house"
        and radio["broker_key"] == known["broker"]
        and radio["command_key"] == known["command"]
    )
    for secret in ("the key of the house", known["broker"], known["command"]):
        assert secret not in out + err
    kept = store.open_store(where)
    assert sight.one_rig(kept, "sill").names == [channel["name"] for channel in on_board["channels"]]
    kept.close()
    assert logic.check(json.loads(json.dumps(on_board)))[1] == []
