"""Signed commands over the radio: loaded where the settings have a command_key. The code is HMAC-SHA-256 (RFC 2104),
cut to
its first half; the greatest counter ever taken is on flash before anything is done for it."""

import hashlib
import json
import struct
from binascii import crc32, hexlify, unhexlify

from potreeve.logic import remote

# In a folder of its own, as the ledger's witness: what damages the others leaves it alone.
HEARD = "@heard"

_SEAL = b',"mac":"'
_DIGITS = 32
# Where the file can't be read, nothing is greater.
_CLOSED = 0x7FFFFFFF


def code(key, message):
    """HMAC-SHA-256 of a message, 32 bytes; key: up to 64 bytes."""
    block = key + bytes(64 - len(key))
    inner = hashlib.sha256(bytes([byte ^ 0x36 for byte in block]) + message).digest()
    return hashlib.sha256(bytes([byte ^ 0x5C for byte in block]) + inner).digest()


def genuine(payload, key):
    """True where a message's own last member is the code of all before it. key: 64 hex digits."""
    at = payload.rfind(_SEAL)
    end = at + len(_SEAL) + _DIGITS
    if at < 0 or payload[end:] != b'"}':
        return False
    wanted = hexlify(code(unhexlify(key), payload[:at])[: _DIGITS // 2])
    wrong = 0
    # All of them are looked at, whatever the first says.
    for one, other in zip(wanted, payload[end - _DIGITS : end]):
        wrong |= one ^ other
    return not wrong


def take(payload, keys, boot, session, seq):
    """Judge a command and note that it was taken: (press for the next wake, the answer as a dictionary)."""
    answer = {"v": 1, "rig": keys["broker_user"], "boot": boot, "counter": 0, "result": "refused"}
    if not genuine(payload, keys["command_key"]):
        answer["why"] = "mac"
        return 0, answer
    try:
        told = json.loads(payload)
    except ValueError:
        told = None
    store = session.rig.store
    why = remote.refusal(told, keys["broker_user"], boot, seq, _counter(store))
    if isinstance(told, dict):
        answer["counter"] = told.get("counter")
    if why:
        answer["why"] = why
        return 0, answer
    data = struct.pack("<I", told["counter"])
    store.write(HEARD, data + struct.pack("<I", crc32(data) & 0xFFFFFFFF))
    answer["result"] = "done"
    return remote.press(told["do"], session.state.rig.hold), answer


def _counter(store):
    """The greatest counter ever taken, 0 for none."""
    try:
        data = store.read(HEARD)
    except OSError:
        return _CLOSED
    if data is None:
        return 0
    if len(data) != 8 or struct.unpack("<I", data[4:])[0] != crc32(data[:4]) & 0xFFFFFFFF:
        return _CLOSED
    return struct.unpack("<I", data[:4])[0]
