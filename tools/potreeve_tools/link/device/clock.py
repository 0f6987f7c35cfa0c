"""The board's wall clock, and that of its external chip: what it says, and set by the desk's."""


def _set_clock(utc_s):
    """Unix seconds the board's clock showed before, 0 where they could not be believed."""
    from potreeve import service

    clock = service._running.rig.clock
    before = clock.utc_s()
    if not before or abs(before - utc_s) > 1:
        clock.set_utc(utc_s)
    return before
