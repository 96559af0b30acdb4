"""Numbers, paths and texts of SVG strings."""

import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from augerbook.draw.style import HATCHES, LOOKS
from augerbook.draw.svg_text import escape, finite_runs, many_paths, numbers, path_data, pattern, patterns
from hypothesis import given
from hypothesis import strategies as st


@given(st.lists(st.floats(-600, 2100), min_size=1, max_size=40))
def test_numbers_are_right_to_a_twentieth(values: list[float]) -> None:
    read = [float(text) for text in numbers(np.array(values))]
    assert read == pytest.approx(values, abs=0.0251)


def test_numbers_far_outside_the_table_are_written_all_the_same() -> None:
    assert [float(text) for text in numbers(np.array([-98765.25, 1.0, 54321.5]))] == [-98765.25, 1.0, 54321.5]


def test_no_numbers_make_no_strings() -> None:
    assert numbers(np.array([])) == []
    assert path_data(np.empty((0, 2))) == ""
    assert many_paths([]) == []


def test_nan_breaks_a_path() -> None:
    points = np.array([[0, 0], [1, 1], [math.nan, 2], [3, 3], [4, 4]], dtype=float)
    assert path_data(points) == "M0 0 1 1M3 3 4 4"
    assert path_data(points, closed=True) == "M0 0 1 1ZM3 3 4 4Z"
    assert [len(run) for run in finite_runs(points)] == [2, 2]
    assert path_data(np.full((3, 2), math.nan)) == ""


def test_many_paths_are_the_same_as_each_alone() -> None:
    whole = [(np.array([[1.5, 2.0], [3.0, 4.0]]), True), (np.array([[5.0, 6.0], [7.0, 8.25]]), False)]
    broken = [*whole, (np.array([[1.0, 1.0], [math.nan, 0.0], [2.0, 2.0]]), False)]
    for outlines in (whole, broken):
        assert many_paths(outlines) == [path_data(points, closed) for points, closed in outlines]


@given(st.text())
def test_any_text_survives_the_way_through_xml(text: str) -> None:
    read = ET.fromstring(f'<a b="{escape(text)}">{escape(text)}</a>')
    legal = "".join(sign for sign in text if _legal(sign))
    # a reader of XML turns line ends into \n, and in attributes into blanks
    assert (read.text or "") == legal.replace("\r\n", "\n").replace("\r", "\n")


def _legal(sign: str) -> bool:
    return sign in "\t\n\r" or " " <= sign <= "\ud7ff" or "\ue000" <= sign <= "\ufffd" or sign >= "\U00010000"


def test_every_hatched_style_has_its_pattern() -> None:
    hatched = {name for name, style in LOOKS.items() if style.hatch}
    defs = ET.fromstring(f"<defs>{patterns(LOOKS, 'p1')}</defs>")
    assert {one.get("id") for one in defs} == {f"p1-{name}" for name in hatched}


@pytest.mark.parametrize("name", [name for name, style in LOOKS.items() if style.hatch])
def test_a_pattern_tiles_without_a_seam(name: str) -> None:
    """Lines lie in the middle of their tile, from edge to edge; its two dots lie on a lattice of their own."""
    hatch, root = HATCHES[LOOKS[name].hatch or ""], ET.fromstring(pattern(name, "p"))
    size = hatch.spacing
    assert (float(root.get("width", "")), float(root.get("height", ""))) == (size, size)
    if hatch.dots:
        (x1, y1), (x2, y2) = ((float(c.get("cx", "")), float(c.get("cy", ""))) for c in root.iter("circle"))
        assert (x2 - x1, y2 - y1) == (size / 2, size / 2) and (x1, y1) == (size / 4, size / 4)
        return
    (path,) = root.iter("path")
    runs = re.findall(r"M([\d.]+) ([\d.]+)([HV])([\d.]+)", path.get("d", ""))
    assert len(runs) == max(1, len(hatch.angles))
    for x, y, way, end in runs:
        across, start = (float(y), float(x)) if way == "H" else (float(x), float(y))
        assert (across, start, float(end)) == (size / 2, 0.0, size)
    assert f"rotate({-hatch.angles[0]:g})" in (root.get("patternTransform") or "rotate(0)")
