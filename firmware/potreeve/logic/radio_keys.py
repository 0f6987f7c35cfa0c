"""The settings' table `radio`: its keys, units, ranges and defaults, and what they must not contradict.

Only boards with Wi-Fi are sent this; settings.check loads it where there is such a table.
"""

from potreeve.logic.units import const

# Words, and numbers, as in settings.py, which imports this.
_INT = "int"
_TEXT = "text"
_SECRET = "secret"

# What the owner takes as proof that a record has arrived.
TRUST = ("station", "broker")

# (key, kind, unit, low, high, default); None: must be given.
KEYS = (
    ("wifi_ssid", _TEXT, "", 1, 32, None),
    ("wifi_key", _SECRET, "", 0, 63, ""),
    ("wifi_country", _TEXT, "", 0, 2, ""),
    ("wifi_address", _TEXT, "", 0, 15, ""),
    ("wifi_mask", _TEXT, "", 7, 15, "255.255.255.0"),
    ("wifi_gateway", _TEXT, "", 0, 15, ""),
    ("broker_host", _TEXT, "", 7, 15, None),
    ("broker_port", _INT, "", 1, 65535, 1883),
    ("broker_tls", "bool", "", None, None, False),
    ("broker_name", _TEXT, "", 0, 64, ""),
    ("broker_user", _TEXT, "", 1, 32, None),
    ("broker_key", _SECRET, "", 0, 64, ""),
    ("command_key", _SECRET, "", 0, 64, ""),
    ("send_s", _INT, "s", 600, 43200, 3600),
    ("trust", "choice", "", TRUST, None, "station"),
)

# Codes of faults: the first is settings', the others follow settings.CURVE_SHORT.
NO_TABLE = 1
NOT_NUMERIC = 17
NOT_PLAIN = 18
KEY_SHORT = 19

_WPA_LEAST = const(8)
_HMAC_DIGITS = const(64)
_PLAIN = "abcdefghijklmnopqrstuvwxyz0123456789-_"


def check(data, clean, faults):
    """The table made whole; clean: settings._table. Appends to faults as settings.check."""
    if not isinstance(data, dict):
        faults.append((NO_TABLE, "radio.", "", data))
        return None
    before = len(faults)
    table = clean(data, KEYS, "radio.", faults)
    if len(faults) == before:
        _contradictions(table, faults)
    return table


def _contradictions(table, faults):
    """Append what is wrong with a table whose keys are each right by themselves."""
    for key in ("wifi_address", "wifi_mask", "wifi_gateway", "broker_host"):
        # A name would need somebody to ask, and a wait that no port bounds.
        if table[key] and not numeric(table[key]):
            faults.append((NOT_NUMERIC, "radio.", key, table[key]))
    user = table["broker_user"]
    if user[0] in "-_" or [letter for letter in user if letter not in _PLAIN]:
        faults.append((NOT_PLAIN, "radio.", "broker_user", user))
    if 0 < len(table["wifi_key"]) < _WPA_LEAST:
        faults.append((KEY_SHORT, "radio.", "wifi_key", table["wifi_key"], _WPA_LEAST))
    key = table["command_key"]
    if key and (len(key) != _HMAC_DIGITS or [digit for digit in key if digit not in "0123456789abcdef"]):
        faults.append((KEY_SHORT, "radio.", "command_key", key, _HMAC_DIGITS))


def numeric(text):
    """True for an IPv4 address in figures."""
    parts = text.split(".")
    for part in parts:
        if not (part.isdigit() and len(part) < 4 and int(part) < 256):
            return False
    return len(parts) == 4
