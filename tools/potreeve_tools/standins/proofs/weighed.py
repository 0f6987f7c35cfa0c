"""The firmware of one board as it stands in memory: for bench/footprint.py, whose guest imports this after stubchip.

hardware(), application(), session() load one layer after the other; wake() is one wake, with the sleep before it.
"""

import stubchip

root = "/input/"
kept = {}


def hardware():
    # main.py lets go of its own before the rest is loaded.
    from potreeve import hal

    kept["rig"] = hal.open_rig(root)
    stubchip.Pin.low = kept["rig"].board.get("extras", {}).get("tub_pins", ())


def application():
    from potreeve import app, service

    kept["modules"] = app, service


def session():
    app, service = kept["modules"]
    rig = kept["rig"]
    rig.store = stubchip.Files()
    with open(root + "settings.json", "rb") as file:
        rig.store.write("settings.json", file.read())
    service.attend(rig)
    kept["session"] = app.Session(rig)
    kept["seconds"] = 0


def wake():
    # Where memory is lost asleep each wake is a start; its memory is what was there before the first.
    if kept["seconds"] and kept["rig"].power.keeps_ram:
        kept["session"].sleep(kept["seconds"])
    kept["seconds"] = kept["session"].wake()
