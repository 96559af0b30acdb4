"""The start page in a browser, with the places that a builder looks at and what a builder does there."""

import re

from playwright.sync_api import Locator, expect

from tests.browser.lab import Lab


class Page:
    """The start page, run, with the places a builder looks at."""

    def __init__(self, lab: Lab) -> None:
        self.lab = lab
        lab.open("start")
        self.start_over()

    def start_over(self) -> None:
        """Run all cells: the shipped build, all panels closed, nothing left of what was done before."""
        self.lab.run_all()
        expect(self.margin("plate.plate_stress_share")).to_be_visible()

    def margin(self, margin_id: str) -> Locator:
        return self.lab.notebook.locator(f"[data-margin='{margin_id}']")

    def picture(self) -> Locator:
        return self.lab.notebook.locator(".widget-html svg[role='img']").first

    def slider(self, words: str) -> Locator:
        """The first slider with that label; the page has some values twice."""
        return self.lab.notebook.locator(
            ".widget-slider", has=self.lab.page.locator(f".widget-label:text-is('{words}')")
        ).first

    def field(self, words: str, place: int = 0) -> Locator:
        return self.lab.notebook.get_by_role("textbox", name=words, exact=True).nth(place)

    def row(self, words: str) -> Locator:
        """Slider, field and note of a value."""
        return self.slider(words).locator("..")

    def type(self, words: str, text: str, place: int = 0) -> None:
        self.field(words, place).fill(text)
        self.field(words, place).press("Enter")

    def pick(self, words: str, option: str) -> None:
        self.lab.notebook.get_by_role("combobox", name=words, exact=True).first.select_option(option)

    def build(self) -> str:
        """The text of the build, as it would be copied."""
        self.panel("Your build")
        self.lab.wait_idle()
        box = self.lab.notebook.locator("textarea[aria-label='Copy this build']")
        expect(box).to_have_value(re.compile("^format = 1"))
        text: str = box.input_value()
        return text

    def message(self) -> Locator:
        return self.lab.notebook.locator("[role='status']:not(.augerbook-soon *)").first

    def panel(self, title: str) -> None:
        """Open a panel, if it is not open."""
        panel = self.lab.notebook.locator(".jupyter-widget-Collapse", has_text=title)
        opened = panel.and_(self.lab.page.locator(".jupyter-widget-Collapse-open"))
        if opened.count() == 0:
            self.lab.wait_idle()  # what arrives meanwhile would move the heading away from below the pointer
            panel.locator(".jupyter-widget-Collapse-header").click()
        expect(opened).to_be_visible()

    def paste(self, text: str) -> None:
        self.lab.notebook.get_by_placeholder("Paste a build here").fill(text)
        self.lab.notebook.get_by_role("button", name="Load the pasted text").click()

    def copied(self, words: str) -> str:
        button = self.lab.notebook.get_by_role("button", name=words, exact=True)
        button.click()
        expect(self.lab.notebook.get_by_role("button", name="Copied")).to_be_visible()
        return self.lab.clipboard()
