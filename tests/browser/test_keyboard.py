"""The start page without a pointer: everything is reached by the tabulator, and a build is changed by keys alone."""

import re
from pathlib import Path

import pytest
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.head.tube import bore_diameter
from playwright.sync_api import Locator, expect

from tests.browser.lab import SIZE
from tests.browser.start_page import Page

#: What a pointer can click, drag or type into. Of tabs one is reached, the others from there by arrow keys.
WORKS = (
    "button, input:not([type=file]), select, textarea, summary, a[href], .noUi-handle, "
    ".jupyter-widget-Collapse-header, .lm-TabBar-tab.lm-mod-current"
)
HERE = """where => { const e = document.activeElement; delete e.dataset.toReach; return !!e.closest(where) }"""
LIVE = ".augerbook-live"
#: Of the panels one is open at a time.
OPEN = f"{LIVE} .jupyter-widget-Collapse-open"
MARK = f"""area => {{ for (const e of area.querySelectorAll("{WORKS}")) {{
    if (e.checkVisibility() && !e.disabled) {{ e.dataset.toReach = "" }} }} }}"""
#: What has the keyboard, where nothing of it is seen since it lies behind the strip: one entry or none.
BEHIND = f"""() => {{ const e = document.activeElement, page = e.closest("{LIVE}"); if (!page) {{ return [] }}
    const strip = page.querySelector(".augerbook-staying"), edge = strip.getBoundingClientRect().bottom;
    const hidden = !strip.contains(e) && e.getBoundingClientRect().bottom <= edge;
    return hidden ? [e.outerHTML.slice(0, 160)] : [] }}"""
#: Presses of the tabulator are counted up to here: there are some hundred places to reach.
MOST = 900


def headings(page: Page) -> Locator:
    return page.lab.notebook.locator(".augerbook-live .jupyter-widget-Collapse-header")


def not_reached(page: Page, where: str = LIVE) -> list[str]:
    """Walk through the page or a part by the tabulator, from its first place on; return what it did not come to."""
    area = page.lab.notebook.locator(where)
    area.evaluate(MARK)
    left = area.locator("[data-to-reach]")
    assert left.count() > (50 if where == LIVE else 1)
    left.first.focus()
    for _ in range(MOST):
        if not page.lab.page.evaluate(HERE, where):
            break
        page.lab.page.keyboard.press("Tab")
    words: list[str] = left.evaluate_all("all => all.map(e => e.outerHTML.slice(0, 160))")
    area.evaluate("e => e.querySelectorAll('[data-to-reach]').forEach(one => { delete one.dataset.toReach })")
    return words


def test_everything_is_reached_by_the_tabulator(page: Page) -> None:
    assert not_reached(page) == []
    for place in range(headings(page).count()):
        headings(page).nth(place).press("Enter")
        expect(headings(page).nth(place)).to_have_attribute("aria-expanded", "true")
        page.lab.wait_idle()
        assert not_reached(page, OPEN) == [], headings(page).nth(place).inner_text()


def test_a_place_that_the_tabulator_does_not_come_to_would_be_noticed(page: Page) -> None:
    page.slider("pitch (mm)").locator(".noUi-handle").evaluate("e => { e.tabIndex = -1 }")
    assert [words for words in not_reached(page) if "noUi-handle" in words]
    page.panel("Your build")
    page.lab.notebook.get_by_placeholder("Paste a build here").evaluate("e => { e.tabIndex = -1 }")
    assert [words for words in not_reached(page, OPEN) if "Paste a build here" in words]


@pytest.mark.parametrize("size", [(1280, 900), (900, 700)])
def test_nothing_that_the_tabulator_goes_back_to_lies_behind_the_strip(page: Page, size: tuple[int, int]) -> None:
    """The strip is the higher, the narrower the window."""
    page.lab.page.set_viewport_size({"width": size[0], "height": size[1]})
    page.field("weighings").focus()
    page.lab.page.wait_for_timeout(2000)  # until the strip has the height that it needs
    behind = []
    for _ in range(120):
        page.lab.page.keyboard.press("Shift+Tab")
        behind += page.lab.page.evaluate(BEHIND)
    page.lab.page.set_viewport_size(SIZE)
    assert behind == []


