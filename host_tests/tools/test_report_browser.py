"""The report in a real browser, wide and narrow, by day and by night: no serious finding by an accessibility library
(axe-core), every plot within reach of the keyboard, and a print without an empty page.

Needs Chromium on the machine; .ci/run installs it.
"""

import re
import shutil
import zlib

import pytest
from potreeve_tools.report import page as report

BROWSER = next(
    (path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))), None
)
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")
SERIOUS = ("serious", "critical")


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox", "--disable-gpu"])
        yield found
        found.close()


@pytest.fixture(scope="module")
def path(finished, outcome, tmp_path_factory):
    """A report with everything on it: an alert, and a plant that ended thirsty."""
    ends = {f"{end}_{name}": ALERT[name] for end in ("first", "last") for name in ("day", "when")}
    groups = [{**ALERT, **ends, "count": 1}, *outcome["alert_groups"]]
    outcome = {**outcome, "alerts": [ALERT], "alert_groups": groups}
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(report.make_page(finished, outcome, "potreeve rehearse --days 4"), encoding="utf-8")
    return path


ALERT = {
    "day": 2,
    "when": "2026-06-02 10:00",
    "pot": "mint",
    "kind": "rung",
    "level": "call",
    "what": "It is dry.",
    "do": "look",
}


@pytest.fixture
def opened(browser, path):
    """opened(width, scheme) -> page of the report; fails at the end if its script complained."""
    made, faults = [], []

    def opened(width=1400, scheme="light", at=path):
        context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda told: faults.append(told.text) if told.type == "error" else None)
        page.goto(at.as_uri())
        made.append(context)
        return page

    yield opened
    for context in made:
        context.close()
    assert faults == []


def findings(page):
    """[(rule, weight, first element)] of serious findings."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [(one["id"], one["impact"], one["nodes"][0]["html"][:120]) for one in found if one["impact"] in SERIOUS]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1400, 390])
def test_no_serious_finding(opened, width, scheme):
    page = opened(width, scheme)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert findings(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width, "wider than the screen"


def test_a_planted_fault_is_found(opened):
    """The judge itself: faint text, and a picture without words."""
    page = opened()
    page.add_style_tag(content=".note { color: #b5ad9f !important; }")
    page.evaluate("document.querySelector('.sill').removeAttribute('aria-label')")
    assert {rule for rule, _, _ in findings(page)} >= {"color-contrast", "svg-img-alt"}


def luminance(colour):
    parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    line = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * line[0] + 0.7152 * line[1] + 0.0722 * line[2]


def contrast(one, two):
    """WCAG 2.2's ratio of two colours, "rgb(r, g, b)" each."""
    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_in_plots_and_drawing_can_be_read(opened, scheme):
    """The library leaves text in drawings out; WCAG 2.2, 1.4.3: 4.5 to 1."""
    page = opened(1400, scheme)
    colours = page.evaluate(
        """() => [...document.querySelectorAll('.plot text, .sill text, .sill tspan')].map((one) => [
        getComputedStyle(one).fill,
        getComputedStyle(one.closest('.panel') || document.body).backgroundColor])"""
    )
    assert len(colours) > 60
    assert min(contrast(*pair) for pair in colours) >= 4.5
    lines = page.evaluate(
        """() => [...document.querySelectorAll('.plot path.stroke')].map((one) => [getComputedStyle(one).stroke,
        getComputedStyle(one.closest('.panel')).backgroundColor])"""
    )
    assert min(contrast(*pair) for pair in lines) >= 3.0, "WCAG 2.2, 1.4.11"


@pytest.mark.parametrize("width", [1400, 390])
def test_no_words_of_the_drawing_collide(opened, width):
    boxes = opened(width).evaluate(
        "() => [...document.querySelectorAll('.sill text')].map((one) => one.getBoundingClientRect()).map((b) => "
        "[b.left, b.right])"
    )
    edges = sorted(boxes)
    assert len(edges) == 3 and all(one[1] < two[0] for one, two in zip(edges, edges[1:], strict=False))


