"""Pairing: a rig gets its name, its keys and the broker's address over the cable, and the broker learns who it is."""

import copy
import ipaddress
import json
import socket

from potreeve.logic import dosing

from potreeve_tools.station import hostclock, intake, keys, messages
from potreeve_tools.terminal.faultlist import BadInput

TABLE = "radio"


def own_address(towards="192.0.2.1"):
    """The address under which this machine is seen on its network, "" where it can't be told. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sock:
        try:
            sock.connect((towards, 9))
            return sock.getsockname()[0]
        except OSError:
            return ""


def check(rig, host):
    """Raise BadInput for a name or an address a board can't use."""
    faults = [fault] if (fault := messages.rig_name_fault(rig)) else []
    try:
        if ipaddress.ip_address(host).version != 4 or ipaddress.ip_address(host).is_loopback:
            raise ValueError
    except ValueError:
        faults.append(
            f"broker-host = {host!r}: a board takes an IPv4 address of the broker in its own network; give one such "
            f"as 192.168.1.20"
        )
    if faults:
        raise BadInput(faults)


def table(settings, rig, broker_key, command_key, **told):
    """A copy of settings with the rig's radio table; what it had and is not told anew stays. told: None leaves as it
    is."""
    new = copy.deepcopy(settings)
    radio = dict(new.get(TABLE) or {})
    radio.update({key: value for key, value in told.items() if value is not None})
    radio.update(broker_user=rig, broker_key=broker_key, command_key=command_key)
    new[TABLE] = radio
    return new


def keys_for(rig, commands, anew=False):
    """(broker key, command key or "" where signed commands are off, made now)."""
    broker, command, made = keys.rig(keys.load(), rig, anew)
    return broker, command if commands else "", made


def about(settings, rig, board):
    """What an `about` says, made of a board's settings: for boards that have no room to say it themselves."""
    pots = [
        {
            "pot": channel["name"],
            "plant": channel["plant"],
            "refill_pm": dosing.refill_point_pm(channel),
            "stress_pm": dosing.stress_point_pm(channel),
        }
        for channel in settings["channels"]
    ]
    return {"v": 1, "rig": rig, "name": settings["name"], "board": board, "pots": pots}


def remember(store, body):
    """Have the station know of a rig before it is heard; what the rig itself says later counts."""
    with store.batch():
        store.lock([body["rig"]])
        intake.know(store, body["rig"], json.dumps(body), int(hostclock.wall_s()))
