"""Pictures that cannot be drawn: said in words that a maker reads, and never in those of the arithmetic behind."""

import math
from dataclasses import replace

import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.pictures import all_pictures
from augerbook.core.network import Solution
from augerbook.draw.scene import Scene
from augerbook.head.screw import pitch
from augerbook.page import bench_drawing, picture_panel
from augerbook.page.picture_panel import PicturePanel
from augerbook.page.session import Session
from augerbook.page.sheet_panel import sheet_html


def infinite(_: Solution) -> Scene:
    return Scene(width=1e308 * 10, height=1, alt="too wide")


def below_zero(_: Solution) -> Scene:
    return Scene(width=math.sqrt(-1.0), height=1, alt="no width")


def too_large(_: Solution) -> Scene:
    return Scene(width=math.exp(1e4), height=1, alt="too wide")


def test_a_picture_of_what_has_no_value_says_what_that_is() -> None:
    panel = PicturePanel(Session(shipped_build("otter").with_value(pitch, 0.4e-3)))
    panel.which.value = "What a weighing scatters by"
    said = "cannot be drawn at these values: there is no value for the spread of a weighing.</p>"
    assert panel.view.value == f"<p>What a weighing scatters by {said}"


@pytest.mark.parametrize("draw", [infinite, below_zero, too_large])
def test_what_arithmetic_says_of_itself_is_shown_to_nobody(draw: object, monkeypatch: pytest.MonkeyPatch) -> None:
    first = replace(all_pictures()[0], draw=draw, variants=())
    monkeypatch.setattr(picture_panel, "all_pictures", lambda: (first,))
    said = PicturePanel(Session(shipped_build("otter"))).view.value
    assert said.endswith("at these values: one of its sizes has no value, or is larger than a picture can show.</p>")


@pytest.mark.parametrize("draw", [infinite, below_zero, too_large])
def test_nor_on_the_sheet_to_print(draw: object, monkeypatch: pytest.MonkeyPatch) -> None:
    views = tuple(replace(view, draw=lambda *_: draw(None)) for view in bench_drawing._VIEWS)  # type: ignore[operator]
    monkeypatch.setattr(bench_drawing, "_VIEWS", views)
    assert "The head cannot be drawn at these values: one of its sizes has no value" in sheet_html(
        shipped_build("otter")
    )
