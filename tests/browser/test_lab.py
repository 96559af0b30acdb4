"""Notebooks in JupyterLab: what a slider changes, what stands there when no kernel runs, and the harness itself."""

import re
from pathlib import Path

import nbformat
import pytest
from playwright.sync_api import expect

from tests.browser.lab import HANDBOOK, Lab
from tests.handbook import refresh

SAMPLE = Path(__file__).parents[1] / "handbook" / "samples" / "01_sample.ipynb"


def test_an_arrow_key_on_the_slider_changes_the_answer(lab: Lab, tmp_path: Path) -> None:
    lab.open(SAMPLE)
    expect(lab.notebook.locator(".answer")).to_have_count(0)  # widgets live only once the cells have run
    lab.run_all()
    answer = lab.notebook.locator(".answer")
    expect(answer).to_have_text("342 ml")
    lab.notebook.locator(".noUi-handle").press("ArrowRight")
    expect(answer).to_have_text("376 ml")
    lab.screenshot(tmp_path / "moved.png")
    assert (tmp_path / "moved.png").stat().st_size > 10_000
    assert lab.errors() == []


def test_a_callback_that_raises_is_reported(lab: Lab, tmp_path: Path) -> None:
    notebook = refresh.parse(SAMPLE.read_text(encoding="utf-8"))
    cell = next(cell for cell in notebook.cells if "VBox" in cell.source)
    cell.source = cell.source.replace("    answer.value =", "    assert height.value < 105\n    answer.value =")
    broken = tmp_path / "02_broken.ipynb"
    broken.write_text(refresh.text_of(notebook), encoding="utf-8")
    lab.open(broken)
    lab.run_all()
    assert lab.errors() == []
    lab.notebook.locator(".noUi-handle").press("ArrowRight")
    lab.wait_idle()
    assert "AssertionError" in "\n".join(lab.errors())


@pytest.mark.parametrize(("name", "panels"), [("03_screw", 2), ("start", 1)])
def test_a_page_saved_alive_and_reopened_shows_picture_and_table(lab: Lab, name: str, panels: int) -> None:
    lab.open(HANDBOOK / f"{name}.ipynb")
    lab.run_all()
    panel = lab.notebook.locator(".augerbook-live").first
    picture = lab.notebook.locator(".jp-OutputArea:has(.augerbook-rules) .jp-RenderedImage img").first
    table = lab.notebook.get_by_text("To move the sliders run this notebook").first
    panel.scroll_into_view_if_needed()
    expect(panel).to_be_visible()
    expect(picture).to_be_hidden()
    expect(table).to_be_hidden()
    assert lab.errors() == []

    lab.save()
    saved = refresh.parse((lab.server.root / "other" / f"{name}.ipynb").read_text(encoding="utf-8"))
    views = [
        refresh.WIDGET_VIEW in output.get("data", {}) for cell in refresh.code_cells(saved) for output in cell.outputs
    ]
    assert sum(views) == panels

    lab.reopen()
    table.scroll_into_view_if_needed()
    expect(picture).to_be_visible()
    expect(table).to_be_visible()
    expect(panel).to_have_count(0)
    gone = lab.notebook.get_by_text("Error displaying widget")
    expect(gone).not_to_have_count(0)  # so that it is this, and nothing else, that the style sheet hides
    expect(gone.first).to_be_hidden()


def test_of_a_page_from_elsewhere_picture_and_table_are_shown(lab: Lab, tmp_path: Path) -> None:
    """Saved alive by someone else: JupyterLab runs nothing that it does not trust, our style sheet included."""
    notebook = refresh.parse((HANDBOOK / "03_screw.ipynb").read_text(encoding="utf-8"))
    outputs = next(cell.outputs for cell in refresh.code_cells(notebook) if cell.source.startswith("book.explore("))
    view = nbformat.v4.new_output("display_data", {refresh.WIDGET_VIEW: {"model_id": "0", "version_major": 2}})
    outputs.insert(1, view)
    foreign = tmp_path / "foreign.ipynb"
    foreign.write_text(refresh.text_of(notebook), encoding="utf-8")
    lab.open(foreign)
    table = lab.notebook.get_by_text("To move the sliders run this notebook").first
    table.scroll_into_view_if_needed()
    expect(table).to_be_visible()
    area = lab.notebook.locator(".jp-OutputArea", has=lab.page.get_by_text("To move the sliders")).first
    expect(area.locator(".jp-RenderedImage img")).to_be_visible()
    expect(lab.notebook.get_by_text("Error displaying widget")).to_have_count(0)
    assert lab.errors() == []


def test_the_clipboard_can_be_read(lab: Lab) -> None:
    lab.open(SAMPLE)
    lab.page.evaluate("navigator.clipboard.writeText('342 ml')")
    assert lab.clipboard() == "342 ml"


def test_an_unknown_notebook_is_named(lab: Lab) -> None:
    with pytest.raises(FileNotFoundError, match=r"handbook/99_nothing\.ipynb"):
        lab.open("99_nothing")


def test_it_reads_before_anything_runs(lab: Lab) -> None:
    lab.open("start")
    expect(lab.notebook.locator(".jp-RenderedImage img").first).to_be_visible()
    expect(lab.notebook.locator("td", has_text="stress of the plate over yield").first).to_be_visible()
    hint = lab.notebook.locator("strong", has_text="menu Run, then Run All Cells")
    expect(hint.first).to_be_visible()
    lab.run_all()
    expect(lab.notebook.locator("[data-margin]").first).to_be_visible()
    expect(hint.filter(visible=True)).to_have_count(0)  # a page that lives, or is served without menus, needs none
    assert lab.errors() == []


def test_a_chapter_puts_the_danger_beside_its_slider_and_before_its_numbers(lab: Lab) -> None:
    lab.open("08_heat")
    lab.run_all()
    field = lab.notebook.get_by_role("textbox", name="set temperature (°C)", exact=True).first
    row = field.locator("xpath=ancestor::*[contains(@class, 'widget-hbox')][1]")
    field.fill("350")
    field.press("Enter")
    expect(row.get_by_role("alert")).to_contain_text("must not exceed the degradation temperature of 240 °C")
    numbers = lab.notebook.locator(".widget-html", has_text="temperature of the screw at the throat").first
    expect(numbers).to_have_text(re.compile(r"^\s*Danger: set temperature 350 °C"))
    assert lab.errors() == []
