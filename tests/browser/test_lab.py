"""The browser harness itself, on the sample notebook: a slider that is moved changes what is shown."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.lab import Lab
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


def test_the_clipboard_can_be_read(lab: Lab) -> None:
    lab.open(SAMPLE)
    lab.page.evaluate("navigator.clipboard.writeText('342 ml')")
    assert lab.clipboard() == "342 ml"


def test_an_unknown_notebook_is_named(lab: Lab) -> None:
    with pytest.raises(FileNotFoundError, match=r"handbook/99_nothing\.ipynb"):
        lab.open("99_nothing")
