"""Runs the vectors of some logic modules and prints one canonical line for each.

Works in CPython and in MicroPython, 64 and 32 bit: it is the same program in all
of them, and what it prints is compared byte for byte.
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


def results(name, first=0, last=100000):
    """[(line number, function name, result as text)] of one module's vectors, or of a part of them."""
    vectors = getattr(__import__("vectors." + name), name)
    logic = getattr(__import__("potreeve.logic." + name).logic, name)
    found = []
    for number, (function, arguments, _) in enumerate(vectors.VECTORS):
        if not first <= number < last:
            continue
        call = getattr(vectors, function, None) or getattr(logic, function)
        found.append((number, function, text_of(call(*arguments))))
    return found


def run(names, first=0, last=100000):
    for name in names:
        for number, function, text in results(name, first, last):
            print("%s %d %s = %s" % (name, number, function, text))
