"""A live graph: what is replaced lands where matplotlib would draw it, and nothing else moves."""

import io
import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.style import house_style
from IPython.core.formatters import DisplayFormatter
from matplotlib.axes import Axes
from matplotlib.text import Text as MplText

NS = {"s": "http://www.w3.org/2000/svg"}
X = np.linspace(0.5, 9.5, 12)


def two_panels() -> tuple[LivePlot, Axes, Axes]:
    figure, (left, right) = graph(columns=2, height=300)
    frame(left, x="position (mm)", y="temperature (°C)", xlim=(0, 10), ylim=(0, 100), title="Left <&>")
    limits = {"xlim": (0.1, 1e3), "ylim": (1e4, 1.0)}
    frame(right, x="rate (1/s)", y="viscosity (Pa s)", xscale="log", yscale="log", **limits)
    plot = LivePlot(figure, alt="Two <panels> & their curves")
    plot.band(left, "spread", "band", label="spread")
    plot.band(left, "shut", "forbidden")
    plot.curve(left, "tube", "main", label="tube")
    plot.curve(right, "eta", "second", label="viscosity")
    plot.marker(left, "here", "here")
    plot.text(left, "readout", at=(0.05, 0.9), style="strong")
    plot.text(right, "moving", anchor="end", shift=(-6, 4))
    plot.legend(left, "lower right")
    return plot, left, right


def _group(root: ET.Element, name: str) -> ET.Element:
    return next(g for g in root.iterfind(".//s:g", NS) if (g.get("id") or "").endswith(f"-{name}"))


def _path(svg: str, name: str) -> str:
    path = _group(ET.fromstring(svg), name).find("s:path", NS)
    return "" if path is None else path.get("d") or ""


def _numbers(data: str) -> np.ndarray:
    return np.array([float(n) for n in re.findall(r"-?\d+\.?\d*", data)]).reshape(-1, 2)


def _by_matplotlib(plot: LivePlot, name: str) -> np.ndarray:
    """Corners of the path that matplotlib's own SVG writer draws for the same data."""
    plot.png()
    plot._slots[name].artist.set_gid("truth")
    stored = io.StringIO()
    with house_style():
        plot.figure.savefig(stored, format="svg")
    found = re.search(r'<g id="truth">\s*<path d="([^"]*)"', stored.getvalue())
    assert found is not None
    return _numbers(found.group(1))


@pytest.mark.slow
def test_a_curve_on_linear_axes_lands_where_matplotlib_draws_it() -> None:
    plot, *_ = two_panels()
    svg = plot.update(curves={"tube": (X, 9 * X + 3)})
    assert _numbers(_path(svg, "tube")) == pytest.approx(_by_matplotlib(plot, "tube"), abs=0.03)


@pytest.mark.slow
def test_a_curve_on_inverted_logarithmic_axes_lands_where_matplotlib_draws_it() -> None:
    plot, *_ = two_panels()
    svg = plot.update(curves={"eta": (10 ** X[:5] / 100, 3000 / X[:5])})
    assert _numbers(_path(svg, "eta")) == pytest.approx(_by_matplotlib(plot, "eta"), abs=0.03)


@pytest.mark.slow
def test_a_band_lands_where_matplotlib_draws_it() -> None:
    plot, *_ = two_panels()
    svg = plot.update(bands={"spread": (X, 4 * X, 6 * X + 5)})
    drawn = _by_matplotlib(plot, "spread")
    assert _numbers(_path(svg, "spread")) == pytest.approx(drawn[: 2 * len(X)], abs=0.03)


@pytest.mark.slow
def test_a_curve_still_fits_after_new_limits() -> None:
    plot, left, _ = two_panels()
    before = plot.update(curves={"tube": (X, 9 * X)})
    after = plot.rescale(left, ylim=(0, 250000))
    assert "250000" in after and "250000" not in before
    assert _path(after, "tube") != _path(before, "tube")
    assert _numbers(_path(after, "tube")) == pytest.approx(_by_matplotlib(plot, "tube"), abs=0.03)


def test_the_corners_of_the_frame_are_the_limits() -> None:
    plot, *_ = two_panels()
    svg = plot.update(curves={"tube": ([0, 10], [0, 100]), "eta": ([0.1, 1e3], [1, 1e4])})
    rects = [
        {key: float(rect.get(key) or "nan") for key in ("x", "y", "width", "height")}
        for rect in ET.fromstring(svg).iterfind(".//s:clipPath/s:rect", NS)
    ]
    ends = [_numbers(_path(svg, "tube")), _numbers(_path(svg, "eta"))]
    for end, falling in zip(ends, (False, True), strict=True):
        lows = [min(end[:, 0]), min(end[:, 1])]
        rect = next(r for r in rects if abs(r["x"] - lows[0]) < 0.1)
        assert [rect["x"], rect["y"]] == pytest.approx(lows, abs=0.06)
        assert np.ptp(end, axis=0) == pytest.approx([rect["width"], rect["height"]], abs=0.06)
        # upright axes put the higher value higher up, that is at smaller y; inverted ones the other way
        assert (end[1, 1] > end[0, 1]) == falling


