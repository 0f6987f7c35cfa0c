#!/usr/bin/env python3
"""Set-up on a fresh machine, then the command: standard library only.

    python3 tools/go.py                     set up, show what there is
    python3 tools/go.py rehearse --days 7   set up if need be, then `potreeve rehearse --days 7`
    python3 tools/go.py test [ARGS]         ruff, then the tests; ARGS go to pytest
    python3 tools/go.py test --quick        those worth running after every change, in less than two minutes

Everything lands in .venv beside this repository's README and nowhere else. It
holds what the command at hand needs: the packages of the tests come when a command first asks for them. A second run
finds it ready and starts at once. Delete .venv to start over.
"""

# Written so that old Pythons get as far as the sentence that says they are old.
import contextlib
import hashlib
import os
import shutil
import subprocess
import sys
import time

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
VENV = os.path.join(ROOT, ".venv")
MARKER = os.path.join(VENV, "potreeve-ready")
UNFINISHED = os.path.join(VENV, "potreeve-unfinished")
LOCK = os.path.join(ROOT, ".venv.lock")
OLDEST, TOO_NEW = (3, 11), (3, 15)
# These run the tests, or measure with their packages; all else makes do with a fifth of the room.
WITH_TESTS = ("test", "flash", "bench")
WITH_STATION = ("station", "--station")
# Each holds what the ones before it hold.
EXTRAS = ("", "station", "test")
LOCK_WAIT_S = 900
FAILED, BAD_INPUT, FAULT, INTERRUPTED = 1, 2, 70, 130
WINDOWS = os.name == "nt"


class Missing(Exception):
    """Something the set-up needs isn't there. The text: what, and what to do."""


# ---- what is needed ------------------------------------------------------------------------


def suits(version):
    """True for a Python version (major, minor) that all pinned packages have wheels for."""
    return OLDEST <= tuple(version[:2]) < TOO_NEW


def find_python():
    """Path of a Python that suits: this one, else one on the PATH. Raises Missing."""
    if suits(sys.version_info):
        # Not the environment's own Python: that could not make itself anew.
        return getattr(sys, "_base_executable", None) or sys.executable
    for minor in range(TOO_NEW[1] - 1, OLDEST[1] - 1, -1):
        path = shutil.which("python3.%d" % minor)
        if path and suits(version_of(path)):
            say("this is Python %d.%d; using %s" % (sys.version_info[0], sys.version_info[1], path))
            return path
    raise Missing(
        "Python %d.%d is too %s: 3.%d to 3.%d is needed (the pinned packages are built for these), and none is on "
        "the PATH; install one, for example `apt install python3.12 python3.12-venv`, `brew install python@3.12` "
        "or from python.org, then run that: python3.12 tools/go.py"
        % (
            sys.version_info[0],
            sys.version_info[1],
            "old" if sys.version_info[:2] < OLDEST else "new",
            OLDEST[1],
            TOO_NEW[1] - 1,
        )
    )


