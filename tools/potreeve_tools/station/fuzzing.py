"""Payloads of a rig that lies: torn, mad, huge, almost right. For tests and `potreeve bench fuzz`."""

import json
import random
import struct

from potreeve_tools.station import logpiece, messages

KINDS = messages.FROM_RIG
TEXTS = (
    "<script>alert(1)</script>",
    "\u202egnp.exe",
    "' OR 1=1 --",
    "\x00",
    "\ud800",
    "a" * 100_000,
    "",
    "../../etc/passwd",
    "{{7*7}}",
    "${jndi:x}",
)
NUMBERS = (-1, 0, 2**31, 2**32, 2**63, 2**64, 10**400, True, None, 1.5, "7")


def payload(rng, good):
    """(topic's kind, payload) number so and so. good: {kind: payload bytes} of a rig that tells the truth."""
    kind = rng.choice(KINDS)
    base = good[rng.choice((kind, rng.choice(KINDS)))]
    how = rng.randrange(8)
    if how == 0:
        return kind, rng.randbytes(rng.choice((0, 1, 24, 25, 140, 141, 500, 20_000)))
    if how == 1:
        return kind, base[: rng.randrange(len(base) + 1)]
    if how == 2:
        at = rng.randrange(len(base))
        return kind, base[:at] + bytes([base[at] ^ (1 << rng.randrange(8))]) + base[at + 1 :]
    if how == 3:
        return kind, base + base[: rng.randrange(len(base))]
    if how == 4:
        return kind, _head(rng) + good["log"][logpiece.HEAD_BYTES :]
    if how == 5:
        return kind, (b"[" * rng.randrange(5000)) or b"{" * 900
    return kind, _twisted(rng, good)


def _head(rng):
    def number(bits):
        return min(rng.choice((0, 1, 17, 668, 1 << 32, rng.getrandbits(bits))), (1 << bits) - 1)

    magic = rng.choice((b"PL", b"PL", b"PL", b"XX"))
    return struct.pack(
        "<2sBBIIIHHI",
        magic,
        rng.choice((1, 1, 1, 2)),
        number(8),
        *[number(32) for _ in range(3)],
        number(16),
        number(16),
        number(32),
    )


def _twisted(rng, good):
    body = json.loads(good[rng.choice([kind for kind in KINDS if kind != "log"])])
    for _ in range(rng.randint(1, 3)):
        name = rng.choice(list(body))
        body[name] = rng.choice((rng.choice(TEXTS), rng.choice(NUMBERS), [], {}, [{}] * 9, {"pot": rng.choice(TEXTS)}))
        if rng.random() < 0.2:
            body[rng.choice(TEXTS)] = body.pop(name)
        if isinstance(body.get("pots"), list) and body["pots"] and isinstance(body["pots"][0], dict):
            body["pots"][0][rng.choice(("pot", "plant", "moisture_pm", "rung"))] = rng.choice((*TEXTS, *NUMBERS))
    return json.dumps(body, ensure_ascii=rng.random() < 0.5).encode("utf-8", "surrogatepass")


def truth(rig, piece, report, about):
    """{kind: payload} of a rig that tells the truth, to be twisted."""
    base = {"v": 1, "rig": rig, "boot": report["boot"]}
    return {
        "log": logpiece.pack(piece),
        "report": messages.dump(report),
        "about": messages.dump(about),
        "lost": messages.dump(base),
        "done": messages.dump({**base, "counter": 4, "result": "done"}),
    }


def stream(seed, count, good):
    """`count` payloads, the same for the same seed."""
    rng = random.Random(seed)
    for _ in range(count):
        yield payload(rng, good)
