"""A display of 128 x 64 dots over I2C: SSD1306, by its data sheet (rev 1.5: commands in table 9-1, order of the start
in the application note's figure 2).

Behind each value V-2nd: the same in several published copies of the data sheet's table of commands (the sheet itself
was not at hand); M: from memory.

It decides nothing: what is drawn comes as strokes from logic/face.py. Whatever the bus does comes out as OSError. Dark,
the chip and its charge pump sleep, at 10 uA or less (M).
"""

# What stands before commands: no continuation, all that follow are commands (V-2nd).
_COMMANDS = b"\x00"

# Do nothing (V-2nd): asks whether somebody is there.
_NOP = b"\xe3"
# Dark, which is its sleep mode; charge pump off, as after a reset (V-2nd both).
_OFF = b"\xae\x8d\x10"


class Ssd1306:
    """rig.display. After a reset in mid-show it may be lit still: it begins by being switched off."""

    def __init__(self, i2c, address):
        self._i2c = i2c
        self._address = address
        # The picture and how it gets there, while it is lit.
        self._picture = None
        try:
            self.off()
        except OSError:
            pass

    def answers(self):
        """1; OSError where nothing answers."""
        self.command(_NOP)
        return 1

    def show(self, strokes):
        """Draw a page and light it; OSError where the display goes meanwhile. strokes: see logic/face.py."""
        if self._picture is None:
            from potreeve.hal import picture

            self._picture = picture.Picture(self)
        self._picture.show(strokes)

    def off(self):
        """Dark; OSError where it does not answer."""
        if self._picture is not None:
            from potreeve.hal import forget

            self._picture = None
            forget("potreeve.hal", "picture")
        self.command(_OFF)

    def command(self, what):
        """Send bytes of commands."""
        self.write(_COMMANDS + what)

    def write(self, what):
        """Send bytes behind their control byte."""
        self._i2c.writeto(self._address, what)
