"""The whole way of a decision in the browser: from a build to a better one, to a trial, and back to the margins."""

import re

from augerbook.builds.shipped import read_build, shipped_build
from augerbook.deciding.weighings import read_weighings
from augerbook.head.screw import friction_screw
from playwright.sync_api import Locator, expect

from tests.browser.start_page import Page


def test_load_rank_open_the_best_plan_weigh_and_learn(page: Page) -> None:
    notebook = page.lab.notebook

    def button(words: str) -> None:
        notebook.get_by_role("button", name=words, exact=True).click()

    def heading(words: str) -> Locator:
        return notebook.locator(".jupyter-widget-Collapse-header", has_text=words)

    # A build, and another back again: the way begins with loading.
    page.panel("Your build")
    page.pick("shipped builds", "wren")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 5 mm"))
    page.pick("shipped builds", "otter")
    expect(page.picture()).to_have_attribute("aria-label", re.compile("bore 8 mm"))
    page.lab.wait_idle()

    # From a failed margin to candidates, ranked.
    page.pick("mend", "stress of the tube at stall")
    button("Find candidates")
    status = notebook.get_by_text("To better the stress of the tube at stall", exact=False)
    expect(status).to_be_visible()
    expect(heading("Which build to try next")).to_be_in_viewport()
    page.field("tube outside diameter").fill("10 mm; 12 mm")
    page.field("tube outside diameter").press("Tab")
    page.pick("draws", "32")
    button("Run")
    expect(notebook.get_by_text(re.compile(r"^(\d+) of \1 pieces$"))).to_be_visible(timeout=90_000)
    table = notebook.locator("table", has_text="12 mm").first
    expect(table).to_contain_text("%")

    # The best of them beside the build at hand.
    best = notebook.get_by_role("combobox", name="candidate", exact=True)
    chosen = best.evaluate("e => e.selectedOptions[0].label")
    button("Show beside")
    expect(page.margin("thrust.tube_stress_share")).to_contain_text(f"{chosen}:")

    # From a wide spread to the trial that narrows it, and its plan.
    page.pick("mend", "grip reserve of the plug")
    button("Find the trial that narrows it")
    expect(notebook.get_by_text("would tell most: it would leave", exact=False)).to_be_visible()
    expect(heading("Trials: plan, weigh, learn")).to_be_in_viewport()
    page.field("screws").fill("as bought; polished")
    page.field("difference worth knowing").fill("6 %")
    page.field("difference worth knowing").press("Enter")
    expect(notebook.get_by_text("9 weighings of each show such a difference", exact=False)).to_be_visible()
    button("Draw lots")
    expect(notebook.locator("[data-sheet] tr")).to_have_count(10)
    plan = page.copied("Copy the plan as CSV")
    assert plan.count("as bought") == plan.count("polished") == 9
    with page.lab.page.expect_popup() as opened:
        button("Print this sheet")
    expect(opened.value.locator("table tr")).to_have_count(10)
    assert opened.value.title() == "Plan of a trial"
    opened.value.close()

    # The invented weighings, their verdict, and what they teach.
    page.pick("invented sets", "two screws differ")
    expect(notebook.get_by_text("coach polished brings more than coach as bought", exact=False)).to_be_visible()
    grip = page.margin("conveying.grip_reserve")
    found = re.search(r"With the spread of the inputs [\d.]+ to [\d.]+", grip.text_content() or "")
    assert found is not None
    before = found.group()
    field = notebook.get_by_role("textbox", name="tilted plane of the screw's metal", exact=True)
    field.fill("0,27")
    field.press("Tab")
    button("Let the build learn")
    expect(notebook.get_by_text("Told:", exact=False)).to_be_visible()
    expect(grip).not_to_contain_text(before)
    learnt = read_build(page.build())
    (low, high), (lowest, highest) = (b.ends[friction_screw] for b in (learnt, shipped_build("otter")))
    assert high - low < 0.5 * (highest - lowest)
    assert "from trials" in learnt.note

    # And back.
    page.panel("Trials: plan")
    button("Take it back")
    expect(grip).to_contain_text(before)
    assert page.build() == shipped_build("otter").toml()
    assert len(read_weighings(plan.replace(",,,,", ",1,0.5,57,")).screws) == 2