def test_an_update_leaves_all_else_as_it_was() -> None:
    plot, *_ = two_panels()
    before = plot.update(curves={"tube": (X, 9 * X)}, texts={"readout": "one"}, markers={"here": (5, 45)})
    after = plot.update(curves={"tube": (X, 5 * X)})
    assert before != after
    old, new = _path(before, "tube"), _path(after, "tube")
    assert before.replace(old, "#") == after.replace(new, "#")
    assert plot.update(curves={"tube": (X, 9 * X)}) == before
    third = plot.update(texts={"readout": "two"})
    assert before.replace(">one<", ">two<") == third


@pytest.mark.slow
def test_nan_breaks_a_curve_and_a_band() -> None:
    plot, *_ = two_panels()
    y = 9 * X
    y[5] = math.nan
    svg = plot.update(curves={"tube": (X, y)}, bands={"spread": (X, y - 1, y + 1)})
    assert _path(svg, "tube").count("M") == 2
    assert _path(svg, "spread").count("M") == _path(svg, "spread").count("Z") == 2
    y[0] = math.inf
    assert len(_numbers(_path(plot.update(curves={"tube": (X, y)}), "tube"))) == len(X) - 2
    assert _path(plot.update(curves={"tube": (X, np.full(len(X), math.nan))}), "tube") == ""
    plot.png()


@pytest.mark.slow
def test_curves_are_clipped_to_their_own_frame() -> None:
    plot, *_ = two_panels()
    svg = plot.update(curves={"tube": ([0, 5], [0, 1e30]), "eta": ([1, 2], [-5, 100])})
    root = ET.fromstring(svg)
    clips = {clip.get("id") for clip in root.iterfind(".//s:clipPath", NS)}
    for name in ("tube", "eta", "spread"):
        found = re.fullmatch(r"url\(#(.+)\)", _group(root, name).get("clip-path") or "")
        assert found is not None and found.group(1) in clips
    assert np.isfinite(_numbers(_path(svg, "tube"))).all()
    plot.png()


@pytest.mark.slow
def test_markers_outside_are_left_out_and_on_the_edge_are_whole() -> None:
    plot, *_ = two_panels()
    assert _path(plot.update(markers={"here": (5, 200)}), "here") == ""
    assert _path(plot.update(markers={"here": (math.nan, 50)}), "here") == ""
    one = _path(plot.update(markers={"here": (0, 50)}), "here")
    assert one.count("M") == 1
    svg = plot.update(markers={"here": ([0, 5, 99], [50, 50, 50])})
    assert _path(svg, "here").count("M") == 2
    assert _group(ET.fromstring(svg), "here").get("clip-path") is None


def test_a_marker_sits_on_its_point() -> None:
    plot, *_ = two_panels()
    svg = plot.update(markers={"here": (5, 50)}, curves={"tube": ([5, 6], [50, 50])})
    outline = _numbers(_path(svg, "here"))
    centre = (outline.min(axis=0) + outline.max(axis=0)) / 2
    assert centre == pytest.approx(_numbers(_path(svg, "tube"))[0], abs=0.06)
    assert np.ptp(outline, axis=0) == pytest.approx([10, 10], abs=0.11)


@pytest.mark.slow
def test_both_pictures_bear_the_same_words() -> None:
    plot, *_ = two_panels()
    svg = plot.update(texts={"readout": "a < b & $c$", "moving": ("here", 10, 100)})
    plot.png()
    words = ["".join(text.itertext()) for text in ET.fromstring(svg).iterfind(".//s:text", NS)]
    drawn = [text.get_text() for text in plot.figure.findobj(MplText) if text.get_visible()]
    for word in ("a < b & $c$", "here", "Left <&>", "position (mm)", "viscosity (Pa s)", "spread", "tube"):
        assert word in words and word in drawn


@pytest.mark.slow
def test_a_text_that_leaves_the_frame_disappears() -> None:
    plot, *_ = two_panels()
    assert "gone" in plot.update(texts={"moving": ("gone", 10, 100)})
    assert "gone" not in plot.update(texts={"moving": ("gone", 1e9, 100)})
    plot.png()
    assert "gone" not in [text.get_text() for text in plot.figure.findobj(MplText)]


