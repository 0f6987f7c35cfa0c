"""Details nobody wants on the screen go to a file, whose path is shown."""

import tempfile
from datetime import datetime
from pathlib import Path


def write_down(kind, text):
    """Put text into a file of the user's state folder, or of the temporary one; returns its path, or words that there
    is none.

    kind: what its name begins with.
    """
    import platformdirs

    name = f"{kind}-{datetime.now():%Y%m%d-%H%M%S-%f}.txt"
    for folder in (
        Path(platformdirs.user_state_dir("potreeve", appauthor=False)) / "faults",
        Path(tempfile.gettempdir()),
    ):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(text, encoding="utf-8")
        except OSError:
            continue
        return folder / name
    return "no file: neither the state folder nor the temporary one can be written"
