"""What stands in for a board, one of each: rig, flash, files, time, endings, chip; faults are configuration.

These files run beside the firmware, in MicroPython and in CPython, and so keep to the former's language and find
one another by their bare names: the folder itself is on the path. Of this package they import nothing.

    ticks, ends     the counter that wraps; how a board's run can end
    flash, cutting  a block device that wears, rots and loses its power
    stores          hal's store without a file system
    rig             the rig that `hal.open_rig` gives, over a Site; sill, simhal: two Sites
    chip/           `machine`, `time` and `esp32` as a board has them, over a bench
    the rest        openings of a rehearsal
    proofs/         programs that run on these
"""
