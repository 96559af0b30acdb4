"""The start page as a builder uses it: load, move, compare, paste, mend, copy, save."""

import re
from collections.abc import Iterator

import pytest
from augerbook.build import read_build, shipped_build
from augerbook.show.margins_view import all_margins
from playwright.sync_api import Locator, expect

from tests.browser.lab import Lab


class Page:
    """The start page, run, with the places a builder looks at."""

    def __init__(self, lab: Lab) -> None:
        self.lab = lab
        lab.open("start")
        lab.run_all()
        expect(self.margin("plate.plate_stress_share")).to_be_visible()

    def margin(self, margin_id: str) -> Locator:
        return self.lab.notebook.locator(f"[data-margin='{margin_id}']")

    def picture(self) -> Locator:
        return self.lab.notebook.locator(".widget-html svg[role='img']").first

    def slider(self, words: str) -> Locator:
        return self.lab.notebook.locator(
            ".widget-slider", has=self.lab.page.locator(f".widget-label:text-is('{words}')")
        )

    def message(self) -> Locator:
        return self.lab.notebook.locator("[role='status']").first

    def panel(self, title: str) -> None:
        self.lab.notebook.locator(".jupyter-widget-Collapse-header", has_text=title).click()

    def paste(self, text: str) -> None:
        self.lab.notebook.locator(".widget-textarea textarea").fill(text)
        self.lab.notebook.get_by_role("button", name="Load the pasted text").click()

    def copied(self, words: str) -> str:
        button = self.lab.notebook.get_by_role("button", name=words, exact=True)
        button.click()
        expect(self.lab.notebook.get_by_role("button", name="Copied")).to_be_visible()
        return self.lab.clipboard()


@pytest.fixture
def page(lab: Lab) -> Iterator[Page]:
    page = Page(lab)
    yield page
    assert lab.errors() == []


def test_it_reads_before_anything_runs(lab: Lab) -> None:
    lab.open("start")
    expect(lab.notebook.locator(".jp-OutputArea img").first).to_be_visible()
    expect(lab.notebook.locator("td", has_text="peak stress").first).to_be_visible()
    expect(lab.notebook.locator("strong", has_text="menu Run, then Run All Cells").first).to_be_visible()
    assert lab.errors() == []


def test_all_margins_of_all_chapters_stand_on_it(page: Page) -> None:
    expected = {margin.id for margin in all_margins(shipped_build("otter").network)}
    shown = page.lab.notebook.locator("[data-margin]").evaluate_all("all => all.map(e => e.dataset.margin)")
    assert set(shown) == expected


def test_a_slider_moved_by_the_keyboard_changes_picture_numbers_and_margins(page: Page) -> None:
    before = page.picture().get_attribute("aria-label")
    stress = page.margin("plate.plate_stress_share").inner_text()
    verdict = page.margin("plate.plate_stress_share").get_attribute("data-verdict")
    handle = page.slider("bore diameter (mm)").locator(".noUi-handle")
    handle.press("ArrowRight")
    expect(page.picture()).not_to_have_attribute("aria-label", before or "")
    thickness = page.slider("plate thickness (mm)").locator(".noUi-handle")
    for _ in range(80):
        thickness.press("ArrowLeft")
    expect(page.margin("plate.plate_stress_share")).not_to_have_attribute("data-verdict", verdict or "")
    assert page.margin("plate.plate_stress_share").inner_text() != stress
    expect(page.margin("plate.plate_stress_share")).to_contain_text("To change:")


def test_looking_at_a_build_does_not_change_it_and_shows_it_as_it_is(page: Page) -> None:
    build = shipped_build("otter")
    for quantity in (q for q in build.network.inputs if q.primary):
        slider = page.lab.notebook.locator(".widget-slider", has_text=f"{quantity.name_in_words} (").first
        shown = float(slider.locator(".widget-readout").inner_text())
        assert shown == pytest.approx(quantity.shown(build.values[quantity]), rel=1e-12), quantity.key
    page.panel("Your build")
    assert read_build(page.copied("Copy this build")).toml() == shipped_build("otter").toml()


def test_an_impossible_pair_is_named_and_the_last_possible_picture_stays(page: Page) -> None:
    picture = page.picture()
    core = page.slider("core diameter (mm)").locator(".noUi-handle")
    core.press("End")
    expect(page.message()).to_contain_text("core diameter 14.0 mm must be smaller than major diameter 6.00 mm")
    expect(picture).to_have_attribute("aria-label", re.compile("core of 4.2 mm"))
    core.press("Home")
    expect(page.message()).not_to_contain_text("must be smaller")
    expect(picture).to_have_attribute("aria-label", re.compile("core of 1 mm"))


def test_a_pasted_build_is_loaded_and_a_broken_one_is_explained(page: Page) -> None:
    page.panel("Your build")
    page.paste("Look at this:\n\n```toml\n" + shipped_build("wren").toml() + "```\nWhat do you think?")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))
    broken = shipped_build("otter").toml().replace('bore_diameter = "8 mm"', 'bore_diametre = "8 kg"')
    page.paste(broken)
    expect(page.message()).to_contain_text("yours is unchanged")
    expect(page.message()).to_contain_text("did you mean 'bore_diameter'?")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))


def test_a_shipped_build_is_loaded_and_compared_with_another(page: Page) -> None:
    page.panel("Your build")
    page.lab.notebook.locator(".widget-dropdown", has_text="shipped builds").locator("select").select_option("wren")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))
    page.lab.notebook.locator(".widget-dropdown", has_text="compare with").locator("select").select_option("otter")
    expect(page.margin("plate.plate_stress_share")).to_contain_text("otter:")
    second = page.lab.notebook.locator(".widget-html svg[role='img'][aria-label*='bore 8 mm']")
    expect(second).to_be_visible()


def test_a_worked_example_is_copied_and_restores_the_build(page: Page) -> None:
    page.panel("Worked example")
    page.lab.notebook.locator(".widget-dropdown", has_text="work out").locator("select").select_option(
        label="all room in the bore over one turn (V_net)"
    )
    expect(page.lab.notebook.locator("textarea[aria-label='Copy this worked example']")).to_have_value(
        re.compile("screw.net_volume")
    )
    post = page.copied("Copy this worked example")
    assert "screw.net_volume:" in post
    assert "85.5 mm³" in post
    assert read_build(post).toml() == shipped_build("otter").toml()


def test_every_value_is_one_click_away_and_choices_change_the_margins(page: Page) -> None:
    page.panel("All values")
    page.lab.notebook.locator(".lm-TabBar-tab", has_text="Bearing plate").click()
    before = page.margin("plate.plate_stress_share").inner_text()
    choice = page.lab.notebook.locator(".widget-dropdown", has_text="plate support").locator("select")
    choice.select_option("annular, outer edge supported")
    expect(page.margin("plate.plate_stress_share")).not_to_have_text(before)


def test_a_saved_build_lies_beside_the_page(page: Page) -> None:
    page.panel("Your build")
    page.lab.notebook.get_by_role("button", name="Save beside this page").click()
    expect(page.lab.notebook.get_by_text("saved, in the folder of this page", exact=False)).to_be_visible()
    saved = page.lab.server.root / "handbook" / "my_build.toml"
    assert read_build(saved.read_text(encoding="utf-8")).toml() == shipped_build("otter").toml()
