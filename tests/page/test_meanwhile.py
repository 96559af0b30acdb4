"""What is seen while the start page is made."""

import base64
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import pytest
from augerbook.draw.scene import Scene
from augerbook.page import meanwhile, stand_in
from augerbook.page.meanwhile import Meanwhile, show_stored

from tests.handbook import refresh

SHEET = Scene(width=10, height=5, alt='a sheet of "paper" <1>')
DRAWING = base64.b64encode(SHEET.svg().encode()).decode("ascii")


class Place:
    """An output that can be replaced, as IPython has it."""

    def display(self, data: dict[str, str], *, raw: bool) -> None:
        assert raw
        OUTPUTS.append(["displayed", data])

    def update(self, data: dict[str, str], *, raw: bool) -> None:
        assert raw
        OUTPUTS.append(["updated", data])


OUTPUTS: list[list[Any]] = []


@pytest.fixture(autouse=True)
def outputs(monkeypatch: pytest.MonkeyPatch) -> list[list[Any]]:
    """What was done with outputs, and their data, in order."""
    OUTPUTS.clear()
    monkeypatch.setattr(meanwhile, "DisplayHandle", Place)
    monkeypatch.setattr(stand_in, "display", lambda data, metadata=None, *, raw: OUTPUTS.append(["displayed", data]))
    return OUTPUTS


def stored(folder: Path, *outputs: object) -> Path:
    notebook = folder / "start.ipynb"
    cells = [{"cell_type": "markdown", "source": "words"}, {"cell_type": "code", "outputs": list(outputs)}]
    notebook.write_text(json.dumps({"cells": cells}), encoding="utf-8")
    return notebook


def test_it_is_seen_only_until_something_follows(outputs: list[list[Any]]) -> None:
    Meanwhile(DRAWING, SHEET.alt)
    stand_in.display_with_still(widgets.HTML("alive"), SHEET, "it", begun=True)
    assert [min(data) for _, data in outputs] == ["text/html", refresh.WIDGET_VIEW, "image/png", "text/markdown"]
    shown = outputs[0][1]["text/html"]
    # Hidden wherever the rules are not read, and by them as soon as it is not the last output.
    assert "<div class='augerbook-soon' style='display:none'>" in shown
    assert ".jp-OutputArea-child:not(:has(~ .jp-OutputArea-child)) .augerbook-soon { display: block" in shown
    assert "alt='a sheet of &#34;paper&#34; &lt;1&gt;'" in shown and "<svg" not in shown


def test_the_stored_picture_is_shown_again_to_the_letter(outputs: list[list[Any]], tmp_path: Path) -> None:
    Meanwhile(DRAWING, SHEET.alt)
    (_, data) = outputs.pop()
    lines = data["text/html"].splitlines(keepends=True)  # as a notebook holds it
    shown = show_stored(stored(tmp_path, {"text": "printed"}, {"data": {"text/html": lines}}))
    assert outputs == [["displayed", data]]
    shown.show(SHEET)
    assert len(outputs) == 1, "it is the same"


def test_another_picture_takes_its_place(outputs: list[list[Any]], tmp_path: Path) -> None:
    Meanwhile(DRAWING, "an older sheet")
    shown = show_stored(stored(tmp_path, {"data": outputs.pop()[1]}))
    shown.show(SHEET)
    assert [done for done, _ in outputs] == ["displayed", "updated"]
    assert "an older sheet" in outputs[0][1]["text/html"] and "older" not in outputs[1][1]["text/html"]


@pytest.mark.parametrize("text", [None, "", "no JSON", "[]", "{}", '{"cells": [1]}', '{"cells": [{"outputs": [[]]}]}'])
def test_without_a_stored_picture_words_are_shown(outputs: list[list[Any]], tmp_path: Path, text: str | None) -> None:
    notebook = tmp_path / "start.ipynb"
    if text is not None:
        notebook.write_text(text, encoding="utf-8")
    show_stored(notebook)
    ((_, data),) = outputs
    assert "Setting up the page" in data["text/html"] and "<img" not in data["text/html"]


def test_what_is_stored_in_place_of_a_picture_stays_an_image(outputs: list[list[Any]], tmp_path: Path) -> None:
    """A notebook comes from anywhere: of an output that it holds nothing but an image and its words is shown."""
    wicked = f"<script>go()</script><img src='data:image/svg+xml;base64,{DRAWING}' alt='&lt;script&gt;' onload='go()'>"
    show_stored(stored(tmp_path, {"data": {"text/html": wicked}}))
    shown = outputs[0][1]["text/html"]
    assert DRAWING in shown and "<script" not in shown and "go()" not in shown


def test_it_is_there_before_what_takes_long() -> None:
    """In a kernel IPython is there, too."""
    heavy = {"sympy", "numpy", "scipy", "pint", "matplotlib", "ipywidgets", "PIL"}
    code = f"import sys, IPython.display; from augerbook.page import meanwhile; print({heavy!r} & set(sys.modules))"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert told.strip() == "set()"


def test_the_page_of_the_handbook_was_stored_with_one() -> None:
    notebook = json.loads((Path(__file__).parents[2] / "handbook/start.ipynb").read_text(encoding="utf-8"))
    (found,) = meanwhile._pictures(notebook)
    assert found["alt"].startswith("Axial section to scale")
