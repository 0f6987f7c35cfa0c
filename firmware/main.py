"""The board starts here: pumps off before anything else, then the wake cycle."""

from potreeve import hal

rig = None
try:
    rig = hal.open_rig()
    from potreeve import app

    app.run(rig)
except Exception as fault:
    hal.stand_by(rig, fault)
finally:
    hal.pumps_off()
