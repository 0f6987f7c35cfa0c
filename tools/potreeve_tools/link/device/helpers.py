"""What all commands do with files, sent once at the start of a conversation."""

import hashlib
import json
import os
from binascii import a2b_base64, b2a_base64

# What arrives comes as text: this makes bytes of it, wherever it is to go.
_a = a2b_base64
# The file that is being written.
_f = None


def _hash(name):
    digest = hashlib.sha256()
    room = bytearray(512)
    view = memoryview(room)
    try:
        with open(name, "rb") as file:
            while True:
                count = file.readinto(room)
                if not count:
                    break
                digest.update(view[:count])
    except OSError:
        return None
    return "".join(["%02x" % byte for byte in digest.digest()])


def _begin(name):
    global _f
    parts = name.split("/")
    for count in range(1, len(parts)):
        try:
            os.mkdir("/".join(parts[:count]))
        except OSError:
            pass
    _f = open(name + ".tmp", "wb")


def _end(name, digest):
    _f.close()
    if _hash(name + ".tmp") != digest:
        return False
    os.rename(name + ".tmp", name)
    try:
        os.sync()
    except AttributeError:
        pass
    return True


def _drop(name):
    try:
        _f.close()
    except (AttributeError, OSError):
        pass
    try:
        os.remove(name + ".tmp")
    except OSError:
        pass


def _give(name, at, most):
    with open(name, "rb") as file:
        file.seek(at)
        while most > 0:
            data = file.read(768 if most > 768 else most)
            if not data:
                break
            most -= len(data)
            print(b2a_base64(data).decode(), end="")


def _walk(folder, found):
    for entry in os.ilistdir(folder or "/"):
        path = folder + "/" + entry[0] if folder else entry[0]
        if entry[1] == 0x4000:
            _walk(path, found)
        else:
            found[path] = entry[3]
    return found


def _held(names, tail):
    """Print each file and the ends of the newest log segments: a name, then its bytes, or why it can't be read."""
    for name in names:
        _one(name, 0)
    try:
        logs = sorted([name for name in os.listdir("/data") if name[:4] == "log." and len(name) == 10])
    except OSError:
        logs = []
    for name in logs[-2:]:
        path = "/data/" + name
        try:
            _one(path, max(0, os.stat(path)[6] - tail))
        except OSError as fault:
            print("!" + str(fault.args[0]))


def _one(name, at):
    print(">" + name)
    try:
        _give(name, at, 1 << 20)
    except OSError as fault:
        print("!" + str(fault.args[0]))


def _survey(folder, named):
    """Print what is installed as it goes, for a heap in use has no room for all of it at once.

    data/ and folders of other programs are none of our business.
    """
    for entry in os.ilistdir("/" + folder):
        path = folder + entry[0]
        if entry[1] == 0x4000:
            if folder or entry[0] in ("potreeve", "lib"):
                print(json.dumps(["d", path]))
                _survey(path + "/", named)
        else:
            print(json.dumps(["f", path, entry[3], _hash(path) if folder or entry[0] in named else ""]))


def _text(name):
    try:
        with open(name) as file:
            print(json.dumps(["t", name, file.read()]))
    except (OSError, ValueError):
        pass


def _installed(named, texts):
    disk = os.statvfs("/")
    print(json.dumps(["s", disk[0], disk[2], disk[3]]))
    _survey("", named)
    for name in texts:
        _text(name)
