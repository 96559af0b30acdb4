"""A scene: right to scale, the same in both back-ends, readable without eyes."""

import io
import itertools
import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from augerbook.draw.scene import Corner, Scene
from augerbook.draw.scene_layout import Outline, Text
from augerbook.draw.scene_mpl import to_figure
from augerbook.draw.style import LOOKS, PAPER, VIEW_WIDTH
from IPython.core.formatters import DisplayFormatter
from matplotlib.patches import PathPatch
from matplotlib.text import Text as MplText
from PIL import Image

NS = {"s": "http://www.w3.org/2000/svg"}
ALT = 'Screw with "flights" & a gap < 1 mm'


def demo() -> Scene:
    """A scene with every kind of thing on it (sizes invented)."""
    s = Scene(width=40, height=20, unit="mm", origin=(-5, -10), alt=ALT, title="Screw <in> its bore & more")
    s.rectangle((0, 4), 30, 2, "metal").rectangle((0, -6), 30, 2, "metal")
    s.polygon([(0, -3), (30, -3), (30, 3), (0, 3)], "screw")
    s.line((-2, 0), (32, 0), "centre")
    s.path([(0, 1), (1, 2), (math.nan, math.nan), (3, 1), (4, 2)], "thin")
    s.circles([(5, 3.5), (9, 3.5)], [0.4, 0.3], "grain").circle((12, 3.5), 0.5, "jammed")
    s.ring((20, 0), 1, 2, "bearing")
    s.label((10, -1), "two\nlines $not math$", anchor="start")
    s.leader((12, 3.5), (16, 8), "jammed grain <1 mm")
    s.dimension((0, -6), (30, -6), "length", offset=-2).dimension((31, 3), (31, 4))
    s.arrow((25, 0), (20, 0), "force", "F = 300 N").arrow((2, -1), (8, -1), "flow", "Q", text_at="tip")
    arc = [(math.cos(a), math.sin(a)) for a in np.linspace(0, 3, 20)]
    s.arrow_along(arc, "motion", "N", text_at="middle")
    return s.scale_bar(5)


def _texts(svg: str) -> list[str]:
    return [text.text or "" for text in ET.fromstring(svg).iterfind(".//s:text", NS)]


def test_svg_is_well_formed_and_speaks() -> None:
    root = ET.fromstring(demo().svg())
    assert root.get("role") == "img"
    assert root.get("aria-label") == ALT
    assert root.findtext("s:desc", namespaces=NS) == ALT
    assert root.findtext("s:title", namespaces=NS) == "Screw <in> its bore & more"
    assert "width:100%" in (root.get("style") or "")
    assert root.get("viewBox") == "0 0 800 434"


def test_both_back_ends_bear_the_same_words_in_the_same_places() -> None:
    scene = demo()
    drawn = [text for text in to_figure(scene.sheet).findobj(MplText) if text.get_text()]
    assert [text.get_text() for text in drawn] == _texts(scene.svg())
    assert "F = 300 N" in _texts(scene.svg())
    places = [
        (float(text.get("x") or "nan"), float(text.get("y") or "nan"))
        for text in ET.fromstring(scene.svg()).iterfind(".//s:text", NS)
    ]
    assert np.array([text.get_position() for text in drawn]) == pytest.approx(np.array(places), abs=0.051)


def test_both_back_ends_draw_the_same_outlines() -> None:
    scene = demo()
    patches = [patch for patch in to_figure(scene.sheet).findobj(PathPatch) if isinstance(patch, PathPatch)]
    paths = [path.get("d") or "" for path in ET.fromstring(scene.svg()).iterfind(".//s:g/s:path", NS)]
    assert len(patches) == len(paths) > 20
    for patch, data in zip(patches, paths, strict=True):
        corners = np.array([float(n) for n in re.findall(r"-?[\d.]+", data)]).reshape(-1, 2)
        # matplotlib repeats the first corner of a closed part at its end, SVG says Z
        drawn = np.vstack([part[:-1] if "Z" in data else part for part in _parts(patch)])
        assert drawn == pytest.approx(corners, abs=0.0251)


