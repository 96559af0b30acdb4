"""The checks on notebooks, tested: a healthy sample passes, each fault put into a copy is found."""

import base64
import io
import json
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from augerbook.draw.still import MOST_PICTURE_BYTES
from nbformat import NotebookNode
from PIL import Image

from tests.handbook import refresh, stored
from tests.handbook.breaking import SAMPLE, cell_with, exchange, save


def stored_faults(notebook: NotebookNode) -> str:
    return "\n".join(stored.stored_faults(notebook, len(refresh.text_of(notebook).encode())))


def test_the_healthy_sample_has_no_fault(sample: NotebookNode) -> None:
    assert stored_faults(sample) == ""
    assert refresh.cleaned(SAMPLE) == SAMPLE.read_text(encoding="utf-8")


# --- stored form ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "code",
    [
        "filled = 3",
        "filled += 1",
        "for filled in range(3):\n    pass",
        "with open('x') as filled:\n    pass",
        "def filled():\n    pass",
        "(filled, other) = 1, 2",
        "if (filled := 2) > 1:\n    pass",
    ],
)
def test_a_name_bound_again_is_found(sample: NotebookNode, code: str) -> None:
    sample.cells.append(nbformat.v4.new_code_cell(code, id="added"))
    assert "binds 'filled' again, which cell 8 has bound" in stored_faults(sample)


@pytest.mark.parametrize(
    "code", ["[filled for filled in range(3)]", "def g():\n    filled = 3", "filled", "lambda filled: 1"]
)
def test_a_name_used_inside_another_scope_is_no_fault(sample: NotebookNode, code: str) -> None:
    sample.cells.append(nbformat.v4.new_code_cell(code, id="added", execution_count=7))
    assert stored_faults(sample) == ""


def with_import(notebook: NotebookNode) -> None:
    notebook.cells.append(nbformat.v4.new_code_cell("if True:\n    import math", id="added"))


def with_star_import(notebook: NotebookNode) -> None:
    exchange(notebook, "import io\n", "import io\nfrom math import *\n")


def with_wrong_count(notebook: NotebookNode) -> None:
    cell_with(notebook, "import io").execution_count = 3


def without_count(notebook: NotebookNode) -> None:
    cell_with(notebook, "import io").execution_count = None


def with_wrong_count_of_a_result(notebook: NotebookNode) -> None:
    cell_with(notebook, "sympy.symbols").outputs[0].execution_count = 7


def with_widget_state(notebook: NotebookNode) -> None:
    notebook.metadata["widgets"] = {"application/vnd.jupyter.widget-state+json": {}}


def with_widget_view(notebook: NotebookNode) -> None:
    data = {refresh.WIDGET_VIEW: {"model_id": "1"}, "text/plain": "VBox()"}
    cell_with(notebook, "VBox").outputs = [nbformat.v4.new_output("display_data", data)]


def with_undescribed_picture(notebook: NotebookNode) -> None:
    cell_with(notebook, "savefig").outputs[0].data["text/plain"] = "<Figure size 300x200>"


def with_large_picture(notebook: NotebookNode) -> None:
    png = base64.b64encode(bytes(MOST_PICTURE_BYTES + 1)).decode()
    cell_with(notebook, "savefig").outputs[0].data["image/png"] = png


def with_absolute_path(notebook: NotebookNode) -> None:
    cell_with(notebook, "print(f").source += "\nopen('/srv/builds/wren.toml')"


def with_memory_address(notebook: NotebookNode) -> None:
    cell_with(notebook, "print(f").outputs[0].text = "<Line2D object at 0x7f3a5c0012d0>"


def with_warning(notebook: NotebookNode) -> None:
    cell_with(notebook, "print(f").outputs[0].name = "stderr"


def with_error(notebook: NotebookNode) -> None:
    error = nbformat.v4.new_output("error", ename="ValueError", evalue="no", traceback=["ValueError: no"])
    cell_with(notebook, "print(f").outputs = [error]


def with_much_text(notebook: NotebookNode) -> None:
    notebook.cells[0].source += "x" * stored.MOST_BYTES