def test_every_plot_is_reached_and_worked_by_keys(opened):
    page = opened()
    reached = []
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate("document.activeElement.id || document.activeElement.getAttribute('aria-labelledby') || ''")
        )
    assert {"pot0", "pot1", "pot2", "tray", "reservoir", "battery", "climate", "light", "pots", "alerts"} <= set(
        reached
    )
    page.focus("#pot0")
    before = page.inner_html("#pot0")
    page.keyboard.press("ArrowRight")
    first = page.inner_text("#pot0 + .readout")
    assert re.match(r"\w{3} \d+ Jun, \d\d:\d\d: as the probe read it [\d,]+ ‰ · in the pot [\d,]+ ‰", first), first
    assert page.inner_text(".spoken") == first
    assert "left to pump" in page.inner_text("#reservoir + .readout"), "all plots are read at once"
    page.keyboard.press("ArrowRight")
    assert page.inner_text("#pot0 + .readout") != first
    page.keyboard.press("+")
    closer = page.inner_html("#pot0")
    assert closer != before
    page.keyboard.press("PageDown")
    assert page.inner_html("#pot0") != closer
    page.keyboard.press("Home")
    page.keyboard.press("Escape")
    assert labels(page) == labels_of(before)


def labels(page):
    return labels_of(page.inner_html("#pot0"))


def labels_of(markup):
    return re.findall(r"<text[^>]*>(.*?)</text>", markup)


def test_a_drag_looks_closer_on_all_plots_and_a_double_click_comes_back(opened):
    page = opened()
    whole = [labels_of(page.inner_html(f"#{name}")) for name in ("pot0", "light")]
    page.locator("#pot1").scroll_into_view_if_needed()
    box = page.locator("#pot1").bounding_box()
    page.mouse.move(box["x"] + 300, box["y"] + 80)
    page.mouse.down()
    page.mouse.move(box["x"] + 420, box["y"] + 90, steps=5)
    page.mouse.up()
    closer = [labels_of(page.inner_html(f"#{name}")) for name in ("pot0", "light")]
    assert all(one != two for one, two in zip(whole, closer, strict=True))
    page.mouse.dblclick(box["x"] + 300, box["y"] + 80)
    assert [labels_of(page.inner_html(f"#{name}")) for name in ("pot0", "light")] == whole


def test_a_touch_reads_and_the_buttons_look_closer(opened):
    page = opened(390)
    whole = labels(page)
    page.click("button:has-text('closer')")
    assert labels(page) != whole
    page.click("button:has-text('whole run')")
    assert labels(page) == whole


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_print_has_plots_on_white_and_no_empty_page(opened, tmp_path, paper, scheme):
    page = opened(1400, scheme)
    page.pdf(path=tmp_path / "report.pdf", format=paper, print_background=True)
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    drawn = page.evaluate("getComputedStyle(document.querySelector('.panel h3')).color")
    assert contrast(drawn, "rgb(255, 255, 255)") >= 4.5
    written = words_on_pages((tmp_path / "report.pdf").read_bytes())
    assert 3 <= len(written) <= 5 and min(written) > 20, written


def words_on_pages(pdf):
    """How often text is shown on each page of a PDF as Chromium writes it."""
    found = []
    for number in re.findall(rb"/Contents (\d+) 0 R", pdf):
        stream = re.search(rb"\n%s 0 obj.*?stream\r?\n(.*?)\r?\nendstream" % number, pdf, re.S)[1]
        # The last byte of its sum may look like the line's end, and be gone.
        found.append(len(re.findall(rb"\bT[jJ]\b", zlib.decompressobj().decompress(stream))))
    return found


def test_an_empty_page_would_be_seen(opened, tmp_path):
    page = opened()
    page.add_style_tag(content="main::after { content: ''; display: block; height: 1cm; break-before: page; }")
    page.pdf(path=tmp_path / "report.pdf", format="A4")
    assert min(words_on_pages((tmp_path / "report.pdf").read_bytes())) < 5