def version_of(python):
    """(major, minor) of an interpreter, (0, 0) when it does not run."""
    if python in (sys.executable, getattr(sys, "_base_executable", None)):
        return tuple(sys.version_info[:2])
    try:
        done = subprocess.run(
            [python, "-c", "import sys; print(*sys.version_info[:2])"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=60,
            check=False,
        )
        return tuple(int(word) for word in done.stdout.split()[:2]) or (0, 0)
    except (OSError, ValueError, subprocess.TimeoutExpired):
        return (0, 0)


def extra_for(args):
    """The extra of pyproject.toml that a command needs, "" for none."""
    if args[:1] and args[0] in WITH_TESTS or any("micropython32" in arg for arg in args):
        return "test"
    return "station" if any(arg.split("=")[0] in WITH_STATION for arg in args) else ""


def fingerprint(python, extra):
    """What the environment depends on, as text: pins, place, Python, extra."""
    digest = hashlib.sha256()
    for name in ("pyproject.toml", os.path.join("tools", "go.py")):
        with open(os.path.join(ROOT, name), "rb") as file:
            digest.update(file.read())
    digest.update(("%s %s %s" % (ROOT, extra, version_of(python))).encode())
    return digest.hexdigest()


def venv_python():
    """Path of the environment's Python, there or not."""
    return os.path.join(VENV, "Scripts", "python.exe") if WINDOWS else os.path.join(VENV, "bin", "python")


def ready(python, extra):
    """True when the environment is finished and holds what the extra asks for, or more."""
    try:
        with open(MARKER) as file:
            made_for = file.read().strip()
        fits = made_for in [fingerprint(python, one) for one in EXTRAS[EXTRAS.index(extra) :]]
        return fits and os.path.exists(venv_python())
    except OSError:
        return False


# ---- making it -----------------------------------------------------------------------------


def prepare(extra):
    """Make the environment if need be. Returns its Python. Raises Missing."""
    python = find_python()
    if not ready(python, extra):
        with locked():
            # Another run may have finished it while this one waited.
            if not ready(python, extra):
                make(python, extra)
                write(MARKER, fingerprint(python, extra) + "\n")
                remove(UNFINISHED)
    return venv_python()


def make(python, extra):
    """Bring the environment up to the pins; whatever is half made or of another Python goes first."""
    if os.path.lexists(VENV) and not os.path.isdir(VENV):
        raise Missing("%s is there but is no folder; move it away" % VENV)
    remove(MARKER)
    if os.path.isdir(VENV) and not usable(python):
        clear()
    if not os.path.isdir(VENV):
        say("making %s (once)" % os.path.relpath(VENV))
        os.mkdir(VENV)
        write(UNFINISHED, "An environment being made; go.py deletes it if it was interrupted.\n")
        run([python, "-m", "venv", VENV], venv_remedy)
    write(UNFINISHED, "Packages being installed; go.py goes on here if it was interrupted.\n")
    say("installing the pinned packages (%s, once)" % ("a minute or two" if extra else "less than a minute"))
    run(
        [
            venv_python(),
            "-m",
            "pip",
            "install",
            "--no-input",
            "--disable-pip-version-check",
            "--editable",
            "%s[%s]" % (ROOT, extra) if extra else ROOT,
        ],
        pip_remedy,
    )


def usable(python):
    """True when what stands in .venv is an environment of this Python that can install."""
    if version_of(venv_python()) != version_of(python):
        return False
    return (
        subprocess.run(
            [venv_python(), "-m", "pip", "--version"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False
        ).returncode
        == 0
    )


def clear():
    """Delete a .venv that can't be used, provided it is one."""
    ours = os.path.exists(os.path.join(VENV, "pyvenv.cfg")) or os.path.exists(UNFINISHED) or not os.listdir(VENV)
    if os.path.islink(VENV) or not ours:
        raise Missing("%s is there but is no environment of Python; move it away" % VENV)
    say("%s is unfinished or of another Python; making it anew" % os.path.relpath(VENV))
    shutil.rmtree(VENV)


def run(command, remedy):
    """Run a step of the set-up quietly; when it fails, raise Missing with its last words and what to do."""
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=environment(), check=False)
    if done.returncode:
        text = done.stdout.decode(errors="replace").strip()
        last = "\n".join("    " + line for line in text.splitlines()[-12:])
        raise Missing("%s\n%s" % (remedy(text), last))


def venv_remedy(text):
    """What to do when making the environment failed."""
    if "ensurepip" in text or "No module named venv" in text:
        return (
            "Python's venv module is incomplete; on Debian and Ubuntu: apt install python3-venv (for another version: "
            "python3.12-venv)"
        )
    if "No space left" in text:
        return "the disk is full; 200 MB are needed, with the tests 1 GB"
    return "the environment could not be made"


def pip_remedy(text):
    """What to do when installing failed."""
    if "No space left" in text:
        return "the disk is full; 200 MB are needed, with the tests 1 GB"
    if "Permission denied" in text:
        return "%s can't be written; check who owns it" % VENV
    signs = (
        "Temporary failure in name resolution",
        "Name or service not known",
        "nodename nor servname",
        "ConnectTimeout",
        "NewConnectionError",
        "Network is unreachable",
        "Connection refused",
        "Max retries exceeded",
        "ProxyError",
        "Read timed out",
        "ConnectionResetError",
        "getaddrinfo failed",
        "Could not fetch URL",
        "(from versions: none)",
    )
    if any(sign in text for sign in signs):
        return (
            "the packages can't be fetched: no network, or a proxy in between; connect once and run this again (pip's "
            "own settings, such as PIP_INDEX_URL, PIP_FIND_LINKS and HTTPS_PROXY, are obeyed)"
        )
    if "No matching distribution" in text or "Could not find a version" in text:
        return (
            "a pinned package is not to be had for this machine (%s, Python %s) or from where pip looks; the last "
            "lines name "
            "it" % (sys.platform, ".".join(map(str, version_of(venv_python()))))
        )
    return "the packages could not be installed"


@contextlib.contextmanager
def locked():
    """One set-up at a time: wait for another one to end."""
    with open(LOCK, "a+") as file:
        take, free = lock_calls(file)
        waiting_since = time.time()
        told = False
        while True:
            try:
                take()
                break
            except OSError:
                if not told:
                    say("another set-up is running; waiting for it")
                    told = True
                if time.time() - waiting_since > LOCK_WAIT_S:
                    raise Missing(
                        "another set-up has held %s for %d minutes; end it and run this again"
                        % (LOCK, LOCK_WAIT_S // 60)
                    ) from None
                time.sleep(0.5)
        try:
            yield
        finally:
            free()


def lock_calls(file):
    """(take, free) for a file's lock; it falls by itself when the process ends."""
    if WINDOWS:
        import msvcrt

        return (lambda: msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)), (
            lambda: msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)
        )
    import fcntl

    return (lambda: fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)), (lambda: fcntl.flock(file, fcntl.LOCK_UN))