@pytest.mark.parametrize(
    ("break_it", "message"),
    [
        (with_import, "all imports stand in the first code cell"),
        (with_star_import, "star import"),
        (with_wrong_count, "has the execution count [3]; as code cell number 1 it has 1"),
        (without_count, "has the execution count [None]"),
        (with_wrong_count_of_a_result, "has the execution count [2, 7]; as code cell number 2 it has 2"),
        (with_widget_state, "widget state"),
        (with_widget_view, "view of a widget"),
        (with_widget_view, "display its view alone"),
        (with_undescribed_picture, "picture without a description"),
        (with_large_picture, "picture of 60001 bytes"),
        (with_absolute_path, "absolute path /srv/b"),
        (with_memory_address, "memory address 0x7f3a5c0012d0"),
        (with_warning, "wrote an error or warning"),
        (with_error, "wrote an error or warning"),
        (with_much_text, "the file has"),
    ],
)
def test_a_fault_in_the_stored_form_is_found(
    sample: NotebookNode, break_it: Callable[[NotebookNode], None], message: str
) -> None:
    break_it(sample)
    assert message in stored_faults(sample)


# --- refreshing -------------------------------------------------------------------------------


def test_cleaning_restores_what_an_editor_changed(sample: NotebookNode, tmp_path: Path) -> None:
    with_wrong_count(sample)
    with_wrong_count_of_a_result(sample)
    with_widget_state(sample)
    with_widget_view(sample)
    sample.metadata["kernelspec"]["display_name"] = "my own"
    sample.cells[3].metadata["ExecuteTime"] = {"start_time": "now"}
    path = save(sample, tmp_path)
    assert refresh.main(["--clean-only", str(path)]) == 0
    assert path.read_text(encoding="utf-8") == SAMPLE.read_text(encoding="utf-8")


def test_a_folded_cell_stays_folded(sample: NotebookNode) -> None:
    sample.cells[3].metadata = nbformat.from_dict({"jupyter": {"source_hidden": True, "other": 1}, "tags": ["a"]})
    assert refresh.clean(sample).cells[3].metadata == {"jupyter": {"source_hidden": True}, "tags": ["a"]}


def test_cells_without_ids_get_stable_ones(sample: NotebookNode) -> None:
    raw = json.loads(refresh.text_of(sample))
    ids = [cell.pop("id") for cell in raw["cells"]]
    raw["nbformat_minor"] = 4
    assert [cell.id for cell in refresh.parse(json.dumps(raw)).cells] == ids
    raw["cells"][0]["id"] = "cell-02"  # taken by hand
    assert [cell.id for cell in refresh.parse(json.dumps(raw)).cells][:3] == [
        "cell-02",
        "cell-02x",
        "cell-03",
    ]


def test_the_same_pixels_in_another_file_keep_the_stored_bytes(sample: NotebookNode) -> None:
    again = refresh.parse(refresh.text_of(sample))
    output = cell_with(again, "savefig").outputs[0]
    with Image.open(io.BytesIO(base64.b64decode(output.data["image/png"]))) as picture:
        compressed, changed = io.BytesIO(), io.BytesIO()
        picture.save(compressed, "png", compress_level=1)
        picture.putpixel((10, 10), (255, 0, 0, 255))
        picture.save(changed, "png")
    output.data["image/png"] = base64.b64encode(compressed.getvalue()).decode()
    assert refresh.text_of(again) != refresh.text_of(sample)
    refresh.keep_equal_pictures(sample, again)
    assert refresh.text_of(again) == refresh.text_of(sample)

    output.data["image/png"] = base64.b64encode(changed.getvalue()).decode()
    refresh.keep_equal_pictures(sample, again)
    shown = refresh.difference(refresh.text_of(sample), refresh.text_of(again), "sample")
    assert "240 x 160 pixels" in shown
    assert "the picture of cell 11 (cell-11): a pixel differs by 255 levels" in shown
    assert len(shown) < 1000


def test_an_unknown_name_is_answered_with_the_known_ones(capsys: pytest.CaptureFixture[str]) -> None:
    assert refresh.main(["99_nothing"]) == 1
    assert "no notebook '99_nothing'" in capsys.readouterr().err
