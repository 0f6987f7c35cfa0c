"""hal/radio.py joins a network: what it asks of the port's `network`, word by word."""

import importlib.util
import sys
import types

import pytest
from potreeve_tools.image.places import FIRMWARE

POINT = b"\x02\x00\x00\x00\x00\x07"
KEYS = {
    "wifi_ssid": "sill",
    "wifi_key": "a key",
    "wifi_country": "",
    "wifi_address": "",
    "wifi_mask": "255.255.255.0",
    "wifi_gateway": "",
}


class Wlan:
    """`network.WLAN`; asked: every call that matters. Joins at the third look, or ends with `status_then`."""

    IF_STA, PM_NONE = 0, 16
    found = [(b"other", b"\x02\x00\x00\x00\x00\x09", 1, -20, 3, 0), (b"sill", POINT, 11, -70, 3, 0)]
    found += [(b"sill", b"\x02\x00\x00\x00\x00\x08", 6, -80, 3, 0)]
    knows_channel, status_then = True, 1

    def __init__(self, interface):
        self.asked, self.looks = [], 0
        Wlan.last = self

    def active(self, on):
        self.asked.append(("active", on))

    def config(self, **more):
        self.asked.append(("config", more))

    def ifconfig(self, figures):
        self.asked.append(("ifconfig", figures))

    def scan(self):
        self.asked.append(("scan",))
        return self.found

    def connect(self, ssid, key, bssid=None, **more):
        if more and not self.knows_channel:
            raise TypeError
        self.asked.append(("connect", ssid, key, bssid, more))

    def disconnect(self):
        self.asked.append(("disconnect",))

    def isconnected(self):
        self.looks += 1
        return self.status_then == 1 and self.looks > 2

    def status(self):
        return self.status_then if self.looks > 2 else 1

    def words(self):
        return [word for word, *_ in self.asked]


@pytest.fixture
def radio(monkeypatch):
    """A Wifi of hal/radio.py over a Wlan of the test's own class, which may be changed."""
    own = type("Own", (Wlan,), {})
    countries = []
    monkeypatch.setitem(sys.modules, "network", types.SimpleNamespace(WLAN=own, country=countries.append))
    spec = importlib.util.spec_from_file_location("radio_of_a_board", FIRMWARE / "potreeve" / "hal" / "radio.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return types.SimpleNamespace(wifi=module.Wifi(), wlan=own, module=module, countries=countries)


def rest(idle):
    pass


def test_without_a_hint_the_nearest_of_that_name_is_looked_for_and_remembered(radio):
    radio.wifi.join(KEYS, b"", rest)
    asked = Wlan.last.asked
    assert ("config", {"pm": 16}) in asked and "ifconfig" not in Wlan.last.words() and radio.countries == []
    assert ("connect", "sill", "a key", POINT, {"channel": 11}) in asked and Wlan.last.words().count("scan") == 1
    assert radio.wifi.hint == POINT + b"\x0b"


def test_with_a_hint_nothing_is_looked_for(radio):
    radio.wifi.join({**KEYS, "wifi_key": ""}, POINT + b"\x0b", rest)
    assert "scan" not in Wlan.last.words()
    assert ("connect", "sill", None, POINT, {"channel": 11}) in Wlan.last.asked


def test_a_port_that_takes_no_channel_gets_none(radio):
    radio.wlan.knows_channel = False
    radio.wifi.join(KEYS, POINT + b"\x0b", rest)
    assert ("connect", "sill", "a key", POINT, {}) in Wlan.last.asked


def test_an_address_of_its_own_and_a_country(radio):
    keys = {**KEYS, "wifi_address": "192.168.1.40", "wifi_gateway": "192.168.1.1", "wifi_country": "GB"}
    radio.wifi.join(keys, b"", rest)
    assert ("ifconfig", ("192.168.1.40", "255.255.255.0", "192.168.1.1", "192.168.1.1")) in Wlan.last.asked
    assert radio.countries == ["GB"] and Wlan.last.words().index("ifconfig") < Wlan.last.words().index("connect")
    # Without a gateway it talks to its own network alone.
    radio.wifi.join({**keys, "wifi_gateway": ""}, b"", rest)
    assert ("ifconfig", ("192.168.1.40", "255.255.255.0", "192.168.1.40", "192.168.1.40")) in Wlan.last.asked


def test_no_such_network(radio):
    radio.wlan.found = radio.wlan.found[:1]
    with pytest.raises(OSError) as fault:
        radio.wifi.join(KEYS, b"", rest)
    assert fault.value.args[0] == radio.module.NO_NETWORK


@pytest.mark.parametrize("status", [-3, -2, -1, 200, 201, 202, 203, 204])
def test_what_a_port_says_of_a_key_that_is_wrong_ends_it_at_once(radio, status):
    radio.wlan.status_then = status
    with pytest.raises(OSError) as fault:
        radio.wifi.join(KEYS, b"", rest)
    assert fault.value.args[:2] == (radio.module.NOT_LET_IN, status) and Wlan.last.looks == 3


def test_joining_that_never_ends_ends_with_the_time(radio):
    radio.wlan.status_then = 2
    left = [50]

    def until(idle):
        left[0] -= 1
        if not left[0]:
            raise OSError(110)

    with pytest.raises(OSError, match="110"):
        radio.wifi.join(KEYS, b"", until)
    radio.wifi.off()
    assert Wlan.last.asked[-2:] == [("disconnect",), ("active", False)]


def test_a_port_without_power_saving_is_no_fault(radio):
    def config(self, **more):
        raise ValueError

    radio.wlan.config = config
    radio.wifi.join(KEYS, b"", rest)
    assert radio.wifi.hint
