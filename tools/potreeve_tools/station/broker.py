"""How to reach a broker: address, name, key. Keys come from files or the environment, never from a command line."""

import os
import ssl
from pathlib import Path
from typing import NamedTuple

from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput

PORT, TLS_PORT = 1883, 8883
KEY_VARIABLE = "POTREEVE_BROKER_KEY"


class Address(NamedTuple):
    """host, port; user and key (None: none); ca: path of a CA file, "" for the system's, None without TLS."""

    host: str
    port: int = PORT
    user: str | None = None
    key: str | None = None
    ca: str | None = None

    def __repr__(self):
        return f"Address({self.host}:{self.port})"


def address(text, user=None, key_file=None, ca=None, tls=False):
    """An Address from HOST, HOST:PORT or [IPv6]:PORT. Raises BadInput."""
    host, port = text, None
    if text.startswith("["):
        host, _, rest = text[1:].partition("]")
        port = rest[1:] if rest.startswith(":") else None
    elif text.count(":") == 1:
        host, _, port = text.partition(":")
    tls = tls or ca is not None
    if port is None:
        port = TLS_PORT if tls else PORT
    if not host or any(char.isspace() or char in "/@" for char in host):
        raise BadInput([f"broker = {text!r}: no address of a broker; give HOST or HOST:PORT, its key by --key-file"])
    if not str(port).isdigit() or not 1 <= int(port) <= 65535:
        raise BadInput([f"broker = {text!r}: {port!r} is no port; give 1 to 65535"])
    key = None
    if key_file:
        key = files.read_text(Path(key_file)).strip("\r\n")
    elif os.environ.get(KEY_VARIABLE):
        key = os.environ[KEY_VARIABLE]
    if key and not user:
        raise BadInput(["broker: a key without a name; add --user NAME"])
    return Address(host, int(port), user, key, (ca or "") if tls else None)


def client(to, client_id, persistent=True, manual=False):
    """A paho client for an Address, not yet connected."""
    import paho.mqtt.client as mqtt

    made = mqtt.Client(
        mqtt.CallbackAPIVersion.VERSION2,
        client_id,
        clean_session=not persistent,
        manual_ack=manual,
        protocol=mqtt.MQTTv311,
    )
    if to.user:
        made.username_pw_set(to.user, to.key)
    if to.ca is not None:
        context = ssl.create_default_context(cafile=to.ca or None)
        made.tls_set_context(context)
    made.reconnect_delay_set(1, 30)
    made.max_inflight_messages_set(1000)
    made.max_queued_messages_set(0)
    return made
