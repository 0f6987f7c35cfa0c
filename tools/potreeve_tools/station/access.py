"""Who may say what at the broker: mosquitto's access list, passwords and settings, written for the rigs that are
paired."""

import os
import shutil
import subprocess
from pathlib import Path

from potreeve_tools.station import keys, messages
from potreeve_tools.terminal import exits

ACL, PASSWORDS, SETTINGS = "potreeve.acl", "potreeve.passwd", "potreeve.conf"
TOOL = "mosquitto_passwd"
_PLACES = "/usr/bin:/usr/sbin:/usr/local/bin:/usr/local/sbin:/opt/homebrew/bin:/opt/homebrew/sbin"


def program(name):
    """Path of one of mosquitto's programs. Raises Stop."""
    found = shutil.which(name) or shutil.which(name, path=_PLACES)
    if found is None:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                f"{name} is not installed; it comes with the broker mosquitto: apt install mosquitto, brew install "
                f"mosquitto, "
                "winget install EclipseFoundation.Mosquitto"
            ],
        )
    return found


def access_list():
    """The access list as text: a rig speaks for itself alone, the station listens to all and answers."""
    lines = ["# A rig may speak and hear for itself alone; its name is that of its MQTT user."]
    lines += [f"pattern write {messages.ROOT}/%u/{kind}" for kind in messages.FROM_RIG]
    lines += [f"pattern read {messages.ROOT}/%u/{kind}" for kind in messages.TO_RIG]
    lines += ["", f"user {keys.STATION}"]
    lines += [f"topic read {messages.ROOT}/+/{kind}" for kind in messages.FROM_RIG]
    lines += [f"topic write {messages.ROOT}/+/{kind}" for kind in messages.TO_RIG]
    return "\n".join(lines) + "\n"


def settings(folder, listen="1883", own=""):
    """Lines of a mosquitto configuration. listen: what follows `listener`; own: more lines."""
    return (
        f"listener {listen}\nallow_anonymous false\npassword_file {folder / PASSWORDS}\nacl_file {folder / ACL}\n"
        "# A rig that was cut off is replaced by itself.\nuse_username_as_clientid false\n"
        f"max_queued_messages 0\nmax_packet_size {messages.LARGEST_BYTES + 256}\npersistence true\n{own}"
    )


def write(folder, all_keys, listen="1883", own=""):
    """Write all three files to a folder; passwords only as mosquitto's own hashes. Raises Stop."""
    folder = Path(folder)
    tool = program(TOOL)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / ACL).write_text(access_list(), encoding="ascii")
        (folder / SETTINGS).write_text(settings(folder, listen, own), encoding="utf-8")
        plain = {keys.STATION: all_keys["broker"], **{name: one["broker"] for name, one in all_keys["rigs"].items()}}
        part = folder / (PASSWORDS + ".part")
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w") as file:
            file.write("".join(f"{name}:{key}\n" for name, key in plain.items()))
        # The keys go in by a file: a command line can be read by everybody.
        done = subprocess.run([tool, "-U", str(part)], capture_output=True, text=True, timeout=300, check=False)
        if done.returncode or any(key in part.read_text() for key in plain.values()):
            part.unlink()
            raise exits.Stop(exits.FAILED, [f"{tool} could not make the passwords: {done.stderr.strip()[:200]}"])
        part.replace(folder / PASSWORDS)
        for name in (ACL, PASSWORDS, SETTINGS):
            os.chmod(folder / name, 0o600)
    except OSError as fault:
        raise exits.Stop(
            exits.BAD_INPUT, [f"{folder}: can't be written: {fault.strerror or fault}; give another folder"]
        ) from None
