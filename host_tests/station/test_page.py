"""The station's page in a real browser: live, without an error, for phone and desk, also when the station goes and
comes back."""

import os
import re
import shutil

import pytest
from mosquitto import free_port
from potreeve.logic import reasons, state
from potreeve_tools.station import broker, config, logpiece, messages, rigside, service, watch
from station_kit import line, report, running, until

CHROMIUM = next(
    (path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))), None
)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")
POTS = ((713, 0, 0), (640, 0, 0))
# How many left and right edges the parts of the page have that are wide.
EDGES = """(() => {
  const boxes = [...document.querySelectorAll("main section, main li.call, main footer")]
    .map((one) => one.getBoundingClientRect()).filter((box) => box.width > innerWidth / 2);
  return ["left", "right"].map((side) => new Set(boxes.map((box) => Math.round(box[side]))).size);
})()"""
EVIL = '<img src=x onerror="alert(1)">'


def about(boot=17, names=("mint", "basil"), **more):
    pots = [{"pot": name, "plant": "mint", "refill_pm": 690, "stress_pm": 400} for name in names]
    return {
        "v": 1,
        "rig": "sill",
        "boot": boot,
        "name": "reading room",
        "firmware": "0.1.0",
        "board": "esp32",
        "pots": pots,
        **more,
    }


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield made
        made.close()


class Rig:
    """A rig that tells a station of itself."""

    def __init__(self, port):
        self.log = rigside.RigLog(17)
        self.line = rigside.Line(broker.Address("127.0.0.1", port), "sill", {"sill": self.log})
        assert self.line.up.wait(60)

    def tell(self, *lines, pots=(("mint", 713, 0, 0), ("basil", 640, 0, 0))):
        for one in lines:
            self.log.append(one)
        self.log.begin()
        while (piece := self.log.next_piece()) is not None:
            self.line.send("sill", "log", logpiece.pack(piece))
        self.line.send("sill", "report", messages.dump(report(seq=len(self.log), pots=pots)), retain=True)
        assert until(lambda: not self.log.waiting())


@pytest.fixture(autouse=True)
def brisk(monkeypatch):
    monkeypatch.setattr(watch, "LOOK_S", 0.5)


@pytest.fixture
def plan(mosquitto, tmp_path):
    made = config.load()
    return service.Plan(
        broker.Address("127.0.0.1", mosquitto.port), str(tmp_path / "s.db"), made, ("127.0.0.1", free_port())
    )


@pytest.fixture
def rig(mosquitto):
    made = Rig(mosquitto.port)
    yield made
    made.line.close()


def opened(browser, plan, path="/", width=390, dark=False):
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme="dark" if dark else "light")
    page = context.new_page()
    page.faults = []
    page.on("console", lambda said: page.faults.append(said.text) if said.type in ("error", "warning") else None)
    page.on("pageerror", lambda fault: page.faults.append(str(fault)))
    page.asked = []
    page.on("request", lambda asked: page.asked.append(asked.url))
    page.goto(f"http://127.0.0.1:{plan.listen[1]}{path}")
    return page


@pytest.mark.parametrize("width,dark", [(390, False), (1400, False), (390, True), (1400, True)])
def test_whole_sound_and_open_to_everybody(browser, plan, rig, width, dark):
    from axe_playwright_python.sync_playwright import Axe

    with running(plan):
        rig.line.send("sill", "about", messages.dump(about()), retain=True)
        held = (640, state.HELD, reasons.NO_RISE)
        rig.tell(*[line(n + 1, pots=(POTS[0], held), utc_s=1_790_000_000 + n * 1800) for n in range(100)])
        for path in ("/", "/rig/sill"):
            page = opened(browser, plan, path, width, dark)
            page.wait_for_selector("text=pulse after pulse did not raise the moisture", timeout=60_000)
            if path != "/":
                page.wait_for_selector(".plot svg", timeout=60_000)
            found = Axe().run(page).response["violations"]
            assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            assert page.evaluate(EDGES) == [1, 1], "everything begins and ends at the same edges"
            here = f"http://127.0.0.1:{plan.listen[1]}/"
            assert page.faults == [] and [url for url in page.asked if not url.startswith(here)] == []
            if os.environ.get("POTREEVE_PICTURES"):
                shot = f"{path.strip('/').replace('/', '-') or 'house'}-{width}-{dark}.png"
                page.screenshot(path=f"{os.environ['POTREEVE_PICTURES']}/{shot}", full_page=True)
            page.context.close()


def test_live_without_reload_and_after_a_restart_of_the_station(browser, plan, rig):
    with running(plan):
        rig.tell(line(1, pots=POTS))
        page = opened(browser, plan)
        page.wait_for_selector("text=713\u00a0‰")
        page.evaluate("window.stillTheSame = true")
        rig.tell(line(2, pots=((801, 0, 0), POTS[1])))
        page.wait_for_selector("text=801\u00a0‰", timeout=60_000)
    with running(plan):
        rig.tell(line(3, pots=((666, 0, 0), POTS[1])))
        page.wait_for_selector("text=666\u00a0‰", timeout=60_000)
        assert page.evaluate("window.stillTheSame") is True
        # While the station was gone the browser says so itself; the page adds nothing.
        assert [fault for fault in page.faults if "ERR_" not in fault] == []
    page.context.close()


