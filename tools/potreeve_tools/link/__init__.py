"""The serial link to a board: finding it, getting its attention, talking to it, all through mpremote's transport."""
