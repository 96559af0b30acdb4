"""The start page as a builder uses it: load, move, compare, paste, mend, copy, save."""

import re

import pytest
from augerbook.builds.build import Build, exact_number, row_in_words
from augerbook.builds.named import named_honestly
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.core.quantity import Lookup
from augerbook.head import part_titles
from augerbook.head.bearing import bearing
from augerbook.head.feedstock import plastic
from augerbook.head.screw import major_diameter
from augerbook.head.tube import bore_diameter, tube_outside_diameter
from augerbook.page.margins_view import all_margins
from augerbook.page.value_row import label_of
from augerbook.tables import read_table
from playwright.sync_api import expect

from tests.browser.lab import SIZE
from tests.browser.start_page import Page


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
        known = quantity in build.values
        shown = exact_number(quantity, build.values[quantity]) if known else ""
        expect(page.field(label_of(quantity))).to_have_value(shown)
    page.panel("Your build")
    assert page.copied("Copy this build") == build.toml()


@pytest.mark.parametrize("taken", [{}, {bearing: "608", plastic: "PETG"}], ids=["as it is", "bearing and plastic"])
def test_clicking_through_all_values_changes_nothing(page: Page, taken: dict[Lookup, str]) -> None:
    expected: Build = shipped_build("otter")
    for lookup, name in taken.items():
        page.pick(lookup.name_in_words, row_in_words(lookup, read_table(lookup.table).row(name)))
        expected = named_honestly(expected.with_name(lookup, name))
    page.panel("All values")
    tabs = page.lab.notebook.locator(".lm-TabBar-tab")
    expect(tabs).to_have_count(len(part_titles()))
    for _ in range(2):
        for place in range(len(part_titles())):
            tabs.nth(place).click()
            page.lab.wait_idle()
    absent = next(q for q in expected.network.inputs if q not in expected.values)
    tabs.filter(has_text=part_titles()[absent.part]).click()
    expect(page.field(label_of(absent))).to_have_value("")
    expect(page.field(label_of(absent))).to_have_attribute("placeholder", "not given")
    assert page.build() == expected.toml()


def test_builds_that_are_loaded_one_after_another_stay_as_they_are(page: Page) -> None:
    """All sliders get new ends and values at once, and their browser rounds them."""
    page.panel("All values")
    page.lab.wait_idle()
    page.panel("Your build")
    box = page.lab.notebook.locator("textarea[aria-label='Copy this build']")
    for name in ("wren", "otter", "wren"):
        page.pick("shipped builds", name)
        expect(box).to_have_value(re.compile(f'name = "{name}"'))
        page.lab.wait_idle()
        assert box.input_value() == shipped_build(name).toml()
    page.paste('format = 1\nname = "little"\n\n[tube]\nbore_diameter = "8.05 mm"\n')
    expect(box).to_have_value('format = 1\nname = "little"\n\n[tube]\nbore_diameter = "8.05 mm"\n')
    page.lab.wait_idle()
    expect(box).to_have_value('format = 1\nname = "little"\n\n[tube]\nbore_diameter = "8.05 mm"\n')


def test_what_is_typed_is_saved_to_the_last_digit(page: Page) -> None:
    page.type("pitch (mm)", "1.25")
    page.type("bore diameter (mm)", "7,5 mm")
    page.type("nozzle diameter (mm)", "0.02 in")
    expect(page.field("nozzle diameter (mm)")).to_have_value("0.508")
    expect(page.field("bore diameter (mm)")).to_have_value("7.5")
    page.panel("All values")
    page.lab.notebook.locator(".lm-TabBar-tab", has_text="Melt").click()
    page.type("zero viscosity (Pa·s)", "20")  # on a logarithmic slider
    page.lab.wait_idle()
    expect(page.field("zero viscosity (Pa·s)")).to_have_value("20")
    text = page.build()
    for line in ('pitch = "1.25 mm"', 'bore_diameter = "7.5 mm"', 'nozzle_diameter = "0.508 mm"',
                 'zero_viscosity = "20 Pa·s"'):  # fmt: skip
        assert line in text.splitlines()


def test_the_field_follows_the_handle_and_the_handle_the_field(page: Page) -> None:
    page.type("bore diameter (mm)", "9")
    handle = page.slider("bore diameter (mm)").locator(".noUi-handle")
    expect(handle).to_have_attribute("aria-valuetext", "9 mm")
    handle.press("ArrowRight")
    expect(page.field("bore diameter (mm)")).to_have_value(f"{9 + bore_diameter.step:g}")
    expect(page.picture()).to_have_attribute("aria-label", re.compile(f"bore {9 + bore_diameter.step:g} mm"))
    handle.press("ArrowLeft")
    expect(page.field("bore diameter (mm)")).to_have_value("9")


