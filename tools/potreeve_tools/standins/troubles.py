"""What the two ends of a rehearsal's link agree on: bits for troubles of a board, and for what its panel showed."""

# Trouble with files, and the radio's; TORN to SENT strike once, before the board starts.
FULL = 1
SPOILT = 2
TORN = 4
FORGOTTEN = 8
FORMATTED = 16
SENT = 32
MUTE = 64
# The display answers, and is gone from the bus in mid-write.
BLANK = 128
# From here on: how many of a thousand writes fail.
TIRED_SHIFT = 8

LED_OK = 1
LED_WARN = 2
BEEP = 4
UNSENT = 8
UNSHOWN = 16

# What a counter that began with the power shows by the time the firmware reads it.
SINCE_POWER_MS = 1000
