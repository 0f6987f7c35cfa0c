"""Runs the vectors of some logic modules and prints one canonical line for each.

Works in CPython and in MicroPython, 64 and 32 bit: it is the same program in all
of them, and what it prints is compared byte for byte.
"""

from vectortext import text_of


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
