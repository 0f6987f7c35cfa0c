"""The station's page: Starlette behind uvicorn. Reading is by GET, changing by POST of a form that this station
gave."""

import json
from dataclasses import dataclass, field
from importlib.resources import files
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from potreeve_tools.station import account as accounts
from potreeve_tools.station import book, course, hostclock, metrics, pages, sight
from potreeve_tools.station.store import CantStore
from potreeve_tools.terminal.faultlist import BadInput

FORM_BYTES = 4096
HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
}
STATIC = {
    "page.css": ("potreeve_tools.station", "static/page.css", "text/css"),
    "page.js": ("potreeve_tools.station", "static/page.js", "text/javascript"),
    "leaf.svg": ("potreeve_tools.station", "static/leaf.svg", "image/svg+xml"),
    "uplot.css": ("uplot", "static/uPlot.min.css", "text/css"),
    "uplot.js": ("uplot", "static/uPlot.iife.js", "text/javascript"),
}


@dataclass
class View:
    """What a page shows. tubs: {rig: days}; names: {rig: name}."""

    now_s: int
    sights: list
    alarms: list
    past: list
    tubs: dict
    trouble: str = ""
    names: dict = field(default_factory=dict)


class Pages:
    """The application. make_store: gives a Store; watch: gives the Watch, for what it reckons; live: a Live."""

    def __init__(self, make_store, account, live, watch=None, trouble=lambda: "", counts=dict):
        self._make_store, self.account, self.live, self._watch = make_store, account, live, watch or (lambda: None)
        self._trouble, self._counts = trouble, counts
        self._static = {
            name: (files(package).joinpath(path).read_bytes(), kind) for name, (package, path, kind) in STATIC.items()
        }

    def app(self):
        """The ASGI application."""
        plain = [
            Route("/", self.house),
            Route("/rig/{rig}", self.rig),
            Route("/rig/{rig}/history", self.history),
            Route("/live", self.stream),
            Route("/metrics", self.metrics),
            Route("/static/{name}", self.static),
            Route("/login", self.login_page, methods=["GET"]),
            Route("/login", self.login, methods=["POST"]),
            Route("/logout", self.logout, methods=["POST"]),
            Route("/alarm", self.seen, methods=["POST"]),
            Route("/tub", self.tub, methods=["POST"]),
        ]
        made = Starlette(routes=plain, exception_handlers={CantStore: _unread, BadInput: _unread})
        made.add_middleware(Guard, account=self.account)
        return made

    # ---- reading ----

    def view(self, store):
        """All that the pages show."""
        now = int(hostclock.wall_s())
        sights = sight.all_rigs(store)
        open_ = book.open_alarms(store)
        sight.mark_silent(sights, open_)
        tubs = {}
        watch = self._watch()
        if watch is not None:
            tubs = {one.rig: days for one in sights if (days := watch.tub_days(one, store)) is not None}
        names = {one.rig: one.name for one in sights}
        return View(now, sights, open_, book.past_alarms(store), tubs, self._trouble(), names)

    def _read(self, make):
        store = self._make_store()
        try:
            return make(store)
        finally:
            store.close()

    def _html(self, request, title, make, status=200, part=""):
        seed = self.account.form_seed(request)
        csrf = self.account.form_token(seed)
        leave = "" if self.account.open or not self.account.may_look(request) else pages.logout(csrf)
        answer = HTMLResponse(pages.layout(title, make(csrf), part, "", leave), status)
        self._cookie(answer, accounts.CSRF_COOKIE, seed)
        return answer

    def _cookie(self, answer, name, value, age=None):
        answer.set_cookie(
            name, value, max_age=age, httponly=True, samesite="strict", secure=self.account.secure, path="/"
        )

    def house(self, request):
        """All rigs."""
        view = self._read(self.view)
        return self._html(request, "Potreeve station", lambda csrf: pages.house(view, csrf), part="/")

    def rig(self, request):
        """One rig, with its course."""
        rig = request.path_params["rig"]

        def gather(store):
            view = self.view(store)
            one = next((one for one in view.sights if one.rig == rig), None)
            return view, one, course.pulses(store, one, pages.DOSES) if one else []

        view, one, doses = self._read(gather)
        if one is None:
            return self._html(
                request, "No such rig", lambda _: '<h1>No such rig</h1><p><a href="/">All rigs</a></p>', 404
            )
        return self._html(
            request, f"{one.name}: Potreeve", lambda csrf: pages.rig(view, one, csrf, doses), part=f"/rig/{rig}"
        )

    def history(self, request):
        """What the plots show, as JSON."""
        rig = request.path_params["rig"]

        def gather(store):
            one = sight.one_rig(store, rig)
            return {"panels": course.panels(store, one, *course.span(store, rig, request.query_params)) if one else []}

        return Response(
            json.dumps(self._read(gather), ensure_ascii=False, allow_nan=False), media_type="application/json"
        )

    def metrics(self, request):
        """OpenMetrics."""

        def gather(store):
            sights, open_ = sight.all_rigs(store), book.open_alarms(store)
            sight.mark_silent(sights, open_)
            return metrics.text(sights, open_, self._counts())

        return Response(self._read(gather), media_type=metrics.MEDIA_TYPE)

    def static(self, request):
        """Files of the page: all there are, by name."""
        found = self._static.get(request.path_params["name"])
        if found is None:
            return PlainTextResponse("no such file", 404)
        return Response(found[0], media_type=found[1], headers={"cache-control": "max-age=3600"})

    async def stream(self, request):
        """Server-sent events."""
        if self.live.full:
            return PlainTextResponse("too many listeners", 503)
        stream = self.live.stream(request.headers.get("last-event-id"))
        return StreamingResponse(stream, media_type="text/event-stream")

    # ---- changing ----

    def login_page(self, request):
        """The form to come in."""
        return self._html(request, "Potreeve station", pages.login)

    def login(self, request):
        """Take the password."""
        if not self.account.password(request.state.form.get("password", "")):
            return self._html(request, "Potreeve station", lambda csrf: pages.login(csrf, wrong=True), 403)
        answer = RedirectResponse("/", 303)
        self._cookie(answer, accounts.COOKIE, self.account.session(), accounts.SESSION_S)
        return answer

    def logout(self, request):
        """Forget the browser."""
        answer = RedirectResponse("/login", 303)
        answer.delete_cookie(accounts.COOKIE, path="/")
        return answer

    def seen(self, request):
        """Somebody has seen an alarm. Stored here; no board hears of it."""
        alarm = request.state.form.get("alarm", "")
        self._read(lambda store: book.acknowledge(store, alarm, int(hostclock.wall_s())))
        self.live.change()
        return RedirectResponse(_back(request), 303)

    def tub(self, request):
        """The tub is full again."""
        rig, value = request.state.form.get("rig", ""), json.dumps({"filled_s": int(hostclock.wall_s())})

        def note(store):
            with store.batch():
                store.do("UPDATE rigs SET tub = ? WHERE rig = ?", (value, rig))

        self._read(note)
        self.live.change()
        return RedirectResponse(_back(request), 303)


