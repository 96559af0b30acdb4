"""The start page as a maker's own desk: save and bring back, tables of one's own, fractions, spreads, search."""

import re
from pathlib import Path

import pytest
from augerbook.builds.own_rows import own_file
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.head.feedstock import flake_thickness, sieve_table
from augerbook.head.screw import major_diameter, pitch, standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.page.limits import BUILD_LIMITS
from augerbook.page.shelf import LAST
from playwright.sync_api import Locator, expect

from tests.browser.start_page import Page

SCREWS = (
    "name,major_diameter [mm],core_diameter [mm],pitch [mm],flank_half_angle [deg],crest_width [mm]\n"
    "shed screw,0.24,4.1,2.7,30,0.1\n"
    "bent,6,x,1,30,0.1\n"
).replace("major_diameter [mm]", "major_diameter [inch]")


def going_on(page: Page) -> Locator:
    return page.lab.notebook.get_by_role("button", name=re.compile("^Go on"))


def wait_for(path: Path, page: Page) -> None:
    for _ in range(200):
        if path.is_file():
            return
        page.lab.page.wait_for_timeout(50)
    raise AssertionError(f"{path.name} was not written")


def test_a_build_is_saved_named_and_brought_back_after_a_restart(page: Page, folder: Path) -> None:
    expect(going_on(page)).to_have_count(0)
    page.panel("Your build")
    page.type("name", "shed head")
    page.type("note", "for <b>flower pots</b>")
    page.type("bore diameter (mm)", "5/16 in")
    expect(page.field("bore diameter (mm)")).to_have_value("7.9375")
    # By the keyboard: the margins above are at work on the new value, and move the button away from below a pointer.
    page.lab.notebook.get_by_role("button", name="Save beside this page").press("Enter")
    expect(page.lab.notebook.get_by_text("my_build.toml: saved")).to_be_visible()
    saved = (folder / "my_build.toml").read_text(encoding="utf-8")
    assert read_build(saved).name == "shed head" and 'bore_diameter = "7.9375 mm"' in saved
    page.type("bore diameter (mm)", "8.5")
    page.lab.notebook.get_by_role("button", name="Save beside this page").click()
    expect(page.lab.notebook.get_by_text("There is a my_build.toml already")).to_be_visible()
    assert (folder / "my_build.toml").read_text(encoding="utf-8") == saved
    last = folder / LAST
    wait_for(last, page)
    page.lab.wait_idle()
    page.lab.page.wait_for_timeout(1500)
    assert read_build(last.read_text("utf-8")).values[bore_diameter] == pytest.approx(0.0085)

    page.lab.reopen()  # the kernel has ended: a fresh one, Run All, one click
    page.start_over()
    expect(page.field("bore diameter (mm)")).to_have_value("8")
    expect(going_on(page)).to_have_count(2)
    expect(going_on(page).first).to_have_text(re.compile("Go on where you left off: shed head, "))
    expect(going_on(page).last).to_have_text(re.compile("Go on with my_build.toml, saved "))
    going_on(page).first.press("Enter")
    expect(page.field("bore diameter (mm)")).to_have_value("8.5")
    expect(going_on(page)).to_have_count(0)
    page.panel("Your build")
    mine = page.lab.notebook.get_by_role("combobox", name="saved builds")
    label = mine.locator("option", has_text="my_build.toml").inner_text()
    mine.select_option(label.replace("\u00a0", " "))
    expect(page.field("bore diameter (mm)")).to_have_value("7.9375")
    expect(page.field("note")).to_have_value("for <b>flower pots</b>")


def test_a_changed_shipped_build_is_copied_under_another_name(page: Page) -> None:
    page.type("bore diameter (mm)", "8.5")
    page.panel("Your build")
    expect(page.field("name")).to_have_value("otter, changed")
    box = page.lab.notebook.locator("textarea[aria-label='Copy this build']")
    expect(box).to_have_value(re.compile('name = "otter, changed"'))
    assert read_build(page.copied("Copy this build")).name == "otter, changed"
    page.type("bore diameter (mm)", "8")
    expect(page.field("name")).to_have_value("otter")
    expect(box).to_have_value(shipped_build("otter").toml())


def test_a_screw_of_ones_own_is_taken_and_travels(page: Page, folder: Path) -> None:
    (folder / own_file("screws")).write_text(SCREWS, encoding="utf-8")
    page.panel("Your build")
    page.lab.notebook.get_by_role("button", name="Read my tables again").click()
    told = page.lab.notebook.get_by_text("my_screws.csv, line 3, column 'core_diameter': found 'x'")
    expect(told.first).to_be_visible()
    page.pick(standard_screw.name_in_words, "shed screw, own")
    expect(page.field("pitch (mm)")).to_have_value("2.7")
    expect(page.field("major diameter (mm)")).to_have_value("6.096")
    expect(page.lab.notebook.locator("textarea[aria-label='Copy this build']")).to_have_value(re.compile('"2.7 mm"'))
    build = read_build(page.build())
    assert standard_screw not in build.names and build.values[pitch] == pytest.approx(0.0027)
    assert build.values[major_diameter] == pytest.approx(0.24 * 0.0254)


