"""How a vector's answer is written, so that no interpreter spells it differently.

Runs in CPython and in MicroPython, on the host and on the board.
"""


def text_of(value):
    """A value as text that no interpreter spells differently."""
    if value is None or value is True or value is False:
        return str(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return "'" + value + "'"
    if isinstance(value, (bytes, bytearray)):
        return "x" + "".join(["%02x" % byte for byte in value])
    if isinstance(value, (list, tuple)):
        return "(" + ", ".join([text_of(item) for item in value]) + ")"
    if isinstance(value, dict):
        return "{" + ", ".join([key + ": " + text_of(value[key]) for key in sorted(value)]) + "}"
    return "? " + str(type(value))
