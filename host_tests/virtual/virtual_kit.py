"""What the tests of the virtual board share."""


def heard(transport, ending, timeout=5):
    """What comes until `ending`."""
    data = transport.read_until(1, ending, timeout=timeout)
    assert data.endswith(ending), data
    return data
