"""Signed commands to a rig: asked for here, told whenever the rig is heard, until it answers or its records have gone
past them.

A board takes them only where its owner has switched that on, and none of them can add water.
"""

from potreeve_tools.station import hostclock, keys, messages
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

WHAT = ("hold", "acknowledge")
# Some four days of a board's wakes: what is not taken by then is not meant any more.
LASTS = 200


def name(rig):
    """Of the note that holds a rig's command."""
    return f"do/{rig}"


def ask(store, rig, what):
    """Sign a command and leave it for the rig; returns its counter. Raises BadInput or Stop."""
    all_keys = keys.load()
    known = all_keys["rigs"].get(rig)
    found = store.rows("SELECT boot FROM rigs WHERE rig = ?", (rig,))
    if known is None or not found or not found[0][0]:
        raise BadInput([f"rig = {rig!r}: not paired with this station, or never heard; see potreeve station pair"])
    boot = found[0][0]
    seq = store.rows("SELECT seq FROM chains WHERE rig = ? AND boot = ?", (rig, boot))[0][0]
    # The counter is kept before anything is signed: one number never stands for two commands.
    known["counter"] = counter = known.get("counter", 0) + 1
    keys.save(all_keys)
    payload = messages.command(rig, boot, counter, max(0, seq) + LASTS, what, bytes.fromhex(known["command"]))
    if len(payload) > 256:
        raise exits.Stop(exits.FAULT, ["the command grew beyond what a board takes"])
    asked = {
        "counter": counter,
        "do": what,
        "until_seq": max(0, seq) + LASTS,
        "payload": payload.decode(),
        "state": "waiting",
    }
    with store.batch():
        store.lock([rig])
        store.set_note(name(rig), {**asked, "asked_s": int(hostclock.wall_s())})
    return counter


def state(store, rig):
    """What became of a rig's last command: dict with counter, do, state ("waiting", "done", "refused", "stale") and
    why; None for none."""
    return store.note(name(rig))


def to_tell(store, rig, seq=None):
    """The payload that a rig which has just been heard is to be told, or None. seq: of its newest record, where it
    told one."""
    asked = store.note(name(rig))
    if asked is None or asked["state"] != "waiting":
        return None
    if seq is not None and seq > asked["until_seq"]:
        store.set_note(name(rig), {**asked, "state": "stale"})
        return None
    return asked["payload"].encode()


def answered(store, rig, body):
    """Take a rig's `done`. One that holds another key can't know what was asked: its command waits, with the reason."""
    asked = store.note(name(rig))
    if asked is None or asked["state"] != "waiting":
        return
    if asked["counter"] == body["counter"]:
        store.set_note(name(rig), {**asked, "state": body["result"], "why": body.get("why", "")})
    elif body.get("why") == "mac":
        store.set_note(name(rig), {**asked, "why": "mac"})
