"""The radio's table: made whole, or refused with every fault."""

from potreeve.logic import radio_keys, settings

LEAST = {"wifi_ssid": "sill", "broker_host": "192.168.1.20", "broker_user": "sill"}
KEY = "0123456789abcdef" * 4


def check(changes, drop=()):
    """(some checked values or None, faults)"""
    data = dict(LEAST)
    data.update(changes)
    for key in drop:
        del data[key]
    return _checked(data)


def raw(data):
    return _checked(data)


def _checked(data):
    faults = []
    table = radio_keys.check(data, settings._table, faults)
    if table is None or faults:
        return None, faults
    return [table[key] for key in ("wifi_key", "wifi_mask", "broker_port", "broker_tls", "send_s", "trust")], faults


def whole():
    """Within settings: there if it was given, and not if not."""
    data = {"tray_headroom_ml": 1500, "tray_area_cm2": 900, "channels": [{"name": "mint", "pot_ml": 1200,
                                                                          "holds_ml": 500}]}
    bare = settings.check(dict(data))[0]
    data["radio"] = LEAST
    found, faults = settings.check(data)
    again = settings.check(dict(found))[0]
    return "radio" in bare, found["radio"]["broker_port"], faults, again["radio"] == found["radio"]


VECTORS = (
    ("check", ({},), (["", "255.255.255.0", 1883, False, 3600, "station"], [])),
    ("check", ({"wifi_key": "12345678", "broker_port": 8883, "broker_tls": True, "send_s": 600, "trust": "broker"},),
     (["12345678", "255.255.255.0", 8883, True, 600, "broker"], [])),
    ("check", ({"command_key": KEY},), (["", "255.255.255.0", 1883, False, 3600, "station"], [])),
    ("check", ({}, ("wifi_ssid", "broker_host")),
     (None, [(8, "radio.", "wifi_ssid", None), (8, "radio.", "broker_host", None)])),
    ("check", ({"wifi_ssid": "", "send_s": 599, "colour": 1},),
     (None, [(6, "radio.", "wifi_ssid", ""), (6, "radio.", "send_s", 599), (9, "radio.", "colour", 1)])),
    ("check", ({"broker_host": "broker.lan"},), (None, [(17, "radio.", "broker_host", "broker.lan")])),
    ("check", ({"wifi_address": "192.168.1.256", "wifi_gateway": "1.2.3"},),
     (None, [(17, "radio.", "wifi_address", "192.168.1.256"), (17, "radio.", "wifi_gateway", "1.2.3")])),
    ("check", ({"broker_user": "-sill"},), (None, [(18, "radio.", "broker_user", "-sill")])),
    ("check", ({"broker_user": "Sill/x"},), (None, [(18, "radio.", "broker_user", "Sill/x")])),
    ("check", ({"wifi_key": "1234567"},), (None, [(19, "radio.", "wifi_key", "1234567", 8)])),
    ("check", ({"command_key": KEY[1:]},), (None, [(19, "radio.", "command_key", KEY[1:], 64)])),
    ("check", ({"command_key": "G" + KEY[1:]},), (None, [(19, "radio.", "command_key", "G" + KEY[1:], 64)])),
    ("raw", (3,), (None, [(1, "radio.", "", 3)])),
    ("whole", (), (False, 1883, [], True)),
    ("numeric", ("0.0.0.0",), True),
    ("numeric", ("255.255.255.255",), True),
    ("numeric", ("1.2.3.4.5",), False),
    ("numeric", ("1.2.3.0004",), False),
    ("numeric", ("1.2.3.",), False),
    ("numeric", ("1.2.3.-4",), False),
)  # fmt: skip
