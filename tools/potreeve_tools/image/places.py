"""Where the firmware and the board files lie: in a checkout, or as the installed package carries them.

A checkout is used as it stands, so that a change shows at once. A wheel carries a copy of both, made by carried.py.
"""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]
SHIPPED = PACKAGE / "shipped"


def checkout(package=PACKAGE):
    """Folder of the checkout that this package belongs to, None where it was installed from a wheel."""
    root = Path(package).parents[1]
    own = root / "tools" / "potreeve_tools" == Path(package) and (root / "firmware" / "main.py").is_file()
    return root if own else None


CHECKOUT = checkout()
FIRMWARE = (CHECKOUT or SHIPPED) / "firmware"
BOARDS = (CHECKOUT or SHIPPED) / "boards"
