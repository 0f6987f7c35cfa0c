"""Every device of a board in service, tried once."""


def _tried(call, *given):
    try:
        return call(*given)
    except Exception as fault:
        return ["!", repr(fault)]


def _devices():
    import time

    from potreeve import keep, service
    from potreeve.hal import parts as bus

    # Service keeps its rig to itself; only these programs, which speak for a person at the desk, reach for it.
    rig = service._running.rig
    seen = {
        "pumps_on": [number for number, pin in enumerate(rig.pumps._pins) if pin.value()],
        "master_on": rig.pumps._enable.value() if rig.pumps._enable is not None else 0,
        "button": _tried(rig.panel.button),
    }

    def scan():
        wires = bus.open_bus(rig.board)
        return None if wires is None else list(wires.scan())

    seen["i2c"] = _tried(scan)
    seen["battery_mv"] = _tried(rig.battery.read_mv)
    seen["climate"] = _tried(rig.climate.read)
    seen["lx"] = _tried(rig.light.read_lx)
    sensor = rig.tray_sensor
    if sensor:
        seen["tray_mv"] = _tried(sensor.millivolts)
    sensor = rig.tub_sensor
    if sensor:
        seen["tub"] = _tried(sensor.raw if hasattr(sensor, "raw") else sensor.pattern)
    sensor = rig.soil_sensor
    if sensor:
        seen["soil_cdeg"] = _tried(sensor.read, None)
    seen["utc_s"] = _tried(rig.clock.utc_s)
    began = time.ticks_ms()
    time.sleep_ms(200)
    seen["slept_ms"] = time.ticks_diff(time.ticks_ms(), began)
    seen["whole"] = _tried(keep.code_whole, rig.code)
    return seen
