"""Draws pages of the display as a board does: logic/face.py's strokes, hal/picture.py, MicroPython's own framebuf.

usage: drawn.py JOB RESULT     JOB: a JSON file, [{"state": hex of a packed state, "settings", "head", "page": place or
None for all}, ...]

RESULT gets one JSON object per page: {"job", "page", "pages", "kind", "which", "bytes": hex of the framebuffer, "ms"}.
"""

import json
import sys
import time

import picture
from potreeve.logic import face, state

with open(sys.argv[1]) as file:
    jobs = json.load(file)
with open(sys.argv[2], "w") as result:
    for number, job in enumerate(jobs):
        seen = face.Seen(state.unpack(bytes.fromhex(job["state"])), job["settings"], job["head"])
        pages = face.pages(seen)
        for place in range(len(pages)):
            if job.get("page", place) not in (place, None):
                continue
            buffer = bytearray(1024)
            began = time.ticks_ms()
            picture.draw(buffer, face.strokes(seen, pages, place))
            told = {
                "job": number,
                "page": place,
                "pages": len(pages),
                "kind": pages[place][0],
                "which": pages[place][1],
            }
            told["ms"] = time.ticks_diff(time.ticks_ms(), began)
            told["bytes"] = buffer.hex()
            result.write(json.dumps(told) + "\n")
