"""From a failed margin to a better build, in the browser: jump, fold, try, take back, undo; and how far wren comes."""

import re

from augerbook.builds.shipped import read_build, shipped_build
from augerbook.core.margin import Verdict
from augerbook.deciding.candidates import changed
from augerbook.deciding.changes import levers_of
from augerbook.deciding.ranking import margins_of_head
from augerbook.head import printing
from playwright.sync_api import Locator, expect

from tests.browser.start_page import Page

#: Time for the changes of one margin to be computed on a busy machine.
LOOKED = 60_000


def button(page: Page, words: str, place: int = 0) -> Locator:
    return page.lab.notebook.get_by_role("button", name=words, exact=True).nth(place)


def fold(page: Page, margin_id: str) -> Locator:
    return page.margin(margin_id).locator("> details")


def offers(page: Page) -> Locator:
    """The rows of changes that are offered, once they can be clicked."""
    rows = page.lab.notebook.locator(".augerbook-mending .widget-hbox", has=page.lab.page.get_by_text("Try it"))
    visible = rows.filter(visible=True)
    expect(page.lab.notebook.get_by_text("changes were tried in the whole head")).to_be_visible(timeout=LOOKED)
    expect(visible.first.get_by_role("button")).to_be_enabled(timeout=LOOKED)
    return visible


def wren(page: Page) -> None:
    page.panel("Your build")
    page.pick("shipped builds", "wren")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))
    page.lab.wait_idle()


def test_a_chip_jumps_to_its_margin_opens_it_and_takes_the_keyboard_there(page: Page) -> None:
    chip = page.lab.notebook.locator("[data-jump='heat.throat_reserve']")
    expect(fold(page, "heat.throat_reserve")).not_to_have_attribute("open", "")
    before = page.lab.notebook.locator(".jp-WindowedPanel-outer").first.evaluate("e => e.scrollTop")
    chip.click()
    expect(fold(page, "heat.throat_reserve")).to_have_attribute("open", "")
    summary = fold(page, "heat.throat_reserve").locator("> summary")
    expect(summary).to_be_focused()
    expect(summary).to_be_in_viewport()
    strip, margin = page.lab.notebook.locator(".augerbook-staying").bounding_box(), summary.bounding_box()
    assert strip is not None and margin is not None and margin["y"] >= strip["y"] + strip["height"], "not behind it"
    assert page.lab.notebook.locator(".jp-WindowedPanel-outer").first.evaluate("e => e.scrollTop") != before
    title = summary.locator("b").inner_text()
    assert title.lower() in chip.inner_text().lower()


def test_folds_open_by_the_keyboard_and_stay_open_while_a_slider_moves(page: Page) -> None:
    one = fold(page, "plate.plate_stress_share")
    summary = one.locator("> summary")
    summary.focus()
    was = one.get_attribute("open") is not None
    page.lab.page.keyboard.press("Enter")
    expect(one).to_have_js_property("open", not was)
    shown = page.margin("plate.plate_stress_share").inner_text()
    handle = page.slider("plate thickness (mm)").locator(".noUi-handle")
    for _ in range(8):
        handle.press("ArrowRight")
    expect(page.margin("plate.plate_stress_share")).not_to_have_text(shown)
    page.lab.wait_idle()
    expect(one).to_have_js_property("open", not was)
    summary.focus()
    page.type("gear ratio", "6")
    summary.focus()
    page.lab.wait_idle()
    expect(summary).to_be_focused()


def test_what_needs_a_look_stands_first_and_good_ones_take_one_line(page: Page) -> None:
    wren(page)
    shown = page.lab.notebook.locator("[data-margin]").evaluate_all("all => all.map(e => e.dataset.verdict)")
    order = [Verdict.FAILS, Verdict.TIGHT, Verdict.UNKNOWN, Verdict.GOOD]
    assert shown == sorted(shown, key=lambda verdict: order.index(Verdict(verdict)))
    heights = page.lab.notebook.locator("[data-margin][data-verdict='good']").evaluate_all(
        "all => all.map(e => e.offsetHeight)"
    )
    assert heights and max(heights) < 45
    page.paste('format = 1\nname = "little"\n\n[tube]\nbore_diameter = "8.05 mm"\n')
    unknown = page.margin("plate.plate_stress_share")
    expect(unknown).to_have_attribute("data-verdict", "cannot be computed")
    expect(unknown.locator("> details > summary")).to_contain_text(
        "cannot be computed needs plate material, plate support"
    )
    few = page.margin("heat.heater_share").locator("> details > summary")
    expect(few).to_contain_text(re.compile(r"needs .+, .+, .+ and \d+ more"))


