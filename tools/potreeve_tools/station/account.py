"""Who may look, and who may press: a password for whoever comes over a network, and forms that no other page can
send."""

import hashlib
import hmac
import ipaddress
import secrets
import threading
import time

from potreeve_tools.station import keys

COOKIE, SESSION_S = "potreeve", 30 * 86400
CSRF_COOKIE = "potreeve_form"
TRIES, TRIES_S = 5, 60.0


class Account:
    """all_keys: as keys.load gives. open_: True on the loopback, where no password is asked. secure: the cookie
    travels by TLS alone."""

    def __init__(self, all_keys, open_, secure):
        self._secret = bytes.fromhex(all_keys["page"])
        self._keys, self.open, self.secure = all_keys, open_, secure
        self._failed = []
        self._lock = threading.Lock()

    def _sign(self, text):
        return hmac.new(self._secret, text.encode(), hashlib.sha256).hexdigest()

    def session(self):
        """A cookie's value for somebody who has just given the password."""
        text = f"{int(time.time()) + SESSION_S}.{secrets.token_hex(16)}"
        return f"{text}.{self._sign('session ' + text)}"

    def known(self, cookie):
        """True for a cookie of ours that has not run out."""
        text, _, mac = (cookie or "").rpartition(".")
        if not text or not hmac.compare_digest(self._sign("session " + text).encode(), mac.encode("utf-8", "replace")):
            return False
        until = text.partition(".")[0]
        return until.isdigit() and int(until) > time.time()

    def may_look(self, request):
        """True for whoever may see the page."""
        return self.open or self.known(request.cookies.get(COOKIE))

    def may_scrape(self, request):
        """True for whoever may read /metrics: as for the page, or with the token."""
        given = request.headers.get("authorization", "")
        token = "Bearer " + self._keys["metrics"]
        return self.may_look(request) or hmac.compare_digest(given.encode("utf-8", "replace"), token.encode())

    def form_seed(self, request):
        """What a form's token is made of: a cookie of this browser, new where it has none."""
        seed = request.cookies.get(CSRF_COOKIE, "")
        return seed if len(seed) == 32 and seed.isalnum() else secrets.token_hex(16)

    def form_token(self, seed):
        """The hidden field of every form."""
        return self._sign("form " + seed)

    def form_holds(self, request, given):
        """True for a form that this station gave to this browser, sent from its own page."""
        if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return False
        seed = request.cookies.get(CSRF_COOKIE, "")
        return bool(seed) and hmac.compare_digest(self.form_token(seed).encode(), str(given).encode("utf-8", "replace"))

    def password(self, given):
        """True for the password. After a few wrong ones within a minute, none is looked at."""
        with self._lock:
            now = time.monotonic()
            self._failed = [at for at in self._failed if now - at < TRIES_S]
            if len(self._failed) >= TRIES:
                return False
            if keys.password_holds(self._keys, given):
                return True
            self._failed.append(now)
            return False


def is_loopback(host):
    """True for an address that only this machine reaches."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def host_fits(header, open_):
    """True when a request names this machine as such: on the loopback a strange name is another site's trick."""
    if not open_:
        return True
    name = header.rsplit(":", 1)[0] if not header.endswith("]") else header
    return is_loopback(name.strip("[]"))
