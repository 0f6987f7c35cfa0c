"""`potreeve station tell` against the radio's firmware: the virtual board runs the real hal/radio.py, the broker is
real."""

import threading

from click.testing import CliRunner
from potreeve.logic import reasons, recorded
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.cli import cli
from potreeve_tools.owner import commission
from potreeve_tools.station import broker, commands, keys, messages, sight, store
from potreeve_tools.station.ingest import Ingest
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.rigfile import load_rig
from station_kit import until


class Meddler:
    """Somebody at the broker who says the next of `says` to the rig at each of its reports; answers: what it said."""

    def __init__(self, port, says):
        self.says, self.answers = list(says), []
        self.ready = threading.Event()
        self.client = broker.client(broker.Address("127.0.0.1", port), "meddler", persistent=False)
        self.client.on_connect = lambda client, *_: client.subscribe(
            [("potreeve/sill/report", 1), ("potreeve/sill/done", 1)]
        )
        self.client.on_subscribe = lambda *_: self.ready.set()
        self.client.on_message = self._on_message
        self.client.connect("127.0.0.1", port)
        self.client.loop_start()
        assert self.ready.wait(30)

    def _on_message(self, client, userdata, message):
        if message.topic.endswith("done"):
            told = messages.load("done", message.payload)
            self.answers.append((told["result"], told.get("why")))
        elif not message.retain and self.says:
            client.publish("potreeve/sill/do", self.says.pop(0), qos=1)

    def close(self):
        self.client.disconnect()
        self.client.loop_stop()


def test_a_board_is_held_once_and_everything_else_is_refused(mosquitto, tmp_path):
    """Held, then: replayed, stale by its records, stale by another life of the log, cut, of another key."""
    where, image = tmp_path / "s.db", tmp_path / "board.img"
    device, rig = boards.load("rp2040_wifi").device_dict(), load_rig()
    _, command_key, _ = keys.rig(keys.load(), "sill")
    radio = {
        "wifi_ssid": "reading room",
        "wifi_key": "a key of the room",
        "broker_host": "127.0.0.1",
        "broker_port": mosquitto.port,
        "broker_user": "sill",
        "broker_key": "",
        "send_s": 600,
        "command_key": command_key,
    }
    imagefile.install(image, device, {**commission.make_settings(rig, device, 1), "radio": radio})
    listening = Ingest(broker.Address("127.0.0.1", mosquitto.port), lambda: store.open_store(where))
    listening.start()
    try:
        assert until(lambda: listening.connected)
        air = ("reading room", "a key of the room")
        with VirtualBoard(device, rig, image=image, usb=False, asleep=100_000.0, air=air) as virtual:
            kept = store.open_store(where)
            assert virtual.wait(lambda: (one := sight.one_rig(kept, "sill")) and one.report, 90), virtual.log
            done = CliRunner().invoke(cli, ["station", "tell", "sill", "hold", "--store", str(where)])
            assert done.exit_code == 0 and "waits until the rig reports" in done.output
            assert virtual.wait(lambda: commands.state(kept, "sill")["state"] == "done", 90), virtual.log
            assert virtual.wait(lambda: sight.one_rig(kept, "sill").head["hold"] == reasons.OWNER, 90), virtual.log
            done = CliRunner().invoke(cli, ["station", "tell", "sill", "--store", str(where)])
            assert done.exit_code == 0 and done.output.strip() == "sill: hold done"
            told = commands.state(kept, "sill")
            one, key = sight.one_rig(kept, "sill"), bytes.fromhex(command_key)
            later = told["counter"] + 1, one.committed_seq + 1000
            whole = messages.command("sill", one.boot, *later, "acknowledge", key)
            meddler = Meddler(
                mosquitto.port,
                [
                    told["payload"].encode(),
                    messages.command("sill", one.boot, later[0], 0, "acknowledge", key),
                    messages.command("sill", one.boot % 1000 + 1, *later, "acknowledge", key),
                    whole[:-9],
                    whole[:-2],
                    messages.command("sill", one.boot, *later, "acknowledge", bytes(32)),
                    whole.replace(b'"acknowledge"', b'"hold"'),
                ],
            )
            assert virtual.wait(lambda: len(meddler.answers) == 7, 90), (meddler.answers, virtual.log)
            meddler.close()
            assert [result for result, _ in meddler.answers] == ["refused"] * 7
            assert [why for _, why in meddler.answers] == ["replayed", "stale", "stale", "mac", "mac", "mac", "mac"]
            # The board is held still, by one press.
            assert sight.one_rig(kept, "sill").head["hold"] == reasons.OWNER
            rows = [recorded.decode(bytes(row[0]))[0] for row in kept.rows("SELECT body FROM records ORDER BY place")]
            assert [row["button"] for row in rows if row["button"]] == [2]
            assert "watchdog" not in virtual.log and "fault" not in virtual.log
            kept.close()
    finally:
        listening.stop()
