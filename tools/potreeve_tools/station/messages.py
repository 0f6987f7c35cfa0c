"""Reads and writes the messages of messages.md. Whatever arrives is checked by the schema files before anything else
sees it."""

import functools
import hashlib
import hmac
import json
import re
from importlib.resources import files
from typing import Any, NamedTuple

from potreeve_tools.station import logpiece

ROOT = "potreeve"
FROM_RIG = ("about", "report", "log", "lost", "done")
TO_RIG = ("ack", "do")
REHEARSAL = "rehearsal"
"""The name of a simulated rig; no board is paired under it."""
LARGEST_BYTES = 16384
VERSION = 1
"""Of the JSON messages; raised only when a known member changes its meaning."""
NEWER = "a later version of the messages"
"""Begins the reason why a message of a newer firmware is unfit."""
_TOPIC = re.compile(rf"{ROOT}/([a-z0-9][a-z0-9_-]{{0,31}})/({'|'.join(FROM_RIG)})", re.ASCII)
_CONTROL = re.compile(r"[\x00-\x1f\x7f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069]")


class Unfit(ValueError):
    """A message that is none of ours; the text says why."""


class Message(NamedTuple):
    """rig, kind: of the topic; body: dict of a JSON message, Piece of a log message."""

    rig: str
    kind: str
    body: Any


def topic(rig, kind):
    """The topic of a kind of message."""
    return f"{ROOT}/{rig}/{kind}"


def rig_name_fault(rig):
    """ "" for a name that can stand in a topic, else what is wrong with it."""
    if _TOPIC.fullmatch(topic(rig, "log")):
        return ""
    return f"{rig!r} can't name a rig; use 1 to 32 of a-z, 0-9, - and _, a letter or digit first"


@functools.cache
def _checker(kind):
    import fastjsonschema

    text = files("potreeve_tools.station").joinpath("schemas", f"{kind}.json").read_text(encoding="utf-8")
    return fastjsonschema.compile(json.loads(text))


def _refuse(text):
    raise Unfit(f"{text[:20]}: only whole numbers are told")


def _once(pairs):
    found = dict(pairs)
    if len(found) != len(pairs):
        raise Unfit("a member is told twice")
    return found


def load(kind, payload):
    """The checked body of a JSON message. Raises Unfit."""
    import fastjsonschema

    try:
        body = json.loads(payload.decode("utf-8"), parse_float=_refuse, parse_constant=_refuse, object_pairs_hook=_once)
        _same_version(body)
        _checker(kind)(body)
    except Unfit:
        raise
    except fastjsonschema.JsonSchemaValueException as fault:
        # The value itself stays out: it may be anything.
        raise Unfit(f"{fault.name or 'message'}: not as its schema has it ({fault.rule})") from None
    except (ValueError, RecursionError) as fault:
        raise Unfit(f"no JSON text: {type(fault).__name__}") from None
    for text in _texts(body):
        if _CONTROL.search(text) or any("\ud800" <= char <= "\udfff" for char in text):
            raise Unfit("control characters in a text")
    return body


def _same_version(body):
    told = body.get("v") if isinstance(body, dict) else None
    if type(told) is int and told > VERSION:
        raise Unfit(newer(told))


def newer(version):
    """Why a message of a version that this station does not know is unfit."""
    return f"{NEWER}: {version if version < 1000 else 'unknown'}"


def _texts(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, part in value.items():
            yield name
            yield from _texts(part)
    elif isinstance(value, list):
        for part in value:
            yield from _texts(part)


def read(where, payload):
    """The Message in a payload from topic `where`. Raises Unfit."""
    found = _TOPIC.fullmatch(where)
    if not found:
        raise Unfit("no topic of a rig")
    if len(payload) > LARGEST_BYTES:
        raise Unfit(f"{len(payload)} bytes, at most {LARGEST_BYTES}")
    rig, kind = found.groups()
    if kind == "log":
        if payload[:2] == logpiece.MAGIC and payload[2:3] > bytes((logpiece.VERSION,)):
            raise Unfit(newer(payload[2]))
        try:
            return Message(rig, kind, logpiece.unpack(payload))
        except ValueError as fault:
            raise Unfit(str(fault)) from None
    body = load(kind, payload)
    if body["rig"] != rig:
        raise Unfit("it names another rig than its topic")
    return Message(rig, kind, body)


def dump(body):
    """A JSON message as bytes: ASCII, no white space, members in the order given."""
    return json.dumps(body, separators=(",", ":"), allow_nan=False).encode("ascii")


def ack(boot, place, seq, time_s):
    """The payload of an `ack`."""
    segment, byte = logpiece.split(place)
    return dump({"v": 1, "boot": boot, "segment": segment, "byte": byte, "seq": seq, "time_s": int(time_s)})


def command(rig, boot, counter, until_seq, what, key):
    """The payload of a signed `do`. key: bytes."""
    body = {"v": 1, "rig": rig, "boot": boot, "counter": counter, "until_seq": until_seq, "do": what}
    signed = dump(body)[:-1]
    mac = hmac.new(key, signed, hashlib.sha256).hexdigest()[:32]
    return signed + f',"mac":"{mac}"}}'.encode()
