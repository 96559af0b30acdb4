"""A maker who knows seven values: paste them, let the rest be estimated, read the margins, say what one finds out."""

import re
from collections.abc import Callable

import pytest
from augerbook.builds.estimates import estimated, without_estimates
from augerbook.builds.shipped import read_build
from augerbook.head.tube import tube_length
from playwright.sync_api import expect

from tests.browser.lab import Lab
from tests.browser.start_page import Page
from tests.builds.seven import SEVEN, WAIT

FILL = re.compile(r"^\d+ values are lacking: fill them in by estimates$")


def verdicts(page: Page) -> dict[str, str]:
    rows = page.lab.notebook.locator("[data-margin]")
    pairs = rows.evaluate_all("all => all.map(e => [e.dataset.margin, e.dataset.verdict])")
    return dict(pairs)


def fill(page: Page) -> None:
    page.panel("Your build")
    page.paste(SEVEN)
    button = page.lab.notebook.get_by_role("button", name=FILL).first
    expect(button).to_be_visible()
    assert set(verdicts(page).values()) == {"cannot be computed"}
    button.click()
    expect(page.lab.notebook.locator(".estimated-count").first).to_contain_text("44 of 46 margins can be computed")
    expect(page.lab.notebook.locator(".find-out-first").first).to_be_visible(timeout=30_000)
    page.lab.wait_idle()


def test_seven_pasted_values_and_one_button_give_numbers_in_all_margins(page: Page) -> None:
    fill(page)
    unknown = {margin for margin, verdict in verdicts(page).items() if verdict == "cannot be computed"}
    assert unknown == WAIT
    expect(page.margin("plate.plate_stress_share")).to_contain_text("Decided by estimates:")
    link = page.margin("hopper.hausner_ratio").locator("a")  # folded away with the margin
    expect(link).to_have_attribute("href", "04_hopper.ipynb#How-densely-granules-lie")
    saved = read_build(page.build())
    assert len(estimated(saved)) > 100
    assert without_estimates(saved).toml() == read_build(SEVEN).toml()


def test_a_button_at_the_top_leads_to_the_panel_to_begin_with(page: Page) -> None:
    button = page.lab.notebook.locator("button[data-panel='Start from few values']")
    begin = page.lab.notebook.get_by_role("button", name="Begin with nothing given")
    for _ in range(2):  # what is open stays open
        button.click()
        expect(begin).to_be_in_viewport()
        page.lab.notebook.locator(".augerbook-staying").evaluate("e => e.closest('.jp-Cell').scrollIntoView()")


def test_a_link_to_a_chapter_opens_it_beside_the_page_at_its_heading(new_lab: Callable[[], Lab]) -> None:
    page = Page(new_lab())
    fill(page)
    page.lab.notebook.locator(".find-out-first a").first.scroll_into_view_if_needed()
    link = page.lab.notebook.locator(".find-out-first a").first
    heading = (link.get_attribute("href") or "").partition("#")[2].replace("-", " ")
    assert heading
    before = len(page.lab.page.context.pages)
    link.click()
    title = page.lab.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)").get_by_role("heading", name=heading)
    expect(title).to_be_in_viewport(timeout=30_000)
    assert len(page.lab.page.context.pages) == before
    page.lab.close()


def test_what_is_typed_loses_its_mark_and_all_estimates_can_be_taken_out(page: Page) -> None:
    fill(page)
    page.panel("All values")
    page.lab.notebook.locator(".lm-TabBar-tab", has_text="Tube").click()
    expect(page.row("tube length (mm)")).to_contain_text("estimated, 40 to 112 mm")
    page.type("tube length (mm)", "70")
    expect(page.row("tube length (mm)")).not_to_contain_text("estimated")
    saved = read_build(page.build())
    assert tube_length not in estimated(saved) and saved.values[tube_length] == pytest.approx(0.07)
    page.lab.notebook.get_by_role("button", name="Take all estimates out").first.click()
    expect(page.lab.notebook.get_by_role("button", name=FILL).first).to_be_visible()
    page.lab.wait_idle()
    assert estimated(read_build(page.build())) == []


def test_one_types_what_one_knows_from_nothing(page: Page) -> None:
    page.panel("Start from few values")
    page.lab.notebook.get_by_role("button", name="Begin with nothing given").click()
    panel = page.lab.notebook.locator(".jupyter-widget-Collapse", has_text="Start from few values")
    expect(panel.locator(".to-be-asked")).to_contain_text("wanted flow")
    panel.get_by_role("combobox", name="plastic", exact=True).select_option("PLA")
    for words, text in (("bore diameter (mm)", "8"), ("wanted flow (mm³/s)", "2.5")):
        field = panel.get_by_role("textbox", name=words, exact=True)
        field.fill(text)
        field.press("Enter")
    page.lab.wait_idle()
    panel.get_by_role("button", name=FILL).click()
    expect(panel.locator(".estimated-count")).to_contain_text("44 of 46 margins can be computed")
    expect(panel.locator("table.estimates")).to_contain_text("tube length")
