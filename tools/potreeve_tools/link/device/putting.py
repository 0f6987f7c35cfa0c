"""Settings put in force, in one step of the board's own store, after its own check. Each says [word, detail]."""


def _checked(data, pumps):
    """Why these bytes won't do, None if they do."""
    import json

    from potreeve.logic import settings

    try:
        checked, wrong = settings.check(json.loads(str(data, "utf-8")))
    except Exception as fault:
        return [str(fault)]
    if wrong:
        return wrong
    return ["more channels than pumps"] if len(checked["channels"]) > pumps else None


def _swap(first, then, pumps):
    """Replace two files in this order, one step each; says what the board makes of its settings then."""
    from potreeve import keep
    from potreeve.hal import store

    data = store.Store("/data")
    try:
        for name, content in (first, then):
            if content is not None:
                data.replace(name, content)
    except OSError as fault:
        return ["file", fault.args[0]]
    return ["done", keep.load_settings(data, pumps)[1]]


def _now(name):
    from potreeve.hal import store

    try:
        return store.Store("/data").read(name)
    except OSError:
        return None


def _commit(new, size, crc, pumps):
    """What has arrived becomes the settings, what was there can be brought back."""
    from binascii import crc32

    if len(new) != size or crc32(new) & 0xFFFFFFFF != crc:
        return ["damaged", 0]
    wrong = _checked(new, pumps)
    if wrong:
        return ["refused", wrong]
    old = _now("settings.json")
    if old == new:
        old = None
    return _swap(("settings.undo.json", old), ("settings.json", bytes(new)), pumps)


def _undo(pumps):
    """The settings before the last push, and those of now in their place."""
    old = _now("settings.undo.json")
    if old is None:
        return ["none", 0]
    wrong = _checked(old, pumps)
    if wrong:
        return ["refused", wrong]
    now = _now("settings.json")
    return _swap(("settings.json", old), ("settings.undo.json", now), pumps)
