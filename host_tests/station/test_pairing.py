"""Pairing: what is refused, what is written, and that the station knows a rig before it is heard."""

import pytest
from click.testing import CliRunner
from potreeve_tools.cli import cli
from potreeve_tools.settings import settingsfile
from potreeve_tools.station import alarms, intake, keys, pair, sight, store
from potreeve_tools.station.messages import Message
from potreeve_tools.terminal.faultlist import BadInput
from station_kit import line, pieces

SETTINGS = {
    "name": "sill",
    "tray_headroom_ml": 500,
    "tray_area_cm2": 700,
    "channels": [{"name": "mint", "pot_ml": 1200, "holds_ml": 600}],
}


@pytest.mark.parametrize(
    "rig,host", [("Sill", "192.168.1.2"), ("sill", "broker.local"), ("sill", "127.0.0.1"), ("", "::1")]
)
def test_names_and_addresses_a_board_cannot_use(rig, host):
    with pytest.raises(BadInput):
        pair.check(rig, host)
    assert (
        CliRunner()
        .invoke(cli, ["station", "pair", "--rig", rig, "--broker-host", host, "--port", "/nowhere"])
        .exit_code
        == 2
    )


def test_the_radio_table_keeps_what_is_not_told_anew():
    before = {"name": "x", "radio": {"wifi_ssid": "HOME", "wifi_key": "old key", "send_s": 900}}
    made = pair.table(before, "sill", "k" * 32, "", broker_host="192.168.1.2", broker_port=None, wifi_ssid=None)
    assert made["radio"] == {
        "wifi_ssid": "HOME",
        "wifi_key": "old key",
        "send_s": 900,
        "broker_host": "192.168.1.2",
        "broker_user": "sill",
        "broker_key": "k" * 32,
        "command_key": "",
    }
    assert "broker_user" not in before["radio"]


def test_keys_are_made_once_and_anew_when_asked():
    first = pair.keys_for("sill", True)
    assert first[2] and pair.keys_for("sill", True) == (*first[:2], False)
    assert pair.keys_for("sill", False)[1] == "" and len(bytes.fromhex(first[1])) == 32
    anew = pair.keys_for("sill", True, anew=True)
    assert anew[0] != first[0] and keys.load()["rigs"]["sill"]["broker"] == anew[0]


def test_a_rig_is_known_by_its_settings_before_it_is_heard(tmp_path):
    settings = settingsfile.check(SETTINGS, "test")
    kept = store.open_store(tmp_path / "s.db")
    pair.remember(kept, pair.about(settings, "sill", "rp2040_wifi"))
    one = sight.one_rig(kept, "sill")
    now = one.first_s
    assert alarms.rig_findings(one, now + 3600) == []
    found = alarms.rig_findings(one, now + 90_000)
    assert [(each.kind, each.level) for each in found] == [("silent", alarms.NOTE)] and "never been heard" in found[
        0
    ].what
    assert (one.names, one.heard_s, one.head) == (["mint"], 0, None) and 0 < one.stress_pm[0] < one.refill_pm[0] < 1000
    intake.take(kept, [(5, Message("sill", "log", pieces([line(1)])[0]), False)])
    pair.remember(kept, pair.about({**settings, "name": "porch"}, "sill", "rp2040_wifi"))
    one = sight.one_rig(kept, "sill")
    assert one.name == "porch" and one.heard_s == 5 and one.pots[0]["pm"] == 700
    kept.close()
