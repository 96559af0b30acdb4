"""One build in two places: two views of one page agree, and a page that was run again elsewhere says that it is old."""

from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser.lab import Lab
from tests.browser.start_page import Page


def test_two_views_agree_and_an_old_one_says_so(new_lab: Callable[[], Lab]) -> None:
    page = Page(new_lab())
    notebook = page.lab.notebook
    page.picture().click(button="right")
    page.lab.page.locator("[data-command='notebook:create-output-view']").click()
    beside = page.lab.page.locator(".jp-LinkedOutputView")
    field = beside.get_by_role("textbox", name="bore diameter (mm)", exact=True).first
    expect(field).to_have_value("8")
    field.fill("9")
    field.press("Enter")
    expect(page.field("bore diameter (mm)")).to_have_value("9")
    page.type("bore diameter (mm)", "8.5")
    expect(field).to_have_value("8.5")

    # The same notebook in another tab of the browser has the same kernel. Run there, its page is the newer one.
    other = Page(Lab(page.lab.server, page.lab.page.context))
    expect(other.field("bore diameter (mm)")).to_have_value("8")
    expect(notebook.get_by_text("This view is out of date", exact=False)).to_be_visible()
    assert other.lab.notebook.get_by_text("This view is out of date", exact=False).count() == 0
    # A tab that is opened while the kernel has a page asks it for all its widgets, and JupyterLab may look for one
    # of them before it has come. What is shown is whole, as seen above.
    asked_early = "widget model not found"
    assert [line for line in [*page.lab.errors(), *other.lab.errors()] if asked_early not in line] == []
    page.lab.close()
