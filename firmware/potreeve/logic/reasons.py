"""Why a pot or the rig is not simply tended: one number each, in every record.

The tool turns them into sentences; the board only needs the numbers.
"""

NONE = 0

# The probe can't be believed (the pot is rationed).
BROKEN = 1  # wire open: at the upper rail
SHORTED = 2  # at the lower rail, or a silent pulse probe
NOISY = 3  # samples of one burst far apart
OUTSIDE = 4  # beyond anything its calibration allows
STILL = 5  # the very same count again and again
OUT_OF_SOIL = 6  # as dry as air
FELL = 7  # drier, faster than any plant drinks
NOT_FALLING = 8  # wet through days of thirst
DRIFTS = 9  # asks for ever less water than the days explain

# No water until a person has looked (the pot is held).
NO_RISE = 20  # pulses that did not raise the moisture
RUNS_ON = 21  # moisture rising with nothing given, or far beyond the dose
CROSSED = 22  # another pot rose in its place
TOO_WET = 23  # above container capacity for long; returns by itself
NOT_CALIBRATED = 24

# What bounds a pot for the moment.
POT_DAY = 31
RIG_DAY = 32
TRAY = 33
BATTERY = 34
DRY = 35  # below its stress point for long, whatever the cause
KEPT_FULL = 36  # stands ever higher than its plant's thirst explains, or is wet through it: something feeds it
RUNS_THROUGH = 37  # keeps less than half of its water, by its doses so far
WAITS = 38  # well below where it is due, and got none for two days

# Seen, and harmless.
WATERED = 40  # rose by other hands

# The whole rig.
OWNER = 50  # long press
REBOOTS = 51  # starting over too often
NO_SETTINGS = 52  # no settings that pass the check, old or new
DAMAGED = 53  # an installed file differs from its manifest
STRAYS = 54  # one pot rises whenever another is watered
RISING = 55  # several pots rise at once with nothing given: water in the tray
WET_TRAY = 56  # the tray's sensor feels water
WET_DENIED = 57  # and somebody pressed that the tray is empty
TUB_EMPTY = 58  # no pump is run dry

# Seen, and said.
TUB_LOW = 60  # the tub lasts only a few days more
TUB_LEAK = 61  # more went from the tub than pumps and air can have taken
TUB_STAYS = 62  # less went than the pumps must have taken
TUB_FLOAT = 63  # floats that can't be believed