def test_handle_and_field_of_every_slider_have_its_name(page: Page) -> None:
    named = page.lab.notebook.get_by_role("slider", name="bore diameter (mm)", exact=True)
    expect(named).to_have_count(1)
    named.press("ArrowRight")
    expect(page.field("bore diameter (mm)")).to_have_value(f"{8 + bore_diameter.step:g}")
    page.panel("All values")
    tabs = page.lab.notebook.locator(".augerbook-live .lm-TabBar-tab")
    expect(tabs).to_have_count(len(part_titles()))
    for tab in tabs.all():
        tab.click()
        page.lab.wait_idle()
    labels = [label_of(q) for q in shipped_build("otter").network.inputs]
    handles = page.lab.notebook.locator(".noUi-handle")
    expect(handles).to_have_count(len(labels) + sum(q.primary for q in shipped_build("otter").network.inputs))
    expect(handles.and_(page.lab.page.locator(":not([aria-label])"))).to_have_count(0)
    shown = handles.evaluate_all("all => all.map(e => e.getAttribute('aria-label'))")
    assert set(shown) == set(labels)


def test_handles_announce_their_value_with_its_unit(page: Page) -> None:
    bore = page.lab.notebook.get_by_role("slider", name="bore diameter (mm)", exact=True)
    expect(bore).to_have_attribute("aria-valuetext", "8 mm")
    bore.press("ArrowRight")
    expect(bore).to_have_attribute("aria-valuetext", f"{8 + bore_diameter.step:g} mm")
    page.panel("All values")
    page.lab.notebook.locator(".lm-TabBar-tab", has_text="Melt").click()
    viscosity = page.lab.notebook.get_by_role("slider", name="zero viscosity (Pa·s)", exact=True)
    page.type("zero viscosity (Pa·s)", "20")  # on a logarithmic slider
    expect(viscosity).to_have_attribute("aria-valuetext", "20 Pa·s")
    viscosity.press("ArrowRight")
    expect(viscosity).to_have_attribute("aria-valuetext", re.compile(r"^20\.\d+ Pa·s$"))


def test_what_cannot_be_is_told_beside_the_field_and_above(page: Page) -> None:
    for text, words in (("abc", "is not a number"), ("99", "expected 2.2 to 25 mm"), ("8 kg", "a value in mm")):
        page.type("bore diameter (mm)", text)
        expect(page.row("bore diameter (mm)")).to_contain_text(words)
        expect(page.message()).to_contain_text(words)
        expect(page.field("bore diameter (mm)")).to_have_value("8")
    page.type("bore diameter (mm)", "5")
    expect(page.row("bore diameter (mm)")).to_contain_text("must be smaller than bore diameter 5.00 mm")
    page.type("bore diameter (mm)", "8")
    expect(page.row("bore diameter (mm)")).not_to_contain_text("must be")
    assert page.build() == shipped_build("otter").toml()


def test_a_danger_is_the_first_line_and_stands_beside_its_slider(page: Page) -> None:
    page.type("set temperature (°C)", "350")
    strip = page.lab.notebook.locator(".widget-html:has(span[title])")
    expect(strip).to_have_text(re.compile(r"^\s*Danger: set temperature 350 °C must not exceed the degradation "))
    expect(page.row("set temperature (°C)").get_by_role("alert")).to_contain_text("harmful fumes")
    page.type("set temperature (°C)", "205")
    expect(strip).not_to_contain_text("Danger")
    expect(page.row("set temperature (°C)")).not_to_contain_text("Danger")


