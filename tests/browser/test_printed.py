"""The sheet of a build on paper: as many sides as there are, type that can be read, nothing cut off in the panel."""

import re
from collections.abc import Iterator

import pytest
from augerbook.builds.build import Build
from augerbook.builds.estimates import with_estimates
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.page.session import Session
from augerbook.page.sheet_panel import SheetPanel
from playwright.sync_api import Browser, Page

from tests.builds.seven import SEVEN

#: Picture units and points to pixels: the smallest type that is read with ease on paper.
SMALLEST = 7.5 * 96 / 72
#: Sizes of all type in pixels, that of drawings as they are scaled.
TYPE = """sheet => [...sheet.querySelectorAll('*')].filter(
    e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()) && e.tagName !== 'STYLE'
        && !e.closest('title, desc, defs')
).map(e => {
    const scale = e.ownerSVGElement ? e.getScreenCTM().a : 1;
    return parseFloat(getComputedStyle(e).fontSize) * scale;
})"""


@pytest.fixture
def shown(browser: Browser) -> Iterator[Page]:
    context = browser.new_context()
    context.add_init_script("window.print = () => {}")  # a page that asks to be printed cannot be printed by others
    yield context.new_page()
    context.close()


def builds() -> dict[str, Build]:
    return {
        "otter": shipped_build("otter"),
        "wren": shipped_build("wren"),
        "seven": with_estimates(read_build(SEVEN)),
    }


@pytest.mark.parametrize("name", ["otter", "wren", "seven"])
def test_a_build_takes_two_sides_in_type_that_can_be_read(shown: Page, name: str) -> None:
    panel = SheetPanel(Session(builds()[name]))
    panel.refresh()
    shown.set_content(panel.view.value)
    with shown.expect_popup() as opened:
        shown.get_by_role("button").click()
    paper = opened.value
    assert paper.title() == f"Print head {name}"
    for size in ("A4", "Letter"):
        printed = paper.pdf(format=size, prefer_css_page_size=True)
        assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 2, size
    paper.emulate_media(media="print")
    sizes = paper.locator("[data-sheet]").evaluate(TYPE)
    assert len(sizes) > 300 and min(sizes) > SMALLEST - 0.1
    # The second side begins with the margins, and the drawing stands whole on the first.
    sides = paper.locator("[data-sheet] .side")
    assert sides.count() == 1 and sides.locator("h2").first.inner_text().startswith("Margins of")
    assert paper.locator("[data-sheet] > svg[role='img']").count() == 1


def test_the_panel_shows_all_of_the_sheet(shown: Page) -> None:
    panel = SheetPanel(Session(shipped_build("otter")))
    panel.refresh()
    shown.set_content(panel.view.value)
    region = shown.get_by_role("region")
    assert region.evaluate("e => e.scrollHeight - e.clientHeight") <= 1
    assert region.evaluate("e => e.scrollWidth - e.clientWidth") <= 1
