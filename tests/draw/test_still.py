"""Still pictures: one palette for all, numbers rounded where they are drawn, and where lines lie told with them."""

import io

import numpy as np
import pytest
from augerbook.draw.drawn import where_drawn
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.palette import MOST_COLOURS, in_palette, palette
from augerbook.draw.still import DRAWN_KEY, MOST_PICTURE_BYTES, figure_png, rounded
from augerbook.draw.style import INK, LOOKS, PAPER, TEXTS
from matplotlib.figure import Figure
from PIL import Image

RNG = np.random.default_rng(3)


def rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour[1:]))


def test_all_colours_of_the_style_sheet_are_in_the_palette() -> None:
    own = {PAPER, INK} | {text.colour for text in TEXTS.values()}
    own |= {colour for look in LOOKS.values() for colour in (look.fill, look.edge) if colour}
    inside = {tuple(colour) for colour in palette().tolist()}
    assert {rgb(colour) for colour in own} <= inside
    assert len(inside) == MOST_COLOURS


def test_smoothed_edges_find_a_colour_near_theirs() -> None:
    """Between ink, or the blue of curves, and paper no shade is farther than the eye tells from a colour at hand."""
    for edge in (INK, "#0b4f8a", "#d55e00"):
        shade = np.linspace(rgb(edge), rgb(PAPER), 256)
        far = np.sqrt(((shade[:, None] - palette()) ** 2).sum(axis=2)).min(axis=1)
        assert far.max() < 18


def test_each_pixel_depends_on_itself_alone() -> None:
    pixels = RNG.integers(0, 256, (40, 50, 3), dtype=np.uint8)
    other = pixels.copy()
    other[7, 9] = 255 - other[7, 9]
    one, two = (np.asarray(in_palette(Image.fromarray(p)).convert("RGB")).astype(int) for p in (pixels, other))
    changed = np.argwhere((one != two).any(axis=2))
    assert changed.tolist() == [[7, 9]]


@pytest.mark.parametrize("count", [MOST_COLOURS, 48])
def test_each_pixel_takes_the_nearest_colour(count: int) -> None:
    pixels = RNG.integers(0, 256, (10, 20, 3), dtype=np.uint8)
    taken = np.asarray(in_palette(Image.fromarray(pixels), count).convert("RGB")).astype(int)
    squared = ((pixels.astype(int)[:, :, None] - palette()[:count]) ** 2).sum(axis=-1)
    assert (((pixels - taken) ** 2).sum(axis=-1) == squared.min(axis=-1)).all()


def test_numbers_are_drawn_with_six_digits() -> None:
    values = np.array([[0.1 + 0.2, 123456.7], [-1.23456789e-7, 0.0], [np.nan, np.inf]])
    wanted = [[0.3, 123457.0], [-1.23457e-7, 0.0], [np.nan, np.inf]]
    np.testing.assert_array_equal(rounded(values), wanted)
    assert rounded(np.empty((0, 2))).shape == (0, 2)


def _plot(y: np.ndarray) -> LivePlot:
    figure, (axes,) = graph(height=200)
    frame(axes, x="x", y="y", xlim=(0, 1), ylim=(0, 1))
    plot = LivePlot(figure, alt="a line")
    plot.curve(axes, "line")
    plot.update(curves={"line": (np.linspace(0, 1, len(y)), y)})
    return plot


def test_a_picture_tells_where_its_lines_lie() -> None:
    plot = _plot(np.full(5, 0.5))
    with Image.open(io.BytesIO(plot.png())) as image:
        told = [float(number) for number in image.info[DRAWN_KEY].split()]
    assert told == list(where_drawn(plot.figure))
    (axes,) = plot.figure.axes
    (left, bottom), (right, top) = axes.bbox.min, axes.bbox.max
    assert told[:3] == pytest.approx([5, 5 * (left + right) / 2, 5 * (bottom + top) / 2], abs=1e-3)


def test_opposite_moves_do_not_balance() -> None:
    there, back = (where_drawn(_with_png(np.array([0.5, 0.5 + by, 0.5 - by, 0.5]))) for by in (0.0, 0.01))
    assert back[2] == pytest.approx(there[2], abs=2e-3)
    assert abs(back[4] - there[4]) > 0.1


def _with_png(y: np.ndarray) -> Figure:
    plot = _plot(y)
    plot.png()
    return plot.figure


def test_a_gap_in_a_line_and_an_empty_figure_have_numbers_too() -> None:
    assert where_drawn(_with_png(np.array([0.5, np.nan, 0.5])))[0] == 2
    assert where_drawn(Figure()) == (0, 0, 0, 0, 0)


def test_a_picture_too_large_for_the_full_palette_takes_fewer_colours() -> None:
    figure, (axes,) = graph(height=400)
    frame(axes, x="x", y="y", xlim=(0, 1), ylim=(0, 1))
    for start, end in RNG.uniform(0, 1, (75, 2)):
        axes.plot([0, 1], [start, end], color=INK, linewidth=0.8)
    png = figure_png(figure)
    with Image.open(io.BytesIO(png)) as image:
        assert len(image.convert("RGB").getcolors()) <= 48
    assert len(png) <= MOST_PICTURE_BYTES