def test_what_changes_before_the_page_listens_is_shown(browser, plan, rig):
    with running(plan) as station:
        rig.tell(line(1, pots=POTS))
        page = browser.new_context().new_page()

        def change_first(route):
            before = station.live.version
            rig.tell(line(2, pots=((801, 0, 0), POTS[1])))
            assert until(lambda: station.live.version > before)
            route.continue_()

        page.route("**/live", change_first)
        page.goto(f"http://127.0.0.1:{plan.listen[1]}/")
        page.wait_for_selector("text=801\u00a0‰", timeout=60_000)
        page.context.close()


def test_an_alarm_is_seen_by_keyboard_and_the_page_keeps_its_place(browser, plan, rig):
    with running(plan):
        rig.tell(line(1, pots=((640, state.HELD, reasons.NO_RISE), POTS[1])))
        page = opened(browser, plan)
        page.wait_for_selector("text=Something needs you.", timeout=60_000)
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        for _ in range(6):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.tagName") == "BUTTON":
                break
        label = page.evaluate("document.activeElement.getAttribute('aria-label')")
        assert label.startswith("Seen: mint")
        rig.tell(line(2, pots=((641, state.HELD, reasons.NO_RISE), POTS[1])))
        page.wait_for_selector("text=641\u00a0‰", timeout=60_000)
        assert page.evaluate("document.activeElement.getAttribute('aria-label')") == label
        page.keyboard.press("Enter")
        page.wait_for_selector("text=Seen just now.", timeout=60_000)
        assert page.faults == []
        page.context.close()


def test_plots_can_be_looked_into(browser, plan, rig):
    """By pointer and by keyboard; what one looks at stays when newer records come."""
    with running(plan):
        rig.line.send("sill", "about", messages.dump(about()), retain=True)
        rig.tell(*[line(n + 1, pots=POTS, utc_s=1_790_000_000 + n * 1800) for n in range(700)])
        page = opened(browser, plan, "/rig/sill", 1400)
        page.wait_for_selector(".plot svg", timeout=60_000)

        def axis():
            return page.locator("#pot0 svg text").all_inner_texts()

        def spoken():
            return page.locator(".spoken").inner_text()

        week = axis()
        plot = page.locator("#pot0")
        plot.scroll_into_view_if_needed()
        box = plot.bounding_box()
        page.mouse.move(box["x"] + 200, box["y"] + 50)
        page.mouse.down()
        page.mouse.move(box["x"] + 400, box["y"] + 50, steps=5)
        page.mouse.up()
        closer = axis()
        assert closer != week
        plot.dblclick()
        assert axis() == week
        with page.expect_response(lambda answer: "/history?days=1" in answer.url):
            page.get_by_role("button", name="day", exact=True).click()
        assert until(lambda: axis() != week, 20)
        # By keyboard, and newer records do not take one's place away.
        plot.focus()
        for key in ("+", "+", "ArrowLeft", "ArrowLeft"):
            page.keyboard.press(key)
        assert "moisture, as the probe read it 713 ‰" in spoken()
        near = axis()
        with page.expect_response(lambda answer: "/history?days=1" in answer.url):
            rig.tell(line(701, pots=((700, 0, 0), POTS[1]), utc_s=1_790_000_000 + 700 * 1800))
        assert until(lambda: "700 to 713 ‰" in page.locator("#pot0").get_attribute("aria-label"), 20)
        assert page.evaluate("document.activeElement.id") == "pot0"
        assert axis() == near
        page.keyboard.press("Home")
        assert axis() != near
        page.locator(".figures summary").first.click()
        assert page.locator(".figures table").first.locator("tbody tr").count() in (2, 3)
        assert page.faults == []
        page.context.close()


def test_nothing_a_rig_says_becomes_markup(browser, plan, rig):
    with running(plan):
        names = (EVIL[:16], "<script>a()</scr")
        rig.line.send(
            "sill",
            "about",
            messages.dump({**about(names=names), "name": EVIL[:24], "firmware": "<b>x</b>", "board": EVIL}),
            retain=True,
        )
        held = (640, state.HELD, reasons.NO_RISE)
        rig.tell(line(1, pots=(held, held)), pots=tuple((name, 640, 2, 20) for name in names))
        for path in ("/", "/rig/sill"):
            page = opened(browser, plan, path)
            page.wait_for_selector("text=pulse after pulse", timeout=60_000)
            assert page.locator("main img, main script, main b:has-text('x')").count() == 0
            assert EVIL[:16] in page.locator("main").inner_text()
            assert page.faults == []
            page.context.close()


def test_without_script_it_is_a_page_all_the_same(browser, plan, rig):
    with running(plan):
        rig.tell(line(1, pots=((640, state.HELD, reasons.NO_RISE), POTS[1])))
        context = browser.new_context(java_script_enabled=False)
        page = context.new_page()
        url = f"http://127.0.0.1:{plan.listen[1]}/"
        page.goto(url)
        assert until(lambda: page.goto(url) and page.locator("text=Seen").count() > 0, 20)
        page.get_by_role("button", name=re.compile("Seen")).first.click()
        assert page.locator("text=Seen just now").count() == 1
        context.close()
