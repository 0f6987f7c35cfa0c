"""Files on a board: read, written all or nothing, listed, hashed."""

import base64
import contextlib
import hashlib

from potreeve_tools.link import faults
from potreeve_tools.terminal import exits

CHUNK_BYTES = 2048


class BoardFiles:
    """Part of Board (see port.py): what is done with files, each in as few round trips as it can be."""

    def read_file(self, name, start=0, size=None, progress=None):
        """A file's bytes from start, at most size of them, in one round trip; None if there is no such file."""
        most = 1 << 29 if size is None else size
        try:
            said = self._exec(f"_give({name!r},{start},{most})", f"reading {name}", timeout_s=15)
        except faults.DeviceFault as fault:
            if fault.kind == "OSError" and ("ENOENT" in fault.said or fault.said.startswith("2")):
                return None
            raise
        data = b"".join(base64.b64decode(line) for line in said.split())
        if progress:
            progress(len(data), len(data))
        return data

    def write_file(self, name, data, progress=None):
        """Put a file in place, all or nothing: written aside, its hash checked on the board, renamed.

        name: path from the root. progress: called with (bytes sent, bytes in
        all). Raises Stop(NOT_VERIFIED) if what arrived differs.
        """
        try:
            arrived = self._send_file(name, data, progress)
        except faults.DeviceFault:
            # A full file system: what was sent so far must not stay.
            with contextlib.suppress(exits.Stop):
                self._exec(f"_drop({name!r})", "clearing up")
            raise
        if not arrived:
            raise exits.Stop(
                exits.NOT_VERIFIED,
                [
                    f"{self.port}: {name} did not arrive on the board as it was sent; the old file is still in place.",
                    "Repeat the command; if it happens again, try another cable.",
                ],
            )
        if progress:
            progress(len(data), len(data))

    def _send_file(self, name, data, progress):
        """Write aside, check, rename; False when the hash differs."""
        doing = f"writing {name}"
        digest = hashlib.sha256(data).hexdigest()
        code = f"_begin({name!r})\n"
        for at in range(0, max(1, len(data)), CHUNK_BYTES):
            piece = base64.b64encode(data[at : at + CHUNK_BYTES]).decode()
            code += f"_f.write(_a('{piece}'))\n" if piece else ""
            if at + CHUNK_BYTES < len(data):
                self._exec(code, doing)
                code = ""
                if progress:
                    progress(at + CHUNK_BYTES, len(data))
        return self.run(f"{code}answer=_end({name!r},{digest!r})", doing)

    def hashes(self, names):
        """{name: SHA-256 in hex, None where there is no such file} of many files in one round trip."""
        names = list(names)
        if not names:
            return {}
        found = self.run("answer=[_hash(n) for n in names]", "checking its files", timeout_s=30, names=names)
        return dict(zip(names, found, strict=True))

    def list_files(self):
        """{path from the root: bytes} of every file."""
        return self.run("answer=_walk('',{})", "listing its files")

    def remove(self, name):
        """Remove a file; True if it was there."""
        return self.run(
            "try:\n os.remove(name)\n answer=True\nexcept OSError as e:\n if e.args[0]!=2: raise\n answer=False",
            f"removing {name}",
            name=name,
        )