def test_a_change_is_tried_taken_back_reset_undone_and_redone(page: Page) -> None:
    wren(page)
    page.pick("mend", "stress of the plate over yield")
    row = offers(page).first
    expect(row).to_contain_text(re.compile(r"plate thickness 2 to \d+ mm: 5\.\d+ to 0\.\d+, good"))
    row.get_by_role("button").click()
    expect(page.margin("plate.plate_stress_share")).to_have_attribute("data-verdict", "good")
    expect(page.lab.notebook.get_by_text(re.compile(r"^plate thickness 2 to \d+ mm$")).first).to_be_visible()
    button(page, "Take it back").click()
    expect(page.margin("plate.plate_stress_share")).to_have_attribute("data-verdict", "beyond the limit")
    text = page.lab.notebook.locator("textarea[aria-label='Copy this build']")
    expect(text).to_have_value(shipped_build("wren").toml())
    button(page, "Redo").click()
    expect(page.margin("plate.plate_stress_share")).to_have_attribute("data-verdict", "good")
    button(page, "Undo").click()
    expect(page.margin("plate.plate_stress_share")).to_have_attribute("data-verdict", "beyond the limit")
    page.type("bore diameter (mm)", "5.5")
    expect(page.lab.notebook.get_by_text("bore diameter 5 to 5.5 mm", exact=True)).to_be_visible()
    page.lab.wait_idle()
    button(page, "Reset").click()
    expect(page.field("bore diameter (mm)")).to_have_value("5")
    expect(text).to_have_value(shipped_build("wren").toml())
    for _ in range(3):
        button(page, "Undo").click()
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 8 mm"))
    expect(button(page, "Undo")).to_be_disabled()
    expect(text).to_have_value(shipped_build("otter").toml())


def test_a_button_in_a_margin_looks_for_changes_that_mend_it(page: Page) -> None:
    wren(page)
    fold(page, "plate.plate_stress_share").get_by_role("button").click()
    chosen = page.lab.notebook.get_by_role("combobox", name="mend", exact=True)
    expect(chosen.locator("option:checked")).to_have_text("stress of the plate over yield")
    expect(offers(page).first).to_contain_text("plate thickness 2 to")


def test_wren_comes_within_all_limits_that_no_measurement_sets_in_under_ten_clicks(page: Page) -> None:
    """The first change that is offered, again and again; one margin rests on weighed runs alone, and says so."""
    wren(page)
    build = shipped_build("wren")
    clicks = 0
    beyond = page.lab.notebook.locator("[data-margin][data-verdict='beyond the limit']")
    of_head = {margin.id: margin for margin in margins_of_head(build.network)}

    def failing() -> set[str]:
        page.lab.wait_idle()
        return set(beyond.evaluate_all("all => all.map(e => e.dataset.margin)")) & set(of_head)

    told = []
    while len(failing()) > 1 and clicks < 9:
        first = offers(page).first
        told.append(first.inner_text())
        first.get_by_role("button").click()
        clicks += 1
        expect(button(page, "Take it back")).to_be_visible()
        page.lab.wait_idle()
    assert failing() == {"drive.setting_bounds"}, told
    assert clicks < 10
    better, build = read_build(page.build()), read_build(build.toml())
    for quantity in build.ends.keys() - build.network.assumed:
        assert better.entries[quantity] == build.entries[quantity], f"{quantity.key} was measured"
    assert {one.part for one in changed(build, better)} <= {
        "feedstock", "bearing", "plate", "drive", "heating", "nozzle", "screw", "tube", "hopper", "carriage",
        printing.PART.name,
    }  # fmt: skip
    assert levers_of(better, of_head["drive.setting_bounds"]) == []
    # The list is whole when the page is at rest: the search for changes comes last.
    expect(page.lab.notebook.get_by_text(re.compile(r"\d+ changes were tried"))).to_be_visible(timeout=LOOKED)
    page.pick("mend", "uncertainty of the weighed setting")
    expect(page.lab.notebook.get_by_text("It rests on what only measuring tells", exact=False)).to_be_visible(
        timeout=LOOKED
    )
    expect(page.margin("hopper.hausner_ratio")).to_have_attribute("data-verdict", "tight")
