"""What TLS takes of memory, measured where it can be: the ssl of unix MicroPython, whose mbedTLS takes its memory from
the C library, with that library's calls counted. Prints a table with -s. Needs a C compiler, for the counting."""

import os
import shutil
import subprocess

import pytest
from potreeve_tools.bench import device

COMPILER = shutil.which("cc")
pytestmark = pytest.mark.skipif(COMPILER is None, reason="no C compiler")

# Counts what malloc, calloc and realloc give and free takes back; getenv("POTREEVE_MARK_x") writes down what is held
# and the most that was held since the mark before.
COUNTING = r"""
#define _GNU_SOURCE
#include <dlfcn.h>
#include <malloc.h>
#include <stdio.h>
#include <string.h>
static long held, most;
static void more(void *p) { if (p) { held += malloc_usable_size(p); if (held > most) most = held; } }
extern void *__libc_malloc(size_t), *__libc_calloc(size_t, size_t), *__libc_realloc(void *, size_t);
extern void __libc_free(void *);
void *malloc(size_t n) { void *p = __libc_malloc(n); more(p); return p; }
void *calloc(size_t n, size_t m) { void *p = __libc_calloc(n, m); more(p); return p; }
void *realloc(void *old, size_t n) {
    if (old) held -= malloc_usable_size(old);
    void *p = __libc_realloc(old, n); more(p); return p;
}
void free(void *p) { if (p) held -= malloc_usable_size(p); __libc_free(p); }
char *getenv(const char *name) {
    static char *(*real)(const char *);
    if (!strncmp(name, "POTREEVE_MARK_", 14)) {
        fprintf(stderr, "%s %ld %ld\n", name + 14, held, most);
        most = held;
        return 0;
    }
    if (!real) real = (char *(*)(const char *)) dlsym(RTLD_NEXT, "getenv");
    return real(name);
}
"""

# As the firmware does it: hal's own file wraps the socket.
GUEST = r"""
import gc, os, socket, sys
port, folder = int(sys.argv[1]), sys.argv[2]
sys.path.append(sys.argv[3])
from hal import secured
with open(folder + "/ca.der", "rb") as file:
    ca = file.read()

def mark(name):
    gc.collect()
    print(name, gc.mem_alloc())
    os.getenv("POTREEVE_MARK_" + name)

sock = socket.socket()
sock.connect(socket.getaddrinfo("127.0.0.1", port)[0][-1])
sock.setblocking(False)
hello = b"\x10\x10\x00\x04MQTT\x04\x02\x00\x3c\x00\x04sill"
buffer = bytearray(16)
mark("connected")
mark("again")
sock = secured.wrap(sock, ca, "127.0.0.1")
mark("wrapped")
while not sock.write(hello):
    pass
mark("shaken")
while not sock.readinto(buffer):
    pass
mark("answered")
sock.close()
mark("closed")
"""


@pytest.fixture
def counting(tmp_path):
    source, made = tmp_path / "counting.c", tmp_path / "counting.so"
    source.write_text(COUNTING)
    done = subprocess.run(
        [COMPILER, "-O1", "-shared", "-fPIC", "-o", made, source, "-ldl"], capture_output=True, text=True
    )
    if done.returncode:
        pytest.skip(f"no such C library here: {done.stderr[:200]}")
    return made


def test_what_a_tls_connection_holds(secured, counting, tmp_path):
    (tmp_path / "ca.der").write_bytes(secured.ca)
    (tmp_path / "guest.py").write_text(GUEST)
    hal = tmp_path / "tree" / "hal"
    hal.mkdir(parents=True)
    shutil.copy(device.FIRMWARE / "potreeve" / "hal" / "secured.py", hal)
    done = subprocess.run(
        [*device.MICROPYTHON, str(tmp_path / "guest.py"), str(secured.port), str(tmp_path), str(tmp_path / "tree")],
        env={**os.environ, "LD_PRELOAD": str(counting)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    heap = {name: int(size) for name, size in map(str.split, done.stdout.splitlines())}
    told = {name: (int(held), int(most)) for name, held, most in map(str.split, done.stderr.splitlines())}
    assert heap.keys() == told.keys()
    before = told["again"][0]
    print("\nbytes              MicroPython's heap  C library: held, most since the line before")
    for name in ("wrapped", "shaken", "answered", "closed"):
        held, most = (value - before for value in told[name])
        print(f"{name:18} {heap[name] - heap['again']:18} {held:17} {most:6}")
    # The counting counts, and nothing stays when the connection is closed.
    assert told["shaken"][1] - before > 20_000
    assert told["closed"][0] - before < 1000
    assert max(most for _, most in list(told.values())[2:]) - before < 60_000