# ---- running -------------------------------------------------------------------------------


def environment():
    """The process's environment without what would lead Python astray."""
    env = dict(os.environ)
    for name in ("PYTHONHOME", "PYTHONPATH", "__PYVENV_LAUNCHER__"):
        env.pop(name, None)
    return env


def command_for(python, args):
    """(command, folder to run it in or None) for go.py's arguments."""
    if args[:2] == ["test", "--quick"]:
        return [python, "-m", "potreeve_tools.link.flash.quick", *args[2:]], ROOT
    if args[:1] == ["test"]:
        return [python, "-m", "pytest", *several(args[1:]), *args[1:]], ROOT
    return [python, "-m", "potreeve_tools", *args], None


def several(args):
    """What lets the whole suite run in several processes, where nobody chose otherwise: one more than cores, for tests
    with a virtual board mostly wait for it. Some tests alone are sooner done in one, for each process looks for all."""
    chosen = ("-n", "--numprocesses", "-k", "-p", "-s", "--pdb", "--capture", "--durations")
    if any(arg.startswith(chosen) or os.path.exists(arg.split("::")[0]) for arg in args):
        return []
    return ["-n", str((os.cpu_count() or 1) + 1), "--dist", "worksteal"]


def in_form(python):
    """True when ruff has nothing to say of the code's form; prints what it has to say."""
    done = [
        subprocess.run([python, "-m", "ruff", *words, ROOT], env=environment(), cwd=ROOT, check=False).returncode
        for words in (["check", "--quiet"], ["format", "--check", "--quiet"])
    ]
    if any(done):
        say("mend that first: .venv/bin/ruff check --fix . && .venv/bin/ruff format .")
    return not any(done)


def hand_over(command, folder):
    """Become the command, so that Ctrl-C and the exit code are its own."""
    if folder:
        os.chdir(folder)
    sys.stdout.flush()
    sys.stderr.flush()
    if WINDOWS:
        return subprocess.run(command, env=environment(), check=False).returncode
    os.execve(command[0], command, environment())
    raise AssertionError("not reached")


def say(text):
    print("go.py: " + text, file=sys.stderr, flush=True)


def write(path, text):
    with open(path, "w") as file:
        file.write(text)


def remove(path):
    with contextlib.suppress(FileNotFoundError):
        os.remove(path)


def main(args):
    """Exit code; on POSIX a successful set-up does not come back."""
    try:
        python = prepare(extra_for(args))
        if args[:1] == ["test"] and not in_form(python):
            return FAILED
        return hand_over(*command_for(python, args))
    except Missing as fault:
        say(str(fault))
        return BAD_INPUT
    except KeyboardInterrupt:
        say("stopped; run it again and it goes on from here")
        return INTERRUPTED
    except OSError as fault:
        say("%s: %s" % (fault.filename or "the system", fault.strerror or fault))
        return FAULT


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