@pytest.mark.slow
def test_the_svg_is_fit_for_a_page() -> None:
    plot, *_ = two_panels()
    svg = plot.update(curves={"tube": (X, X)}, alt='New "words" & more')
    root = ET.fromstring(svg)
    assert root.get("role") == "img"
    assert root.get("aria-label") == 'New "words" & more' == root.findtext("s:desc", namespaces=NS)
    assert "width:100%" in (root.get("style") or "")
    # a style sheet would reach the whole page, numbered ids would occur in every picture
    assert "<style" not in svg and "<metadata" not in svg and "figure_1" not in svg
    # without a substitute a machine that lacks the font would fall back to one with serifs
    assert svg.count("DejaVu Sans") == svg.count("DejaVu Sans', Verdana, Arial, sans-serif") >= 1
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    used = set(re.findall(r"url\(#([^)]+)\)", svg)) | set(re.findall(r'href="#([^"]+)"', svg))
    assert used <= set(ids)


def test_words_on_the_frame_stay_as_they_are() -> None:
    figure, (axes,) = graph(height=200)
    title = """k = 0.123456 in 'DejaVu Sans' x="0.98765" """
    frame(axes, x="x (1)", y="y (1)", xlim=(0, 1), ylim=(0, 1), title=title)
    root = ET.fromstring(LivePlot(figure, alt="frame").svg())
    assert title.strip() in [(text.text or "").strip() for text in root.iterfind(".//s:text", NS)]


def test_parts_lie_in_the_order_bands_curves_markers_texts() -> None:
    plot, *_ = two_panels()
    svg = plot.svg()
    places = [svg.index(f'-{name}"') for name in ("spread", "tube", "here", "readout")]
    assert places == sorted(places)


@pytest.mark.slow
def test_png_is_the_same_every_time_small_and_follows_the_data() -> None:
    plot, *_ = two_panels()
    plot.update(curves={"tube": (X, 9 * X)})
    first = plot.png()
    assert first == plot.png()
    assert len(first) < 60_000
    plot.update(curves={"tube": (X, 5 * X)})
    assert plot.png() != first
    plot.update(curves={"tube": (X, 9 * X)})
    assert plot.png() == first
    other, *_ = two_panels()
    other._slots["tube"].set((X, 9 * X))
    assert other.png() == first


@pytest.mark.slow
def test_a_notebook_stores_png_and_words() -> None:
    plot, *_ = two_panels()
    data, metadata = DisplayFormatter().format(plot)
    assert set(data) == {"image/png", "text/plain"}
    assert data["text/plain"] == "Picture: Two <panels> & their curves"
    assert metadata["image/png"]["width"] == 800


def test_mistakes_are_refused_in_plain_words() -> None:
    plot, left, _ = two_panels()
    figure, (stranger,) = graph()
    with pytest.raises(ValueError, match="alt text"):
        LivePlot(figure, alt="")
    with pytest.raises(ValueError, match="another figure"):
        plot.curve(stranger, "new")
    with pytest.raises(ValueError, match="already"):
        plot.curve(left, "tube")
    with pytest.raises(ValueError, match="plain word"):
        plot.curve(left, "two words")
    with pytest.raises(ValueError, match="Did you mean 'tube'"):
        plot.update(curves={"tubes": (X, X)})
    with pytest.raises(ValueError, match="no marker named 'tube'"):
        plot.update(markers={"tube": (1, 1)})
    with pytest.raises(ValueError, match="different lengths: 12, 11"):
        plot.update(curves={"tube": (X, X[1:])})
    with pytest.raises(ValueError, match="a triple"):
        plot.update(bands={"spread": (X, X)})  # type: ignore[dict-item]
    with pytest.raises(ValueError, match="fixed place"):
        plot.update(texts={"readout": ("a", 1, 2)})
    with pytest.raises(ValueError, match="moves with the data"):
        plot.update(texts={"moving": "a"})


def test_a_long_curve_leaves_out_what_cannot_be_seen() -> None:
    figure, (axes,) = graph(columns=1)
    frame(axes, x="x", y="y", xlim=(0, 1), ylim=(-1, 1), title="waves")
    plot = LivePlot(figure, alt="waves")
    plot.curve(axes, "wave", "main")
    x = np.linspace(0, 1, 400)
    svg = plot.update(curves={"wave": (x, np.sin(9 * x))})
    path = re.search(r'<path d="M([-0-9. ]+)" fill="none"/>', svg)
    assert path is not None
    drawn = np.array(path[1].split(), dtype=float).reshape(-1, 2)
    assert len(drawn) < 200
    left, right = drawn[0, 0], drawn[-1, 0]
    top, bottom = drawn[:, 1].min(), drawn[:, 1].max()
    height = (np.sin(9 * (drawn[:, 0] - left) / (right - left)) + 1) / 2
    assert np.abs(bottom + (top - bottom) * height - drawn[:, 1]).max() < 0.5
