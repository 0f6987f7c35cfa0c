"""The board starts here: pumps off before anything else, then the wake cycle."""

try:
    from potreeve import hal

    # A folder without its first file would import, too.
    open_rig = hal.open_rig
except Exception as fault:
    # Missing, half sent, or compiled for another MicroPython; no pump pin has been touched.
    print("potreeve: unfinished, no pump is driven (%r); run potreeve flash again" % fault)
    hal = None

if hal:
    rig = None
    try:
        rig = open_rig()
        from potreeve import service

        service.attend(rig)
        from potreeve import app

        app.run(rig)
    except Exception as fault:
        hal.stand_by(rig, fault)
    finally:
        hal.pumps_off()