@pytest.mark.parametrize("size", [(900, 700), (1280, 900)])
def test_a_failing_build_shows_its_margins_in_the_strip_and_leads_to_what_they_are_worth(
    page: Page, size: tuple[int, int]
) -> None:
    wide = shipped_build("otter").with_value(tube_outside_diameter, 13.5e-3).with_value(bore_diameter, 12e-3)
    page.panel("Your build")
    page.paste(wide.with_value(major_diameter, 10e-3).toml())
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 12 mm"))
    page.lab.wait_idle()
    page.lab.page.set_viewport_size({"width": size[0], "height": size[1]})
    page.lab.page.wait_for_timeout(2000)  # until the strip has the height that it needs
    strip = page.lab.notebook.locator(".augerbook-staying")
    failing = strip.locator("[data-jump][aria-label$='beyond the limit']")
    assert failing.count() > 2
    edge = strip.evaluate("e => e.getBoundingClientRect().bottom")
    assert max(failing.evaluate_all("all => all.map(e => e.getBoundingClientRect().bottom)")) < edge
    more = strip.evaluate("e => e.scrollHeight > e.clientHeight + 6")
    assert more is (strip.get_attribute("data-more") is not None)
    assert more is (size[0] == 900), "so that both are seen here"
    strip.get_by_role("button", name=re.compile(r"^\d+ conditions do not hold$")).press("Enter")
    full = page.lab.notebook.locator(".outside")
    expect(full).to_be_focused()
    assert full.evaluate("e => e.getBoundingClientRect().top") >= edge
    expect(full).to_contain_text("the flanks of neighbouring turns meet above the core")
    expect(strip).not_to_contain_text("the flanks of neighbouring turns")
    page.lab.page.set_viewport_size(SIZE)


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
    beside = page.lab.notebook.locator(".widget-hbox:has(> .widget-textarea)")
    expect(beside).to_contain_text("did you mean 'bore_diameter'?")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))


def test_the_panel_stays_in_sight_when_a_small_build_makes_the_page_short(page: Page) -> None:
    page.panel("Your build")
    page.lab.wait_idle()
    page.paste('format = 1\nname = "little"\n\n[tube]\nbore_diameter = "8.05 mm"\n')
    page.lab.wait_idle()
    page.lab.page.wait_for_timeout(2000)
    paste = page.lab.notebook.get_by_placeholder("Paste a build here")
    expect(paste).to_be_in_viewport()
    top = paste.evaluate("e => e.getBoundingClientRect().top")
    strip = page.lab.notebook.locator(".augerbook-staying").evaluate("e => e.getBoundingClientRect().bottom")
    assert top > strip, "not behind the strip that stays"


def test_a_pasted_part_asks_what_is_meant_and_goes_into_the_build(page: Page) -> None:
    page.panel("Your build")
    page.paste('format = 1\n\n[tube]\nbore_diameter = "8.4 mm"\n')
    take = page.lab.notebook.get_by_role("button", name="Take these values into my build")
    expect(take).to_be_visible()
    expect(page.lab.notebook.get_by_role("button", name="Start a new build from them")).to_be_visible()
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 8 mm"))
    take.click()
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 8.4 mm"))
    expect(page.field("pitch (mm)")).not_to_have_value("")
    expect(take).not_to_be_visible()


def test_a_shipped_build_is_loaded_and_compared_with_another(page: Page) -> None:
    page.panel("Your build")
    page.lab.notebook.locator(".widget-dropdown", has_text="shipped builds").locator("select").select_option("wren")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))
    page.lab.notebook.locator(".widget-dropdown", has_text="compare with").locator("select").select_option("otter")
    expect(page.margin("plate.plate_stress_share")).to_contain_text("otter:")
    second = page.lab.notebook.locator(".widget-html svg[role='img'][aria-label*='bore 8 mm']")
    expect(second).to_be_visible()


def test_nothing_is_called_copied_that_was_not(page: Page) -> None:
    page.panel("Worked example")
    box = page.lab.notebook.locator("textarea[aria-label='Copy this worked example']")
    expect(box).to_have_value(re.compile("^\\*\\*"))  # a first example is there, and can be copied
    list_ = page.lab.notebook.locator(".widget-dropdown", has_text="work out").locator("select")
    assert list_.evaluate("e => e.selectedOptions[0].label")
    page.lab.page.evaluate("navigator.clipboard.writeText('before')")
    page.lab.page.evaluate("() => { navigator.clipboard.writeText = () => Promise.reject(new Error('forbidden')); }")
    page.lab.notebook.get_by_role("button", name="Copy this worked example", exact=True).click()
    expect(page.lab.notebook.get_by_role("button", name="Not copied. It is selected now")).to_be_visible()
    assert page.lab.notebook.get_by_role("button", name="Copied", exact=True).count() == 0
    assert page.lab.page.evaluate("document.getSelection().toString()") == box.input_value()
    page.lab.page.keyboard.press("Control+c")
    assert page.lab.clipboard() == box.input_value()
    expect(page.lab.notebook.get_by_role("button", name="Copy this worked example", exact=True)).to_be_visible()
    page.lab.page.evaluate("delete navigator.clipboard.writeText")  # the page is used again: its own comes back


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