def _parts(patch: PathPatch) -> list[np.ndarray]:
    path = patch.get_path()
    starts = np.flatnonzero(path.codes == path.MOVETO)
    return np.split(np.asarray(path.vertices), starts[1:])


def test_the_drawing_is_to_scale() -> None:
    # 40 mm over 800 units: 20 units a millimetre; y = 10 mm is the upper edge, below 34 units of title
    scene = demo()
    assert scene.to_view((-5, 10)) == pytest.approx([0, 34])
    assert scene.to_view((0, 0)) == pytest.approx([100, 234])
    assert scene.to_view([(35, -10)])[0] == pytest.approx([800, 434])
    assert scene.px == pytest.approx(0.05)
    in_metres = Scene(width=0.04, height=0.02, unit="m", origin=(-0.005, -0.01), alt="x", title="x")
    assert in_metres.to_view((0.001, 0.002)) == pytest.approx(scene.to_view((1, 2)))


def test_circles_are_to_scale() -> None:
    circles = ET.fromstring(demo().svg()).findall(".//s:g/s:circle", NS)
    grain = circles[0]
    assert [float(grain.get(key) or 0) for key in ("cx", "cy", "r")] == pytest.approx([200, 164, 8])


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    for unit, length in (("mm", 5.0), ("m", 0.005)):
        width = 40.0 if unit == "mm" else 0.04
        scene = Scene(width=width, height=width / 2, unit=unit, alt="bar").scale_bar(length)
        bar = next(s for s in scene.shapes if isinstance(s, Outline))
        assert np.ptp(bar.points[:, 0]) == pytest.approx(100)
        assert [s.text for s in scene.shapes if isinstance(s, Text)] == ["5 mm"]


def _heads(scene: Scene) -> list[Outline]:
    return [s for s in scene.shapes if isinstance(s, Outline) and s.style == "dimension_head"]


def test_arrowheads_end_at_the_points_and_stand_outside_when_there_is_no_room() -> None:
    wide = Scene(width=40, height=20, alt="x").dimension((10, 10), (30, 10), "20 mm")
    assert [tuple(head.points[0]) for head in _heads(wide)] == [(200, 200), (600, 200)]
    assert all(head.points[:, 0].min() >= 200 and head.points[:, 0].max() <= 600 for head in _heads(wide))
    narrow = Scene(width=40, height=20, alt="x").dimension((20, 10), (20.5, 10), "0.5 mm")
    left, right = _heads(narrow)
    assert left.points[0] == pytest.approx([400, 200])
    assert right.points[0] == pytest.approx([410, 200])
    assert left.points[:, 0].max() == pytest.approx(400)
    assert right.points[:, 0].min() == pytest.approx(410)


def test_text_on_a_dimension_line_breaks_the_line() -> None:
    scene = Scene(width=40, height=20, alt="x").dimension((5, 10), (35, 10), "span", offset=2)
    lines = [s for s in scene.shapes if isinstance(s, Outline) and s.style == "dimension"]
    text = next(s for s in scene.shapes if isinstance(s, Text))
    assert lines[0].points[-1, 0] < text.x < lines[1].points[0, 0]
    # a positive offset lies to the left of the way from p to q: above, when it leads to the right
    assert lines[0].points[0, 1] == pytest.approx(160)


@pytest.mark.parametrize(("text_at", "sign"), [("p", -1), ("q", 1), ("left", -1), ("right", 1)])
def test_text_of_a_dimension_goes_where_it_is_told(text_at: str, sign: int) -> None:
    scene = Scene(width=40, height=20, alt="x")
    scene.dimension((20, 10), (20.4, 10), "gap", text_at=text_at)  # type: ignore[arg-type]
    text = next(s for s in scene.shapes if isinstance(s, Text))
    assert sign * (text.x - 404) > 0
    assert text.anchor == ("start" if sign > 0 else "end")


