"""The log's segments: what there is, and pieces of it."""


def _hashed(path, count):
    """Eight bytes of the SHA-256 of a file's first `count` bytes. No CRC: over records that end with their own it is
    the same whatever they say."""
    import hashlib

    digest = hashlib.sha256()
    with open(path, "rb") as file:
        while count > 0:
            data = file.read(512 if count > 512 else count)
            if not data:
                break
            count -= len(data)
            digest.update(data)
    return digest.digest()[:8]


def _segments(known):
    """Print [(number, size, hash of as many bytes as the desk has)]; size -1: can't be read. known: {number: bytes}."""
    import os

    found = []
    try:
        names = os.listdir("/data")
    except OSError:
        names = []
    for name in names:
        if name[:4] == "log." and len(name) == 10 and name[4:].isdigit():
            number = int(name[4:])
            path = "/data/" + name
            try:
                size = os.stat(path)[6]
                count = known.get(number, 0)
                found.append((number, size, _hashed(path, count) if count else b""))
            except OSError:
                found.append((number, -1, b""))
    print(found)


def _pieces(wanted):
    """Print pieces of files and the checksum of all. wanted: [(name, first byte, bytes)]."""
    from binascii import b2a_base64, crc32

    crc = 0
    for name, at, count in wanted:
        try:
            with open("/data/" + name, "rb") as file:
                file.seek(at)
                while count > 0:
                    data = file.read(510 if count > 510 else count)
                    if not data:
                        break
                    count -= len(data)
                    crc = crc32(data, crc)
                    print(b2a_base64(data).decode().strip())
        except OSError as fault:
            print("!", fault.args[0])
        print("-")
    print(crc & 0xFFFFFFFF)
