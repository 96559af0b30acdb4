"""The start page under a hand that works: what arrives meanwhile moves nothing away, and takes no press."""

import re
from typing import Literal

import pytest
from playwright.sync_api import Locator, expect

from tests.browser.start_page import Page

#: Pushes all below the strip down, as a strip with two lines more would.
SHIFT = "e => { const box = document.createElement('div'); box.style.height = '60px'; e.after(box); }"


def strip(page: Page) -> Locator:
    return page.lab.notebook.locator(".augerbook-staying")


def height(page: Page) -> float:
    tall: float = strip(page).evaluate("e => e.offsetHeight")
    return tall


def press(
    page: Page,
    one: Locator,
    *,
    then: str = "",
    on: Locator | None = None,
    by: float = 0.0,
    button: Literal["left", "right"] = "left",
) -> None:
    """Press the mouse on something, run a script on something else, move on by some pixels, and let go."""
    one.scroll_into_view_if_needed()
    box = one.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    mouse = page.lab.page.mouse
    mouse.move(x, y)
    mouse.down(button=button)
    if then:
        (on or one).evaluate(then)
    if by:
        mouse.move(x + by, y)
    mouse.up(button=button)


def undo(page: Page) -> Locator:
    return page.lab.notebook.get_by_role("button", name="Undo", exact=True)


def thickness(page: Page, *values: str) -> None:
    for value in values:
        page.type("plate thickness (mm)", value)
        expect(page.field("plate thickness (mm)")).to_have_value(value)
        page.lab.wait_idle()


def at_rest(page: Page) -> None:
    """Wait until the strip has the height that it needs."""
    expect(strip(page)).not_to_have_attribute("style", re.compile(r"(^|[ ;])height:"))


def test_the_strip_keeps_its_height_while_one_works_and_takes_what_it_needs_at_rest(page: Page) -> None:
    handle, mouse = page.slider("plate thickness (mm)").locator(".noUi-handle"), page.lab.page.mouse
    handle.scroll_into_view_if_needed()
    at_rest(page)
    before, chips = height(page), strip(page).locator("[data-jump]").count()
    at = handle.bounding_box()
    assert at is not None
    y = at["y"] + at["height"] / 2
    mouse.move(at["x"] + at["width"] / 2, y)
    mouse.down()
    mouse.move(at["x"] - 400, y, steps=4)  # a thin plate fails, and springs back
    expect(page.margin("plate.plate_stress_share")).to_have_attribute("data-verdict", "beyond the limit")
    expect(strip(page).locator("[data-jump]")).not_to_have_count(chips)
    held = handle.bounding_box()
    assert height(page) == pytest.approx(before, abs=1)
    assert held is not None and held["y"] == pytest.approx(at["y"], abs=1)
    mouse.up()
    at_rest(page)
    assert height(page) > before + 10
    fits = strip(page).evaluate("e => e.scrollHeight <= e.clientHeight + 1")
    assert fits or height(page) >= 0.39 * page.lab.page.evaluate("window.innerHeight")


def test_a_press_counts_where_it_began_though_the_page_moved_meanwhile(page: Page) -> None:
    thickness(page, "7", "8")
    press(page, undo(page), then=SHIFT, on=strip(page))
    expect(page.field("plate thickness (mm)")).to_have_value("7")
    page.lab.wait_idle()
    press(page, undo(page))  # nothing moved: once, not twice
    page.lab.wait_idle()
    expect(page.field("plate thickness (mm)")).to_have_value("5")
    expect(undo(page)).to_be_disabled()


def test_a_press_that_is_drawn_away_or_asks_for_a_menu_is_none(page: Page) -> None:
    thickness(page, "7")
    press(page, undo(page), by=200)
    press(page, undo(page), button="right")
    page.lab.page.keyboard.press("Escape")
    page.lab.wait_idle()
    expect(page.field("plate thickness (mm)")).to_have_value("7")


def test_what_is_written_anew_under_a_press_is_pressed_all_the_same(page: Page) -> None:
    renew = "e => e.replaceWith(e.cloneNode(true))"
    one = page.margin("plate.plate_stress_share").locator("> details")
    closed = one.get_attribute("open") is None
    press(page, one.locator("> summary"), then=renew, on=page.margin("plate.plate_stress_share"))
    expect(one).to_have_js_property("open", closed)
    chip = strip(page).locator("[data-jump='heat.throat_reserve']")
    press(page, chip, then=renew)
    expect(page.margin("heat.throat_reserve").locator("> details")).to_have_attribute("open", "")
    mend = page.margin("heat.throat_reserve").get_by_role("button", name=re.compile("Look for changes"))
    press(page, mend, then=renew, on=page.margin("heat.throat_reserve"))
    chosen = page.lab.notebook.get_by_role("combobox", name="mend", exact=True).locator("option:checked")
    expect(chosen).to_have_text("reserve at the throat")


@pytest.mark.parametrize(
    ("opened", "pressed"),
    [("Trials", "Sheet to print"), ("Your build", "Sheet to print"), ("Your build", "Worked example"),
     ("Worked example", "Your build")],
)  # fmt: skip
@pytest.mark.parametrize("by", ["the mouse", "the keyboard"])
def test_a_heading_stays_where_it_was_pressed_though_a_long_panel_above_it_closes(
    page: Page, opened: str, pressed: str, by: str
) -> None:
    page.panel(opened)
    page.lab.wait_idle()
    at_rest(page)
    heading = page.lab.notebook.locator(".jupyter-widget-Collapse-header", has_text=pressed)
    heading.evaluate("""e => { const area = e.closest(".jp-WindowedPanel-outer");
        area.scrollBy(0, e.getBoundingClientRect().top - 500) }""")
    before = heading.evaluate("e => e.getBoundingClientRect().top")
    assert before == pytest.approx(500, abs=1)
    if by == "the mouse":
        heading.click()
    else:
        heading.evaluate("e => e.focus({preventScroll: true})")
        page.lab.page.keyboard.press("Enter")
    expect(page.lab.notebook.locator(".jupyter-widget-Collapse-open")).to_contain_text(pressed)
    page.lab.wait_idle()
    page.lab.page.wait_for_timeout(2000)  # what is shown again some time later would move it too
    assert heading.evaluate("e => e.getBoundingClientRect().top") == pytest.approx(before, abs=1)
    assert before > strip(page).evaluate("e => e.getBoundingClientRect().bottom")


def test_what_scrolls_below_the_strip_is_hidden_by_it_and_takes_none_of_its_clicks(page: Page) -> None:
    page.panel("All values")
    page.lab.wait_idle()
    at_rest(page)
    tabs = page.lab.notebook.locator(".augerbook-live .lm-TabBar-tab")
    tabs.first.evaluate("""e => { const area = e.closest(".jp-WindowedPanel-outer");
        area.scrollBy(0, e.getBoundingClientRect().top - area.getBoundingClientRect().top - 40) }""")
    behind = strip(page).evaluate("""strip => { const edge = strip.getBoundingClientRect(), found = [];
        for (const e of strip.closest(".augerbook-live").querySelectorAll(".lm-TabBar-tab, .noUi-handle")) {
            const box = e.getBoundingClientRect(), x = box.left + box.width / 2, y = box.top + box.height / 2;
            if (box.width && y > edge.top && y < edge.bottom) {
                found.push([e.textContent, strip.contains(document.elementFromPoint(x, y))]) } }
        return found }""")
    assert len(behind) > 10
    assert [words for words, hidden in behind if not hidden] == []