def test_a_dimension_without_words_shows_its_length_in_millimetres() -> None:
    scene = Scene(width=0.04, height=0.02, unit="m", alt="x").dimension((0.01, 0.01), (0.022345, 0.01))
    assert [s.text for s in scene.shapes if isinstance(s, Text)] == ["12.3 mm"]


def test_an_arrow_ends_at_its_point() -> None:
    scene = Scene(width=40, height=20, alt="x").arrow((10, 10), (30, 10), "force")
    head = next(s for s in scene.shapes if isinstance(s, Outline) and s.style == "force_head")
    assert head.points[0] == pytest.approx([600, 200])
    Scene(width=40, height=20, alt="x").arrow((10, 10), (10, 10), "force", "no force").svg()


def test_letters_have_the_same_size_at_any_scale() -> None:
    scenes = [Scene(width=w, height=w / 2, alt="x").label((0, 0), "a") for w in (0.04, 4, 400)]
    sizes = [re.findall(r'font-size="([\d.]+)"', scene.svg()) for scene in scenes]
    assert sizes[0] == sizes[1] == sizes[2]
    assert 12 <= float(sizes[0][0]) <= 16


def test_png_is_the_same_every_time_and_small() -> None:
    png = demo().png()
    assert png == demo().png()
    assert len(png) < 60_000
    with Image.open(io.BytesIO(png)) as image:
        assert image.size == (1066, 578)


def test_what_is_drawn_later_covers_and_a_ring_has_a_hole() -> None:
    scene = Scene(width=40, height=20, alt="x").rectangle((0, 0), 40, 20, "void")
    scene.ring((20, 10), 3, 6, "solid_ink")
    with Image.open(io.BytesIO(scene.png())) as image:
        pixels = image.convert("L")
        dots = image.width / 40
        centre, ring = (pixels.getpixel((round(x * dots), round(10 * dots))) for x in (20, 20 + 4.5))
    assert isinstance(centre, int) and isinstance(ring, int)
    assert centre > 240 > 60 > ring
    # SVG fills by the nonzero rule: a hole needs the opposite sense of rotation
    outline = next(s for s in scene.shapes if isinstance(s, Outline) and s.style == "solid_ink").points
    cut = int(np.flatnonzero(np.isnan(outline[:, 0]))[0])
    assert _area(outline[:cut]) * _area(outline[cut + 1 :]) < 0


def _area(p: np.ndarray) -> float:
    return float(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - np.roll(p[:, 0], -1) * p[:, 1]) / 2)


def test_hatches_are_defined_once_and_not_shared_between_pictures() -> None:
    scenes = [Scene(width=40, height=20, alt=f"No. {n}").rectangle((0, 0), 9, 9, "metal") for n in (1, 2)]
    ids = []
    for scene in scenes:
        svg = scene.rectangle((20, 0), 9, 9, "metal").svg()
        patterns = ET.fromstring(svg).findall(".//s:pattern", NS)
        assert len(patterns) == 1
        assert f"url(#{patterns[0].get('id')})" in svg
        ids.append(patterns[0].get("id"))
    assert ids[0] != ids[1]


def test_a_notebook_stores_png_and_words() -> None:
    data, metadata = DisplayFormatter().format(demo())
    assert set(data) == {"image/png", "text/plain"}
    assert data["text/plain"] == f"Picture: {ALT}"
    assert metadata["image/png"] == {"width": 800, "alt": ALT}


def test_an_explicit_paper_lies_beneath() -> None:
    rect = ET.fromstring(demo().svg()).find("s:rect", NS)
    assert rect is not None and rect.get("fill") == PAPER
    with Image.open(io.BytesIO(demo().png())) as image:
        assert image.convert("RGB").getpixel((2, 200)) == (0xFD, 0xFD, 0xFB)
        assert image.mode == "P" and "transparency" not in image.info


