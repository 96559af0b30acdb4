"""Executing and comparing, tested: the healthy sample passes, each fault put into a copy is found."""

import base64
import io
import os
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest
from nbformat import NotebookNode
from PIL import Image

from tests.handbook import refresh
from tests.handbook.breaking import SAMPLE, cell_with, exchange, save
from tests.handbook.nbval_run import differences, nbval

pytestmark = pytest.mark.notebook


def test_the_healthy_sample_runs_and_differs_in_nothing() -> None:
    assert refresh.refreshed(SAMPLE) == SAMPLE.read_text(encoding="utf-8")
    run = nbval(SAMPLE)
    assert run.passed, run.said
    assert "7 passed" in run.said  # six cells and the sliders
    assert run.complete is not None and len(run.complete) == 6
    assert differences(SAMPLE) == []


def test_nbval_called_by_hand_finds_no_fault() -> None:
    command = [sys.executable, "-m", "pytest", "--nbval", str(SAMPLE.relative_to(refresh.ROOT))]
    around = {key: value for key, value in os.environ.items() if not key.startswith("PYTEST_")}
    run = subprocess.run(command, cwd=refresh.ROOT, env=around, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout
    assert "6 passed" in run.stdout


def test_a_text_that_changed_is_found_by_nbval_and_by_comparing(sample: NotebookNode, tmp_path: Path) -> None:
    cell_with(sample, "print(f").outputs[0].text = "343 ml\n"
    path = save(sample, tmp_path)
    by_nbval, compared = differences(path)
    assert "343 ml" in by_nbval
    assert '-      "343 ml\\n"\n+      "342 ml\\n"' in compared
    assert compared == refresh.difference(path.read_text(encoding="utf-8"), refresh.refreshed(path), path.name)


def with_other_words_for_a_picture(notebook: NotebookNode) -> None:
    cell_with(notebook, "savefig").outputs[0].data["text/plain"] = "Picture: volume over height, bent."


def with_wider_picture(notebook: NotebookNode) -> None:
    cell_with(notebook, "savefig").outputs[0].metadata["image/png"] = {"width": 900}


def with_repainted_picture(notebook: NotebookNode) -> None:
    data, repainted = cell_with(notebook, "savefig").outputs[0].data, io.BytesIO()
    with Image.open(io.BytesIO(base64.b64decode(data["image/png"]))) as picture:
        picture.putpixel((10, 10), (255, 0, 0, 255))
        picture.save(repainted, "png")
    data["image/png"] = base64.b64encode(repainted.getvalue()).decode()


def with_outputs_in_another_order(notebook: NotebookNode) -> None:
    cell = cell_with(notebook, "savefig")
    cell.outputs.insert(0, nbformat.v4.new_output("stream", text="drawn\n"))
    cell.source += "\nprint('drawn')"


def test_other_words_for_a_picture_are_found_by_nbval_and_by_comparing(sample: NotebookNode, tmp_path: Path) -> None:
    with_other_words_for_a_picture(sample)
    by_nbval, compared = differences(save(sample, tmp_path))
    assert "straight line through the origin" in by_nbval
    assert "straight line through the origin" in compared


def test_what_nbval_leaves_out_is_found_by_comparing(sample: NotebookNode, tmp_path: Path) -> None:
    with_wider_picture(sample)
    with_repainted_picture(sample)
    (found,) = differences(save(sample, tmp_path))
    assert '"width": 900' in found
    assert "the picture of cell 11 (cell-11): a pixel differs by 255 levels" in found


def test_another_order_of_outputs_is_found_by_comparing(sample: NotebookNode, tmp_path: Path) -> None:
    with_outputs_in_another_order(sample)
    (found,) = differences(save(sample, tmp_path))
    assert "drawn" in found


def test_a_callback_that_raises_where_a_cell_moves_the_slider_is_found(sample: NotebookNode, tmp_path: Path) -> None:
    exchange(sample, "panel = ", "volume = None\nheight.value = 120\npanel = ")
    path = save(sample, tmp_path)
    with pytest.raises(refresh.NotebookError, match=r"cell 10 raised:(?s:.)*'NoneType' object has no attribute"):
        refresh.refreshed(path)
    assert any("'NoneType' object has no attribute" in found for found in differences(path))


def test_a_callback_that_raises_only_at_the_end_of_the_slider_is_found(sample: NotebookNode, tmp_path: Path) -> None:
    exchange(sample, "    answer.value =", "    assert height.value < 160, 'overflows'\n    answer.value =")
    path = save(sample, tmp_path)
    with pytest.raises(refresh.NotebookError, match=r"'height, mm' moved to value = 160.* fails: .*overflows"):
        refresh.refreshed(path)
    (found,) = differences(path)
    assert "'height, mm' moved to value = 160.0 fails: AssertionError: overflows" in found
    assert "6 passed" in found


def test_what_a_slider_calls_later_is_called_too(sample: NotebookNode, tmp_path: Path) -> None:
    exchange(sample, "import sympy\n", "import sympy\nfrom augerbook.page.deferred import Deferred\n")
    exchange(
        sample,
        "show_answer()\n",
        "show_answer()\nat_rest = Deferred(lambda: 1 / 0)\nheight.observe(lambda _: at_rest.request(), 'value')\n",
    )
    path = save(sample, tmp_path)
    with pytest.raises(refresh.NotebookError, match=r"'height, mm' moved to value = 10.0 fails: ZeroDivisionError"):
        refresh.refreshed(path)
    (found,) = differences(path)
    assert "'height, mm' moved to value = 10.0 fails: ZeroDivisionError" in found


@pytest.mark.parametrize(
    ("code", "message"),
    [
        ("import warnings\nwarnings.warn('worn out')", "worn out"),
        ("object()", "memory address"),
        ("raise ValueError('no such can')", "no such can"),
        ("import ipywidgets\nipywidgets.VBox()", "display its view alone"),
    ],
)
def test_a_cell_that_warns_raises_or_shows_an_address_is_not_stored(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], code: str, message: str
) -> None:
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code, id="only")])
    path = save(notebook, tmp_path)
    before = path.read_text(encoding="utf-8")
    assert any(message in found for found in differences(path))
    assert refresh.main([str(path)]) == 1
    assert re.search(rf"cell 1 (?s:.)*{message}", "".join(capsys.readouterr()))
    assert path.read_text(encoding="utf-8") == before


def test_a_cell_that_never_ends_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(refresh, "SECONDS_PER_CELL", 2)
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("while True:\n    pass", id="only")])
    path = save(notebook, tmp_path)
    with pytest.raises(refresh.NotebookError, match="cell 1 took longer than 2 s"):
        refresh.refreshed(path)
    assert any("Timeout of 2 seconds exceeded" in found for found in differences(path))
