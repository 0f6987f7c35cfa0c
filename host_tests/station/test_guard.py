"""Who may look and press at the page, asked as an enemy would: no cookie, a stolen form, another site, a strange
name."""

import http.client
import re
import urllib.parse

import pytest
from mosquitto import free_port
from potreeve_tools.station import account, broker, config, keys, service
from station_kit import running

PASSWORD = "a long enough one"


@pytest.fixture
def plan(mosquitto, tmp_path):
    return service.Plan(
        broker.Address("127.0.0.1", mosquitto.port), str(tmp_path / "s.db"), config.load(), ("127.0.0.1", free_port())
    )


class Caller:
    """A client that does just what it is told."""

    def __init__(self, plan):
        self.port, self.cookies = plan.listen[1], {}

    def ask(self, method, path, form=None, **headers):
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        body = urllib.parse.urlencode(form) if form is not None else None
        if self.cookies:
            headers["cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        if body is not None:
            headers["content-type"] = "application/x-www-form-urlencoded"
        link.request(method, path, body, {"host": f"127.0.0.1:{self.port}", "accept": "text/html", **headers})
        answer = link.getresponse()
        for name, value in answer.getheaders():
            if name == "set-cookie":
                first = value.split(";")[0]
                self.cookies[first.split("=")[0]] = first.split("=", 1)[1]
                answer.cookie = value
        answer.text = answer.read().decode("utf-8", "replace")
        link.close()
        return answer

    def token(self, path="/"):
        return re.search(r'name="csrf" value="([0-9a-f]+)"', self.ask("GET", path).text)[1]


def test_loopback_needs_no_password_but_a_form_of_its_own(plan):
    with running(plan):
        me = Caller(plan)
        assert me.ask("GET", "/").status == 200
        for path in ("/alarm", "/tub", "/logout"):
            assert me.ask("POST", path, {"alarm": "1"}).status == 403
            assert me.ask("POST", path, {"alarm": "1", "csrf": "0" * 64}).status == 403
            assert me.ask("GET", path).status == 405
        for method in ("PUT", "DELETE", "PATCH"):
            assert me.ask(method, "/").status == 405


def test_another_sites_name_or_form_is_refused(plan):
    with running(plan) as station:
        me = Caller(plan)
        assert me.ask("GET", "/", host="evil.example").status == 421
        assert me.ask("GET", "/metrics", host="evil.example:8090").status == 421
        assert me.ask("GET", "/", host="localhost:1").status == 200
        me.ask("GET", "/")
        seed = me.cookies[account.CSRF_COOKIE]
        good = account.Account(keys.load(), True, False).form_token(seed)
        assert me.ask("POST", "/tub", {"rig": "x", "csrf": good}).status == 303
        assert me.ask("POST", "/tub", {"rig": "x", "csrf": good}, **{"sec-fetch-site": "cross-site"}).status == 403
        assert me.ask("POST", "/tub", {"rig": "x" * 9000, "csrf": good}).status == 413
        assert station.trouble() == "" or "broker" in station.trouble()


def test_a_page_for_others_asks_for_the_password(plan):
    keys.set_password(keys.load(), PASSWORD)
    plan.proxied = True
    with running(plan):
        me = Caller(plan)
        for path in ("/", "/rig/sill", "/rig/sill/history", "/live", "/nothing"):
            answer = me.ask("GET", path)
            assert answer.status == 303 and answer.getheader("location") == "/login"
        assert me.ask("GET", "/rig/sill/history", accept="application/json").status == 401
        assert me.ask("GET", "/metrics").status == 401
        assert me.ask("GET", "/metrics", authorization="Bearer " + keys.load()["metrics"]).status == 200
        token = me.token("/login")
        assert me.ask("POST", "/login", {"csrf": token, "password": "guess"}).status == 403
        assert account.COOKIE not in me.cookies
        came = me.ask("POST", "/login", {"csrf": token, "password": PASSWORD})
        assert came.status == 303 and {"HttpOnly", "Secure", "SameSite=strict"} <= set(came.cookie.split("; "))
        assert me.ask("GET", "/").status == 200
        me.cookies[account.COOKIE] = me.cookies[account.COOKIE][:-1] + "0" * (me.cookies[account.COOKIE][-1] != "0")
        assert me.ask("GET", "/").status in (200, 303)
        me.cookies[account.COOKIE] = "9999999999." + me.cookies[account.COOKIE].split(".", 1)[1]
        assert me.ask("GET", "/").status == 303


def test_guesses_are_slowed_down(plan):
    keys.set_password(keys.load(), PASSWORD)
    plan.proxied = True
    with running(plan):
        me = Caller(plan)
        token = me.token("/login")
        for _ in range(account.TRIES):
            me.ask("POST", "/login", {"csrf": token, "password": "guess"})
        assert me.ask("POST", "/login", {"csrf": token, "password": PASSWORD}).status == 403


def test_headers_let_nothing_else_in(plan):
    with running(plan):
        answer = Caller(plan).ask("GET", "/")
        policy = answer.getheader("content-security-policy")
        assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy
        assert (
            answer.getheader("x-content-type-options") == "nosniff" and answer.getheader("cache-control") == "no-store"
        )
        assert answer.getheader("server") is None


@pytest.mark.parametrize(
    "path",
    [
        "/rig/%2e%2e",
        "/rig/../../etc/passwd",
        "/static/../web.py",
        "/static/%2e%2e%2fweb.py",
        "/rig/a'--",
        "/rig/x/history?from=1&to=abc",
        "/rig/x/history?days=99999999999999999999",
        "/rig/x/history?from=-1&to=5",
    ],
)
def test_strange_addresses_find_nothing(plan, path):
    with running(plan):
        answer = Caller(plan).ask("GET", path)
        assert answer.status in (200, 404) and "root:" not in answer.text and "import" not in answer.text


def test_a_page_for_others_without_tls_or_password_does_not_start():
    from click.testing import CliRunner
    from potreeve_tools.cli import cli

    done = CliRunner().invoke(cli, ["station", "--broker", "127.0.0.1", "--listen", "0.0.0.0:8090"])
    assert done.exit_code == 2 and "--certificate" in done.output and "potreeve station account" in done.output


def test_passwords_are_kept_as_what_cannot_be_turned_back():
    keys.set_password(keys.load(), PASSWORD)
    text = (config.folder() / keys.NAME).read_text()
    assert PASSWORD not in text and keys.password_holds(keys.load(), PASSWORD)
    assert not keys.password_holds(keys.load(), PASSWORD + " ") and not keys.password_holds({}, "")