@pytest.mark.parametrize(
    ("kwargs", "message"),
    [
        ({"alt": " "}, "alt text"),
        ({"width": 0}, "positive"),
        ({"height": math.nan}, "positive"),
        ({"unit": "inch"}, "'m' or 'mm'"),
        ({"title": "long " * 40}, "does not fit"),
    ],
)
def test_a_bad_window_is_refused_in_plain_words(kwargs: dict[str, object], message: str) -> None:
    good: dict[str, object] = {"width": 40, "height": 20, "alt": "x"}
    with pytest.raises(ValueError, match=message):
        Scene(**{**good, **kwargs})  # type: ignore[arg-type]


def test_bad_shapes_are_refused_in_plain_words() -> None:
    scene = Scene(width=40, height=20, alt="x")
    with pytest.raises(ValueError, match="no drawing style 'stell'"):
        scene.rectangle((0, 0), 1, 1, "stell")
    with pytest.raises(ValueError, match="pairs"):
        scene.polygon([(1, 2, 3)], "screw")
    with pytest.raises(ValueError, match="infinite"):
        scene.path([(0, 0), (math.inf, 1)])
    with pytest.raises(ValueError, match="finite numbers"):
        scene.line((0, 0), (math.nan, 1))
    with pytest.raises(ValueError, match="not negative"):
        scene.circle((0, 0), -1, "grain")
    with pytest.raises(ValueError, match="two points"):
        scene.arrow_along([(0, 0)])
    assert scene.shapes == ()


def test_no_grains_draw_nothing() -> None:
    assert Scene(width=4, height=2, alt="x").circles([], [], "grain").shapes == ()


def test_labels_of_a_dimension_do_not_lie_on_its_arrowheads() -> None:
    """For dimensions of any length and direction the text's anchor stays clear of both heads."""
    for length, angle in itertools.product((0.2, 1.0, 3.0, 8.0, 15.0), np.linspace(0, 2 * math.pi, 13)):
        way = length * np.array([math.cos(angle), math.sin(angle)])
        middle = np.array([20.0, 20.0])
        scene = Scene(width=40, height=40, alt="x").dimension(middle - way / 2, middle + way / 2, "8 mm")
        text = next(s for s in scene.shapes if isinstance(s, Text))
        width = 40.0
        left = {"start": text.x, "middle": text.x - width / 2, "end": text.x - width}[text.anchor]
        for head in _heads(scene):
            x, y = head.points.T
            apart = x.max() < left or x.min() > left + width or y.max() < text.y - 10 or y.min() > text.y
            assert apart, (length, angle)


@pytest.mark.parametrize("corner", ["bottom left", "bottom right", "top left", "top right"])
def test_the_words_of_a_scale_bar_stand_above_its_middle_inside_the_picture(corner: Corner) -> None:
    scene = Scene(width=40, height=20, alt="bar").scale_bar(5, corner)
    bar = next(shape for shape in scene.shapes if isinstance(shape, Outline))
    (words,) = (shape for shape in scene.shapes if isinstance(shape, Text))
    left, right = bar.points[:, 0].min(), bar.points[:, 0].max()
    assert words.x == pytest.approx((left + right) / 2)
    assert bar.points[:, 1].min() - 20 < words.y < bar.points[:, 1].min()  # y runs downwards
    assert left > 0 and right < VIEW_WIDTH and words.y > 0 and bar.points[:, 1].max() < scene.view_height


@pytest.mark.slow
def test_both_back_ends_draw_lines_of_one_width() -> None:
    """The width in the style sheet is that in the SVG and that of matplotlib's patch."""
    for name, style in LOOKS.items():
        if not style.edge:
            continue
        scene = Scene(width=40, height=20, alt="a line").path([(0, 0), (40, 20)], name)
        assert float(re.findall(r'stroke-width="([\d.]+)"', scene.svg())[-1]) == style.width  # before it: a hatch
        (patch,) = (p for p in to_figure(scene.sheet).findobj(PathPatch) if p.get_edgecolor()[3] > 0)
        assert patch.get_linewidth() == style.width
        assert 0.5 <= style.width <= 4.0
    bodies, faint = ("outline", "heavy", "screw", "bearing"), ("thin", "hidden", "ghost")
    assert all(LOOKS[body].width > LOOKS[line].width for body in bodies for line in faint if line != "ghost")
