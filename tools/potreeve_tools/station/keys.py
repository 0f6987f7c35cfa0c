"""The station's secrets: one file that its owner alone can read. They are shown nowhere but there."""

import hashlib
import hmac
import json
import os
import secrets

from potreeve_tools.station import config
from potreeve_tools.terminal import exits, files
from potreeve_tools.terminal.faultlist import BadInput

NAME = "keys.json"
STATION = "potreeve-station"
# RFC 7914's interactive figures, twice the memory.
SCRYPT = {"n": 1 << 15, "r": 8, "p": 1, "maxmem": 1 << 26}


def load():
    """All secrets, made where there are none yet."""
    path = config.folder() / NAME
    if path.exists():
        found = files.read_json(path, 1 << 22)
        if not isinstance(found, dict) or not isinstance(found.get("rigs"), dict):
            raise BadInput(
                [
                    f"{path}: not the station's keys; move it away to have new ones made (all rigs must then be "
                    f"paired anew)"
                ]
            )
        return found
    made = {
        "broker": secrets.token_urlsafe(24),
        "page": secrets.token_hex(32),
        "metrics": secrets.token_urlsafe(24),
        "rigs": {},
    }
    save(made)
    return made


def save(all_keys):
    """Put the secrets away, whole or not at all."""
    path = config.folder() / NAME
    part = path.with_suffix(".part")
    try:
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w") as file:
            json.dump(all_keys, file, indent=1)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except OSError as fault:
        raise exits.Stop(
            exits.BAD_INPUT, [f"{path}: can't be written: {fault.strerror or fault}; free some room"]
        ) from None


def rig(all_keys, name, anew=False):
    """(key for the broker, key for signed commands in hex) of a rig, made where there are none. True at the end: made
    now."""
    known = all_keys["rigs"].get(name)
    if known and not anew:
        return known["broker"], known["command"], False
    made = {
        "broker": secrets.token_urlsafe(24),
        "command": secrets.token_hex(32),
        "counter": (known or {}).get("counter", 0),
    }
    all_keys["rigs"][name] = made
    save(all_keys)
    return made["broker"], made["command"], True


def set_password(all_keys, password):
    """Remember a page password, as what can't be turned back into it."""
    salt = secrets.token_bytes(16)
    all_keys["account"] = {"salt": salt.hex(), "hash": hashlib.scrypt(password.encode(), salt=salt, **SCRYPT).hex()}
    # Whoever was logged in is no more.
    all_keys["page"] = secrets.token_hex(32)
    save(all_keys)


def password_holds(all_keys, password):
    """True for the page's password."""
    account = all_keys.get("account")
    if not account or len(password) > 1000:
        return False
    given = hashlib.scrypt(password.encode(), salt=bytes.fromhex(account["salt"]), **SCRYPT).hex()
    return hmac.compare_digest(given, account["hash"])
