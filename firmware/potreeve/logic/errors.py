"""What failed in a wake: bits of Readings.errors and of every record."""

LEDGER = 1
LOG = 2
CLIMATE = 4
LIGHT = 8
BATTERY = 16
SETTINGS = 32  # the newest settings did not pass; the last good ones run
PROBE = 64
PUMP = 128
CLOCK = 256
PANEL = 512
RADIO = 1024
CODE = 2048  # an installed file differs from its manifest
TRAY_SENSOR = 8192  # the tray's sensor: its wire is open, or shorted
TUB_SENSOR = 16384  # the tub's sensor shows what can't be
SOIL_SENSOR = 32768  # the soil's thermometer tells nothing that can be believed; the air's stands for it
NOT_KEPT = 4096  # what came of this very wake could not be stored; nothing is decided by this
