"""JSON as a board reads it: MicroPython's reader is laxer than most, and what it takes is what runs.

A comma or a colon is blank space to it, one closing bracket is as good as the other,
and a number may begin with noughts. Whoever asks what a
board makes of the bytes it holds asks here; a file that a person hands in is read
strictly (settings/settingsfile.py) and reaches the board in one plain form.
"""

import re

_BLANK = b",: \t\n\r"
_SPACE = b" \t\n\r\v\f"
_DIGITS = b"0123456789"
_ESCAPES = {ord("b"): 8, ord("f"): 12, ord("n"): 10, ord("r"): 13, ord("t"): 9}
_WORDS = {ord("n"): (b"ull", None), ord("f"): (b"alse", False), ord("t"): (b"rue", True)}
# Stands for a whole number too long for this Python to read; far out of every range.
_HUGE = 10**20
_MISSING = object()
_FLOAT = re.compile(r"-?(?P<whole>\d*)(\.(?P<part>\d*))?([eE][+-]?\d+)?")


def loads(data):
    """What the board's json.loads makes of bytes. Raises ValueError where that does."""
    return _Reader(bytes(data)).whole()


class _Reader:
    def __init__(self, data):
        self.data, self.at = data, 0

    def here(self):
        """The byte at hand; 0 at the end, and a 0 is the end."""
        return self.data[self.at] if self.at < len(self.data) else 0

    def on(self):
        self.at += 1
        return self.here()

    def whole(self):
        top, above, key = _MISSING, [], _MISSING
        while True:
            if not self.here():
                raise ValueError("ends too early")
            byte = self.here()
            if byte in _BLANK:
                self.on()
                continue
            if byte in b"}]":
                self.on()
                if top is _MISSING:
                    raise ValueError("a closing bracket comes first")
                if not above:
                    break
                top = above.pop()
                continue
            value = self.value()
            enters = isinstance(value, (list, dict))
            if top is _MISSING:
                top = value
                if not enters:
                    break
                continue
            if isinstance(top, list):
                top.append(value)
            elif key is _MISSING:
                if enters:
                    raise ValueError("a list or a table in place of a key")
                key = value
            else:
                top[key], key = value, _MISSING
            if enters:
                above.append(top)
                top = value
        while self.here() and self.here() in _SPACE:
            self.on()
        if self.here():
            raise ValueError(f"goes on after its end (byte {self.at})")
        return top

    def value(self):
        byte = self.here()
        if byte == ord('"'):
            return self.text()
        if byte == ord("[") or byte == ord("{"):
            self.on()
            return [] if byte == ord("[") else {}
        if byte == ord("-") or byte in _DIGITS:
            return self.number()
        rest, value = _WORDS.get(byte, (None, None))
        if rest is None or self.data[self.at + 1 : self.at + 1 + len(rest)] != rest:
            raise ValueError(f"nothing begins like that (byte {self.at})")
        self.at += 1 + len(rest)
        return value

    def number(self):
        begin = self.at
        while self.on() and (self.here() in b".Ee+-" or self.here() in _DIGITS):
            pass
        text = self.data[begin : self.at].decode("ascii")
        if any(c in ".Ee" for c in text):
            parts = _FLOAT.fullmatch(text)
            if not parts:
                raise ValueError(f"no number (byte {begin})")
            # Without any digit it is nought, there.
            return float(text) if parts["whole"] or parts["part"] else 0.0
        if not text.lstrip("-").isdigit() or text.startswith("--"):
            raise ValueError(f"no number (byte {begin})")
        return int(text) if len(text) < 4000 else _HUGE

    def text(self):
        found = bytearray()
        self.on()
        while self.here() and self.here() != ord('"'):
            byte = self.here()
            if byte == ord("\\"):
                byte = self.on()
                if byte == ord("u"):
                    found += self.code_point()
                    self.on()
                    continue
                byte = _ESCAPES.get(byte, byte)
            found.append(byte)
            self.on()
        if not self.here():
            raise ValueError("a text without its end")
        self.on()
        return _shown(bytes(found))

    def code_point(self):
        """Four digits after a \\u; what is no digit counts all the same, as there."""
        number = 0
        for _ in range(4):
            digit = ((self.on() | 0x20) - ord("0")) & 0xFF
            number = number << 4 | ((digit - 39) & 0xFF if digit > 9 else digit)
        try:
            return chr(number).encode("utf-8")
        except (ValueError, UnicodeEncodeError):
            return "\ufffd".encode()


def _shown(data):
    """Text of bytes; what is none of the board's kind raises, what only Python refuses is one mark each."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        more = 0
        for byte in data:
            if (byte & 0xC0 == 0x80) != bool(more) or byte >= 0xF8:
                raise ValueError("text that is not UTF-8") from None
            more = more - 1 if more else (byte >= 0xC0) + (byte >= 0xE0) + (byte >= 0xF0)
        if more:
            raise ValueError("text that is not UTF-8") from None
        return "".join(chr(byte) if byte < 0x80 else "\ufffd" for byte in data if byte & 0xC0 != 0x80)
