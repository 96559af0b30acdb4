"""A picture by matplotlib made light: nothing is lost, moved or drawn in another order."""

import io
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from augerbook.draw.light_svg import still_parts
from augerbook.draw.live_plot import frame, graph
from augerbook.draw.style import house_style
from matplotlib.axes import Axes
from matplotlib.figure import Figure

SVG = "{http://www.w3.org/2000/svg}"


def _picture() -> tuple[Figure, tuple[Axes, ...]]:
    figure, axes = graph(columns=2, height=300)
    frame(axes[0], x="position (mm)", y="temperature (°C)", xlim=(0, 10), ylim=(-50, 50), title="Left <&>")
    frame(axes[1], x="rate (1/s)", y="viscosity", xscale="log", yscale="log", xlim=(0.1, 1e3), ylim=(1, 1e4))
    return figure, axes


def _stored(figure: Figure) -> str:
    with house_style():
        figure.draw_without_rendering()
        stored = io.StringIO()
        figure.savefig(stored, format="svg", metadata={"Date": None})
    return stored.getvalue()


def _light(figure: Figure) -> ET.Element:
    return _whole(_stored(figure))


def _whole(stored: str) -> ET.Element:
    return ET.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(still_parts(stored)[0])}</svg>')


def _drawing(inside: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
        f"<metadata><x/></metadata><defs><style>*{{stroke-linejoin: round}}</style></defs>{inside}</svg>"
    )


def _words(root: ET.Element) -> list[tuple[str, ...]]:
    places = []
    for text in root.iter(f"{SVG}text"):
        said = "".join(part.strip() for part in text.itertext())
        turned = re.match(r"rotate\(-?0 ", text.get("transform", "")) is None and "transform" in text.attrib
        rounded = (f"{float(text.get(key, 0)):.2f}" for key in ("x", "y"))
        places.append((said, *rounded, "turned" if turned else ""))
    return sorted(places)


def _strokes(root: ET.Element, colour: str) -> list[tuple[float, ...]]:
    """Ends of all straight strokes of a colour; marks are put at their places."""
    marks = {path.get("id"): path for path in root.iter(f"{SVG}path") if path.get("id")}
    found = []
    for element in root.iter():
        style = element.get("style", "")
        x, y, path = 0.0, 0.0, element
        if element.tag == f"{SVG}use":
            x, y = float(element.get("x", 0)), float(element.get("y", 0))
            path = marks[element.get("{http://www.w3.org/1999/xlink}href", "#")[1:]]
        elif element.tag != f"{SVG}path" or element.get("id"):
            continue
        if f"stroke: {colour}" not in style:
            continue
        for part in re.findall(r"M[^M]*", path.get("d", "")):
            numbers = [float(number) for number in re.findall(r"-?[\d.]+", part)]
            if len(numbers) == 4:
                moved = np.add(numbers, (x, y, x, y)).round(1)
                found.append(tuple(moved.tolist()))
    return sorted(found)


@pytest.mark.slow
def test_words_stand_where_matplotlib_writes_them() -> None:
    stored = _stored(_picture()[0])
    before, after = _words(ET.fromstring(stored)), _words(_whole(stored))
    assert len(before) > 20 and ("Left <&>") in {said for said, *_ in before}
    assert after == before


@pytest.mark.slow
def test_grid_lines_and_ticks_lie_where_matplotlib_draws_them() -> None:
    stored = _stored(_picture()[0])
    whole, light = ET.fromstring(stored), _whole(stored)
    for colour in ("#dde1e5", "#1f2328"):
        before, after = _strokes(whole, colour), _strokes(light, colour)
        assert len(before) == len(after) > 10
        np.testing.assert_allclose(after, before, atol=0.11)


@pytest.mark.slow
def test_it_has_far_fewer_elements() -> None:
    stored = _stored(_picture()[0])
    count = [
        sum(element.tag != f"{SVG}text" for element in root.iter()) for root in (ET.fromstring(stored), _whole(stored))
    ]
    assert count[1] < count[0] / 4


@pytest.mark.slow
def test_a_curve_keeps_its_clip_and_the_clip_its_definition() -> None:
    figure, (left, _) = _picture()
    with house_style():
        left.plot([0, 3, 30], [-80, 10, 90])
    root = _light(figure)
    (clip,) = {path.get("clip-path") for path in root.iter(f"{SVG}path")} - {None}
    assert clip is not None
    assert [f"url(#{element.get('id')})" for element in root.iter(f"{SVG}clipPath")] == [clip]


def test_lines_of_one_look_become_one_path_but_not_across_an_area() -> None:
    line = 'style="fill: none; stroke: #000"'
    parts, names = still_parts(
        _drawing(
            f'<g id="a"><path d="M 0 0 L 1 0" {line}/></g><g><path d="M 0 2 L 1 2 L 1 3" {line}/></g>'
            f'<path d="M 0 0 L 5 0 L 5 5 z" style="fill: #fff"/><path d="M 0 4 L 1 4" {line}/>'
        )
    )
    assert names == []
    assert [path.get("d") for path in ET.fromstring(f"<g>{parts[0]}</g>")] == [
        "M0 0L1 0M0 2L1 2L1 3", "M0 0L5 0L5 5z", "M0 4L1 4",
    ]  # fmt: skip


def test_see_through_lines_stay_by_themselves() -> None:
    line = 'style="fill: none; stroke: #000; opacity: 0.5"'
    parts, _ = still_parts(_drawing(f'<path d="M 0 0 L 1 0" {line}/><path d="M 0 0 L 1 0" {line}/>'))
    assert parts[0].count("<path") == 2


def test_marks_are_put_at_their_places_in_the_colours_they_are_given() -> None:
    mark = '<defs><path id="m" d="M 0 -1 C 0.5 -1 1 0 1 1 z" style="stroke: #111"/></defs>'
    use = '<use xlink:href="#m" x="10" y="20.5" style="fill: #222; stroke: #333"/>'
    (path,) = ET.fromstring(f"<g>{still_parts(_drawing(mark + use))[0][0]}</g>")
    assert path.get("d") == "M10 19.5C10.5 19.5 11 20.5 11 21.5z"
    assert path.get("style") == "fill: #222; stroke: #111"


def test_places_are_kept_free_in_the_order_of_drawing() -> None:
    line = '<path d="M 0 0 L 1 0" style="fill: none; stroke: #000"/>'
    inside = f'{line}<g id="slot-one">{line}</g>{line}<g><g id="slot-two"/></g>'
    parts, names = still_parts(_drawing(inside))
    assert names == ["one", "two"]
    assert [part.count("<path") for part in parts] == [1, 1, 0]


def test_a_group_with_a_look_of_its_own_stays_whole() -> None:
    inside = '<g transform="scale(2)"><text><tspan x="1" style="font-size: 13px">10</tspan></text></g>'
    parts, _ = still_parts(_drawing(inside))
    assert parts[0] == '<g transform="scale(2)"><text><tspan x="1" style="font-size: 13px">10</tspan></text></g>'
