"""Vectors per logic module: (function, arguments, expected), plain values only.

A function is looked up in the vectors' own module first, then in the logic
module of the same name. An expected value of `ANY` means that only the
interpreters are compared with each other.
"""

ANY = "any"
