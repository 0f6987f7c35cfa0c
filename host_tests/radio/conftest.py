"""The broker, its certificates, and a rehearsal of a small rig that has a radio."""

import shutil

import pytest
from network import MOSQUITTO, Broker, certificates
from potreeve_tools.owner import commission
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig


@pytest.fixture(scope="session")
def broker(tmp_path_factory):
    with Broker(tmp_path_factory.mktemp("broker")) as broker:
        yield broker


@pytest.fixture(scope="session")
def secured(tmp_path_factory):
    """A broker with TLS; `ca`: the authority's certificate."""
    folder = tmp_path_factory.mktemp("secured")
    ca, *own = certificates(folder)
    with Broker(folder, tls=own) as broker:
        broker.ca = ca
        yield broker