def test_fractions_and_spreads_are_typed(page: Page) -> None:
    page.type("bore diameter (mm)", '5/16"')
    expect(page.field("bore diameter (mm)")).to_have_value("7.9375")
    page.panel("All values")
    spread = page.field("spread of flake thickness (mm)")
    expect(spread).to_have_value("0.8 to 1.6")
    page.type("spread of flake thickness (mm)", "1/32 to 1/16 in")
    expect(spread).to_have_value("0.79375 to 1.5875")
    page.type("spread of flake thickness (mm)", "1.5 to 2")
    row = spread.locator("xpath=ancestor::*[contains(@class, 'widget-hbox')][1]")
    expect(row).to_contain_text("does not lie about the value itself, 1.2 mm")
    expect(spread).to_have_value("0.79375 to 1.5875")
    page.type("spread of drying time (h)", "5 to 7")
    page.type("spread of flake thickness (mm)", "")
    expect(spread).to_have_attribute("placeholder", "exact")
    build = read_build(page.build())
    assert flake_thickness not in build.ends
    assert 'drying_time = { nominal = "6 h", low = "5 h", high = "7 h" }' in build.toml()


def test_the_sieve_table_is_typed_and_drawn(page: Page) -> None:
    page.panel("All values")
    curve = page.lab.notebook.locator("svg[aria-label^='Share of the mass below each mesh']")
    before = curve.get_attribute("aria-label")
    page.type("row 2, share on mesh (%)", "34")
    expect(page.lab.notebook.get_by_text("the shares add up to 110 %")).to_be_visible()
    page.type("row 3, share on mesh (%)", "23")
    expect(page.lab.notebook.get_by_text("the shares add up to 110 %")).to_have_count(0)
    expect(curve).not_to_have_attribute("aria-label", before or "")
    shares = read_build(page.build()).rows[sieve_table][1]
    assert shares[1:3].tolist() == pytest.approx([0.34, 0.23])


def test_values_of_all_parts_and_worked_examples_are_searched(page: Page) -> None:
    page.panel("All values")
    search = page.field("search")
    search.fill("bearing bore")
    expect(page.lab.notebook.locator(".jupyter-widget-Collapse-open .widget-slider")).to_have_count(1)
    expect(page.field("bearing bore (mm)")).to_have_value("10")
    search.fill("zebra")
    expect(page.lab.notebook.get_by_text("nothing is called 'zebra' here")).to_be_visible()
    search.fill("")
    expect(page.lab.notebook.locator(".lm-TabBar-tab", has_text="Hopper")).to_be_visible()
    page.panel("Worked example")
    page.field("search").fill("room in the bore over one turn")
    box = page.lab.notebook.locator("textarea[aria-label='Copy this worked example']")
    expect(box).to_have_value(re.compile("screw.net_volume"))
    assert page.build() == shipped_build("otter").toml()


def test_bearings_are_listed_with_kind_and_sizes(page: Page) -> None:
    page.pick("bearing", "608, deep groove, 8 x 22 x 7 mm")
    page.lab.wait_idle()
    assert 'bearing = "608"' in page.build()


def test_what_is_too_large_is_refused_before_it_is_sent(page: Page, tmp_path: Path) -> None:
    page.panel("Your build")
    area = page.lab.notebook.get_by_placeholder("Paste a build here")
    area.focus()
    page.lab.page.evaluate("n => navigator.clipboard.writeText('x'.repeat(n))", 5_000_000)
    page.lab.page.keyboard.press("Control+v")
    told = page.lab.notebook.get_by_text("That is too long to be pasted here: 5000000 characters")
    expect(told).to_be_visible()
    expect(area).to_have_value("")
    page.lab.page.evaluate("t => navigator.clipboard.writeText(t)", shipped_build("wren").toml())
    page.lab.page.keyboard.press("Control+v")
    expect(told).to_be_hidden()
    expect(area).to_have_value(shipped_build("wren").toml())
    assert len(shipped_build("wren").toml()) < BUILD_LIMITS.pasted

    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * (BUILD_LIMITS.uploaded + 100_000))
    small = tmp_path / "small.toml"
    small.write_text(shipped_build("wren").toml(), encoding="utf-8")
    button = page.lab.notebook.get_by_role("button", name=re.compile("Upload a build file"))
    for path in (large, small):
        with page.lab.page.expect_file_chooser() as chooser:
            button.click()
        chooser.value.set_files(path)
        if path == large:
            expect(page.lab.notebook.get_by_text("That file is too large: 2.1 MB")).to_be_visible()
            expect(page.field("bore diameter (mm)")).to_have_value("8")
    expect(page.field("bore diameter (mm)")).to_have_value("5")
    expect(page.lab.notebook.get_by_text("That file is too large")).to_be_hidden()