def test_the_page_stays_where_it_is_while_the_tabulator_goes_through_the_strip(page: Page) -> None:
    page.slider("nozzle diameter (mm)").locator(".noUi-handle").focus()
    chips = page.lab.notebook.locator(".augerbook-staying [data-jump]")
    chips.first.evaluate("e => e.focus({preventScroll: true})")
    where = "document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-outer').scrollTop"
    before = page.lab.page.evaluate(where)
    assert before > 500
    for key in ("Tab", "Tab", "Tab", "Shift+Tab", "Shift+Tab", "Shift+Tab", "Shift+Tab"):  # the last: the strip itself
        page.lab.page.keyboard.press(key)
        assert page.lab.page.evaluate(where) == before
    expect(page.lab.notebook.locator(".augerbook-staying")).to_be_focused()


def test_keys_stay_in_the_page_and_those_of_the_notebook_reach_it(page: Page, folder: Path) -> None:
    keys, cells = page.lab.page.keyboard, page.lab.notebook.locator(".jp-Cell")
    before = cells.count()
    for place in (
        page.lab.notebook.get_by_role("combobox", name="compare with", exact=True),
        page.slider("pitch (mm)").locator(".noUi-handle"),
        page.margin("plate.plate_stress_share").locator("> details > summary"),
        headings(page).first,
    ):
        place.focus()
        for key in ("b", "a", "x", "m"):  # insert below and above, cut out, make it text
            keys.press(key)
        expect(place).to_be_focused()
        assert cells.count() == before
    notebook = folder / "start.ipynb"
    stored = notebook.read_text(encoding="utf-8")
    keys.press("Control+s")
    expect(page.lab.page.locator(".lm-TabBar-tab.lm-mod-current.jp-mod-dirty")).to_have_count(0)
    assert notebook.read_text(encoding="utf-8") != stored
    notebook.write_text(stored, encoding="utf-8")  # others open it as it is handed out


def test_a_build_is_loaded_changed_compared_and_copied_by_keys_alone(page: Page) -> None:
    keys = page.lab.page.keyboard
    heading = headings(page).filter(has_text="Your build")
    heading.focus()
    keys.press("Space")
    expect(heading).to_have_attribute("aria-expanded", "true")
    page.lab.notebook.get_by_placeholder("Paste a build here").focus()
    page.lab.page.evaluate("text => navigator.clipboard.writeText(text)", shipped_build("wren").toml())
    keys.press("Control+v")
    page.lab.notebook.get_by_role("button", name="Load the pasted text").focus()
    keys.press("Enter")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))
    page.field("bore diameter (mm)").focus()
    keys.press("Control+a")
    keys.type("5.5")
    keys.press("Enter")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5.5 mm"))
    page.lab.wait_idle()
    beside = page.lab.notebook.get_by_role("combobox", name="compare with", exact=True)
    beside.focus()
    keys.type("otter")
    expect(beside).to_be_focused()
    expect(beside.locator("option:checked")).to_have_text("otter")
    expect(page.margin("plate.plate_stress_share")).to_contain_text("otter:")
    page.lab.wait_idle()
    copy = page.lab.notebook.get_by_role("button", name="Copy this build", exact=True)
    copy.focus()
    keys.press("Enter")
    expect(page.lab.notebook.get_by_role("button", name="Copied")).to_be_visible()
    assert read_build(page.lab.clipboard()).values[bore_diameter] == 5.5e-3

    heading = headings(page).filter(has_text="All values")
    heading.focus()
    keys.press("Enter")
    tab = page.lab.notebook.locator(".augerbook-live .lm-TabBar-tab.lm-mod-current")
    before = tab.inner_text()
    tab.focus()
    keys.press("ArrowRight")
    keys.press("Enter")
    expect(tab).not_to_have_text(before)
    heading.focus()
    keys.press("Enter")
    expect(heading).to_have_attribute("aria-expanded", "false")
