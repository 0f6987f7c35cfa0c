"""Makes the README's pictures of the station's page: a rehearsal with a mishap reports to a live station. Needs
Chromium and mosquitto.

.venv/bin/python -m potreeve_tools.pictures.station
"""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request

from potreeve_tools.pictures.make import BROWSERS, HERE

MISHAP, DAYS = "probe_out_for_a_month", "20"
SHOTS = (("station.png", "/rig/rehearsal", 1000, 1500), ("station_phone.png", "/", 390, 844))


def free_port():
    """A port nobody listens at."""
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return sock.getsockname()[1]


def make():
    """Take all pictures."""
    browser = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if browser is None:
        raise SystemExit("Chromium is needed for the pictures; install it")
    page, broker = free_port(), free_port()
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "POTREEVE_DATA_DIR": folder}
        base = [sys.executable, "-m", "potreeve_tools"]
        station = subprocess.Popen(
            [
                *base,
                "station",
                "--broker",
                "builtin",
                "--broker-listen",
                f"127.0.0.1:{broker}",
                "--listen",
                f"127.0.0.1:{page}",
            ],
            env=env,
            stderr=subprocess.DEVNULL,
        )
        try:
            for _ in range(300):
                try:
                    urllib.request.urlopen(f"http://127.0.0.1:{page}/", timeout=1).close()
                    break
                except OSError:
                    time.sleep(0.1)
            told = ["--station", f"127.0.0.1:{broker}", "--pace", "0", "--mishap", MISHAP, "--days", DAYS]
            subprocess.run([*base, "rehearse", *told], env=env, check=True, stdout=subprocess.DEVNULL, timeout=300)
            photograph(browser, f"http://127.0.0.1:{page}")
        finally:
            station.terminate()
            station.wait(30)


def photograph(browser, url):
    """The pages, once they show the alarm."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=browser, args=["--no-sandbox"])
        for name, path, width, height in SHOTS:
            shown = made.new_page(viewport={"width": width, "height": height})
            shown.goto(url + path)
            shown.wait_for_selector("text=To do:", timeout=60_000)
            if path != "/":
                shown.wait_for_selector(".u-over", timeout=20_000)
            shown.screenshot(path=HERE / name)
        made.close()


if __name__ == "__main__":
    make()