def _unread(request, fault):
    """What is shown while the disk is full or the store away."""
    return PlainTextResponse("The store can't be read just now; rigs keep what they have. Try again in a minute.", 503)


def _back(request):
    """The page of ours the form was on."""
    rig = request.state.form.get("rig", "")
    return f"/rig/{rig}" if rig.replace("-", "").replace("_", "").isalnum() and rig.isascii() else "/"


class Guard:
    """Before everything: is it for us, may they look, is a change asked for by a form of ours."""

    def __init__(self, app, account):
        self.app, self.account = app, account

    async def __call__(self, scope, receive, send):
        if scope["type"] != "http":
            return await self.app(scope, receive, send)
        from starlette.requests import Request

        request = Request(scope, receive)
        refused = await self._refused(request, scope)

        async def with_headers(message):
            if message["type"] == "http.response.start":
                given = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [
                    *message["headers"],
                    *[(name.encode(), value.encode()) for name, value in HEADERS.items() if name.encode() not in given],
                ]
            await send(message)

        return await (refused or self.app)(scope, receive, with_headers)

    async def _refused(self, request, scope):
        """An answer that says no, or None."""
        if not accounts.host_fits(request.headers.get("host", ""), self.account.open):
            return PlainTextResponse("this station answers to this machine's own name alone", 421)
        path = scope["path"]
        if path == "/metrics":
            return None if self.account.may_scrape(request) else PlainTextResponse("a token is needed", 401)
        open_ = path == "/login" or path.startswith("/static/")
        if not open_ and not self.account.may_look(request):
            html = request.method == "GET" and "text/html" in request.headers.get("accept", "")
            return RedirectResponse("/login", 303) if html else PlainTextResponse("log in first", 401)
        if request.method == "POST":
            body = bytearray()
            async for piece in request.stream():
                body += piece
                if len(body) > FORM_BYTES:
                    return PlainTextResponse("too long", 413)
            given = parse_qs(bytes(body).decode("utf-8", "replace"), max_num_fields=10)
            form = {name: values[0] for name, values in given.items()}
            if not self.account.form_holds(request, form.get("csrf", "")):
                return PlainTextResponse("this form is not of this page; load it anew", 403)
            scope.setdefault("state", {})["form"] = form
        return None
