"""The start page for everyone: rules of accessibility, contrast in both themes, no cut labels, two views."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Locator, expect

from tests.browser.lab import SIZE, Lab, LabServer
from tests.browser.start_page import Page

#: Kept after the run, for eyes to look at; not in the repository.
PICTURES = Path(__file__).resolve().parents[2] / ".screenshots"
#: Of the widget area alone: the frame around it is JupyterLab's.
AREA = ".augerbook-live"
#: Of the panels one is open at a time.
OPEN = f"{AREA} .jupyter-widget-Collapse-open"
CUT = """all => all.filter(e => e.offsetParent && e.clientWidth > 1 && e.scrollWidth > e.clientWidth + 1)
          .map(e => e.textContent)"""


LIGHT, DARK = "JupyterLab Light", "JupyterLab Dark"
#: The rules that know of colours, of those that judge by what the guidelines ask of everybody.
COLOURS = ("color-contrast", "link-in-text-block")
#: For what is the same in either theme.
in_one_theme = pytest.mark.parametrize("page", [LIGHT], indirect=True)


@pytest.fixture(scope="module", params=[LIGHT, DARK])
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Iterator[Page]:
    with LabServer(tmp_path_factory.mktemp("themed"), theme=request.param) as server:
        context = browser.new_context(viewport=SIZE)
        context.set_default_timeout(30_000)
        page = Page(Lab(server, context))
        yield page
        page.lab.close()


def titles(page: Page) -> list[str]:
    heads = page.lab.notebook.locator(f"{AREA} .jupyter-widget-Collapse-header")
    return [words.strip() for words in heads.all_inner_texts()]


def findings(page: Page, area: str = AREA, rules: tuple[str, ...] = ()) -> list[str]:
    """What the rules of axe-core (or some of them) find in the widget area or a part of it, a line for each element.

    They judge what is in view alone, so the window is as high as the page. JupyterLab's body has no height of its own
    and clips what overflows: the rules would take nearly all of the page for hidden.
    """
    page.lab.page.evaluate("document.body.style.height = '100vh'")
    page.lab.page.set_viewport_size({"width": SIZE["width"], "height": 14_000})
    page.lab.page.wait_for_timeout(300)
    # Below the last cell a notebook leaves room to scroll on: the beginning may stand above the window.
    page.lab.notebook.locator(".jp-WindowedPanel-outer").first.evaluate("e => e.scrollTo(0, 0)")
    options = {"runOnly": list(rules)} if rules else {}
    found = Axe().run(page.lab.page, context=area, options=options).response["violations"]
    page.lab.page.set_viewport_size(SIZE)
    return [f"{rule['impact']} {rule['id']}: {node['html'][:200]}" for rule in found for node in rule["nodes"]]


def test_no_rule_of_accessibility_is_broken_in_either_theme(page: Page, request: pytest.FixtureRequest) -> None:
    shown_in = request.node.callspec.params["page"]
    rules = COLOURS if shown_in == DARK else ()  # those alone know the theme
    assert findings(page, rules=rules) == []
    PICTURES.mkdir(exist_ok=True)
    theme = shown_in.split()[-1].lower()
    page.lab.screenshot(PICTURES / f"start_{theme}.png")
    for place, title in enumerate(titles(page)):
        page.panel(title)
        page.lab.wait_idle()
        assert findings(page, OPEN, rules) == [], title
        # Higher than the window, so that all of a panel is seen.
        page.lab.page.set_viewport_size({"width": SIZE["width"], "height": 2_400})
        page.lab.notebook.locator(OPEN).evaluate("e => e.scrollIntoView()")
        page.lab.screenshot(PICTURES / f"start_{theme}_{place}.png")
        page.lab.page.set_viewport_size(SIZE)
    assert findings(page, rules=rules) == []  # what holds between places, with a panel open


@pytest.mark.parametrize("where", [AREA, OPEN])
def test_a_broken_rule_would_be_noticed(page: Page, where: str) -> None:
    page.panel("All values")
    page.lab.wait_idle()
    area = page.lab.notebook.locator(where)
    pale = "<p class=pale style=color:#999;background:#aaa>pale</p>"
    area.evaluate("(e, pale) => { e.insertAdjacentHTML('afterbegin', pale) }", pale)
    found = findings(page, where)
    expect(area.locator(".pale")).to_be_visible()
    assert [line for line in found if "color-contrast" in line and "pale" in line], found
    area.locator(".pale").evaluate("e => e.remove()")


@in_one_theme
@pytest.mark.parametrize("width", [900, 1280, 2560])
def test_no_label_is_cut(page: Page, width: int) -> None:
    page.lab.page.set_viewport_size({"width": width, "height": SIZE["height"]})
    page.panel("All values")
    page.lab.wait_idle()
    labels: Locator = page.lab.notebook.locator(f"{AREA} .widget-label, {AREA} .lm-TabBar-tabLabel")
    for tab in page.lab.notebook.locator(f"{AREA} .lm-TabBar-tab").all():
        tab.click()
        page.lab.page.wait_for_timeout(100)
        assert labels.evaluate_all(CUT) == []
    page.lab.page.set_viewport_size(SIZE)


@in_one_theme
def test_no_label_of_a_panel_is_cut(page: Page) -> None:
    labels: Locator = page.lab.notebook.locator(f"{AREA} .widget-label")
    for title in ("Start from few values", "Worked example", "Which build to try next", "Trials: plan, weigh, learn"):
        page.panel(title)
        page.lab.wait_idle()
        assert labels.evaluate_all(CUT) == [], title


#: Rows of lists that are wider than what their list can show of them; an arrow takes its place in those that drop down.
CUT_ROWS = """all => all.filter(e => e.offsetParent).flatMap(e => {
    const pen = document.createElement('canvas').getContext('2d'), style = getComputedStyle(e);
    pen.font = style.font;
    const room = e.clientWidth - parseFloat(style.paddingLeft) - (e.multiple ? 4 : 20);
    return [...e.options].filter(o => pen.measureText(o.text).width > room).map(o => o.text);
})"""


@in_one_theme
def test_no_row_of_a_list_and_no_example_beside_it_is_cut(page: Page) -> None:
    rows: Locator = page.lab.notebook.locator(f"{AREA} select")
    typed: Locator = page.lab.notebook.locator(f"{OPEN} input[placeholder]")
    for title in ("Start from few values", "Which build to try next"):
        page.panel(title)
        page.lab.wait_idle()
        assert rows.evaluate_all(CUT_ROWS) == [], title
        cut = """all => all.filter(e => e.offsetParent).filter(e => {
            const pen = document.createElement('canvas').getContext('2d');
            pen.font = getComputedStyle(e).font;
            return pen.measureText(e.placeholder).width > e.clientWidth - 12;
        }).map(e => e.placeholder)"""
        assert typed.evaluate_all(cut) == [], title


#: Boxes with a bar below them, and what sticks out of each: 1 px is rounding.
SIDEWAYS = """all => all.filter(e => e.offsetParent && e.scrollWidth > e.clientWidth + 1)
               .map(e => `${e.scrollWidth - e.clientWidth} px: ${e.innerText.slice(0, 60)}`)"""

#: How far the page reaches beyond the notebook that it stands in.
WIDER = "e => e.getBoundingClientRect().right - e.closest('.jp-Notebook').getBoundingClientRect().right"


@in_one_theme
@pytest.mark.parametrize("width", [900, 1280, 1600])
def test_nothing_of_the_page_scrolls_sideways_by_itself(page: Page, width: int) -> None:
    boxes = page.lab.notebook.locator(f"{AREA}, {AREA} .widget-box")
    page.lab.page.set_viewport_size({"width": width, "height": SIZE["height"]})
    try:
        for title in titles(page):
            page.panel(title)
            page.lab.wait_idle()
            assert boxes.evaluate_all(SIDEWAYS) == [], title
            # None widens the page beyond the window either, which would cut all of it.
            assert page.lab.notebook.locator(AREA).evaluate(WIDER) <= 0, title
    finally:
        page.lab.page.set_viewport_size(SIZE)


def test_no_panel_of_a_chapter_scrolls_sideways_by_itself(lab: Lab) -> None:
    lab.open("03_screw")
    lab.run_all()
    boxes = lab.notebook.locator(f"{AREA}, {AREA} .widget-box")
    assert boxes.count() > 10
    assert boxes.evaluate_all(SIDEWAYS) == []


@in_one_theme
def test_the_strip_stays_in_view_while_sliders_move(page: Page) -> None:
    strip = page.lab.notebook.locator(".augerbook-staying")
    slider = page.slider("layer height (mm)").locator(".noUi-handle")
    slider.scroll_into_view_if_needed()
    expect(strip).to_be_in_viewport(ratio=0.9)
    slider.press("ArrowRight")
    assert strip.bounding_box()["y"] + strip.bounding_box()["height"] < slider.bounding_box()["y"]  # type: ignore[index]


def luminance(colour: tuple[int, ...]) -> float:
    """Relative luminance of an sRGB colour, 0 to 1, as the rules of contrast (WCAG 2.2) define it."""
    share = [part / 255 for part in colour[:3]]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in share]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_arrows_of_lists_stand_out_in_either_theme(page: Page) -> None:
    # A list of which several rows may be marked shows them all, and has no arrow.
    lists = page.lab.notebook.locator(f"{AREA} select:not([multiple]):visible")
    arrows = lists.evaluate_all("all => all.map(e => getComputedStyle(e).backgroundImage)")
    assert arrows and len(set(arrows)) == 1, "one judged for all"
    picture = Image.open(BytesIO(lists.first.screenshot())).convert("RGB")
    width, height = picture.size
    corner = picture.crop((width - 18, 4, width - 3, height - 4))  # within its frame
    seen = sorted(luminance(colour) for _, colour in corner.getcolors(maxcolors=width * height) or [])
    assert (seen[-1] + 0.05) / (seen[0] + 0.05) >= 3
