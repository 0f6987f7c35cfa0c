"""Board files: pins, energy figures and limits, checked against what the chip can do."""
