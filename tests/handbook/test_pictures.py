"""The rule for pictures, on graphs and drawings of the chapters: rounding passes, what moved or was repainted fails."""

import base64
import io
from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.melt.picture import PICTURES as OF_MELT
from augerbook.chapters.pictures import all_pictures
from augerbook.chapters.ripple.picture import draw_evening
from augerbook.draw.live_plot import LivePlot
from augerbook.draw.live_slots import Band, Curve, Marker
from augerbook.draw.scene_layout import Outline
from augerbook.draw.still import DRAWN_KEY
from PIL import Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

from tests.handbook import pictures

pytestmark = pytest.mark.slow

Floats = npt.NDArray[np.float64]


def stored(png: bytes) -> str:
    return base64.b64encode(png).decode("ascii")


def evening() -> LivePlot:
    """The graph of chapter 7 whose stored picture once differed between two processors."""
    return draw_evening(shipped_build("otter").solution)


def with_data_changed(plot: LivePlot, change: Callable[[Floats], Floats], only: str = "") -> LivePlot:
    for name, slot in plot._slots.items():
        if only and name != only:
            continue
        if isinstance(slot, Curve | Marker):
            slot._points = change(slot._points)
        elif isinstance(slot, Band):
            slot._columns = change(slot._columns)
    return plot


def curves() -> list[str]:
    return [name for name, slot in evening()._slots.items() if isinstance(slot, Curve)]


@pytest.fixture(scope="module")
def before() -> str:
    return stored(evening().png())


def test_the_same_picture_agrees_with_itself(before: str) -> None:
    assert pictures.disagreement(before, stored(evening().png())) == ""


def test_last_places_that_differ_are_the_same_picture(before: str) -> None:
    rng = np.random.default_rng(1)

    def shaken(data: Floats) -> Floats:
        return np.nextafter(data, rng.choice([-np.inf, np.inf], size=data.shape))

    assert stored(with_data_changed(evening(), shaken).png()) == before
    solved = with_data_changed(evening(), lambda data: data * (1 + rng.uniform(-1e-10, 1e-10, size=data.shape)))
    assert pictures.disagreement(before, stored(solved.png())) == ""


@pytest.mark.parametrize("name", curves())
def test_a_curve_moved_by_a_hundredth_of_a_percent_is_found(before: str, name: str) -> None:
    moved = with_data_changed(evening(), lambda data: data * [1.0, 1.0001], only=name)
    assert "lines or areas moved" in pictures.disagreement(before, stored(moved.png()))


def test_a_curve_turned_about_its_middle_is_found(before: str) -> None:
    def turned(data: Floats) -> Floats:
        tilt = np.linspace(-1e-4, 1e-4, len(data))
        return np.column_stack([data[:, 0], data[:, 1] * (1 + tilt)])

    moved = with_data_changed(evening(), turned, only="fused")
    assert "lines or areas moved" in pictures.disagreement(before, stored(moved.png()))


def test_a_point_left_out_is_found(before: str) -> None:
    fewer = with_data_changed(evening(), lambda data: np.delete(data, 80, axis=0), only="fused")
    assert "corners of lines and areas became" in pictures.disagreement(before, stored(fewer.png()))


def test_a_drawing_moved_by_a_hundredth_of_a_percent_is_found() -> None:
    drawn = OF_MELT[0].scene(shipped_build("otter").solution)
    old = stored(drawn.png())
    assert pictures.disagreement(old, stored(drawn.png())) == ""
    outline = next(shape for shape in drawn.shapes if isinstance(shape, Outline))
    outline.points[:] *= 1.0001
    assert "lines or areas moved" in pictures.disagreement(old, stored(drawn.png()))


def painted(png: str, paint: Callable[[ImageDraw.ImageDraw], None]) -> str:
    """The picture with something painted over it that moves no line."""
    with Image.open(io.BytesIO(base64.b64decode(png))) as image:
        lies, plain = image.info[DRAWN_KEY], image.convert("RGB")
    paint(ImageDraw.Draw(plain))
    repainted = io.BytesIO()
    info = PngInfo()
    info.add_text(DRAWN_KEY, lies)
    plain.save(repainted, "png", pnginfo=info)
    return stored(repainted.getvalue())


def test_a_few_pixels_in_the_next_colour_of_the_palette_pass(before: str) -> None:
    def noise(draw: ImageDraw.ImageDraw) -> None:
        draw.point([(10 * n + 5, 5) for n in range(100)], fill="#e0e0e0")  # on paper

    assert pictures.disagreement(before, painted(before, noise)) == ""


@pytest.mark.parametrize(
    ("paint", "message"),
    [
        (lambda draw: draw.point([(5, 5)], fill="#d0d0d0"), "a pixel differs by 45 levels"),
        (lambda draw: draw.rectangle((0, 0, 29, 29), fill="#fcfcfb"), "% of the pixels differ"),
        (lambda draw: draw.rectangle((2, 2, 4, 4), fill="#f0f0f0"), "5 by 5 pixels differ by"),
        (lambda draw: draw.text((5, 5), "8", fill="#1f2328"), "a pixel differs by"),
    ],
)
def test_what_is_painted_otherwise_is_found(
    before: str, paint: Callable[[ImageDraw.ImageDraw], None], message: str
) -> None:
    assert message in pictures.disagreement(before, painted(before, paint))


def test_another_size_a_broken_file_and_a_picture_without_numbers_are_found(before: str) -> None:
    other = stored(all_pictures()[0].scene(shipped_build("otter").solution).png())
    assert "1066 x 453 pixels became" in pictures.disagreement(before, other)
    assert pictures.disagreement(before, stored(b"no picture")) == "a picture cannot be read"
    bare = io.BytesIO()
    with Image.open(io.BytesIO(base64.b64decode(before))) as image:
        image.convert("RGB").save(bare, "png")
    assert "only one of the two pictures says" in pictures.disagreement(before, stored(bare.getvalue()))
