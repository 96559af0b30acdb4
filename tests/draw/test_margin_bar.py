"""The small bar of a margin, and the widget of a live picture."""

import math
import re
import xml.etree.ElementTree as ET

import pytest
from augerbook.draw.margin_bar import margin_bar
from augerbook.draw.style import INK
from augerbook.page.live_html import live_html

NS = {"s": "http://www.w3.org/2000/svg"}


def _zones(svg: str) -> list[ET.Element]:
    return [rect for rect in ET.fromstring(svg).findall("s:rect", NS) if rect.get("fill") != "none"][1:]


def _needle(svg: str) -> list[float]:
    """The x coordinates of the needle's corners, empty when there is none."""
    paths = [p.get("d") or "" for p in ET.fromstring(svg).findall("s:path", NS) if p.get("fill") == INK]
    return [float(x) for path in paths for x in re.findall(r"[MLH](-?[\d.]+)", path)]


def test_the_words_are_always_there() -> None:
    words = "torque 0.4 of the motor's & < half"
    root = ET.fromstring(margin_bar(0.4, 0.5, 0.8, words))
    assert root.get("role") == "img"
    assert root.get("aria-label") == words == root.findtext("s:text", namespaces=NS)
    with pytest.raises(ValueError, match="words"):
        margin_bar(0.4, 0.5, 0.8, "  ")


@pytest.mark.parametrize(("good", "limit"), [(0.5, 0.8), (1.5, 1.0)])
def test_the_needle_stands_in_the_zone_of_its_number(good: float, limit: float) -> None:
    low, high = min(good, limit), max(good, limit)
    for zone, value in enumerate((low / 2, (low + high) / 2, 1.2 * high)):
        svg = margin_bar(value, good, limit, "x")
        rect = _zones(svg)[zone]
        start = float(rect.get("x") or "nan")
        corners = _needle(svg)
        middle = (min(corners) + max(corners)) / 2
        assert start < middle < start + float(rect.get("width") or "nan")


def test_the_zone_beyond_the_limit_is_the_darkest_and_is_ruled() -> None:
    for good, limit, beyond in ((0.5, 0.8, 2), (1.5, 1.0, 0)):
        svg = margin_bar(1, good, limit, "x")
        zones = _zones(svg)
        grey = [int((zone.get("fill") or "#000000")[3:5], 16) for zone in zones]
        assert grey[beyond] == min(grey) and len(set(grey)) == 3
        rules = ET.fromstring(svg).find("s:path", NS)
        assert rules is not None
        places = [float(x) for x in re.findall(r"M([\d.]+)", rules.get("d") or "")]
        start = float(zones[beyond].get("x") or "nan")
        stop = start + float(zones[beyond].get("width") or "nan")
        assert len(places) > 5 and start < min(places) and max(places) < stop + 0.1


def test_numbers_off_the_bar_point_outwards_and_none_has_no_needle() -> None:
    for value in (5.0, math.inf):
        assert max(_needle(margin_bar(value, 0.5, 0.8, "x"))) == pytest.approx(209)
    for value in (-5.0, -math.inf):
        assert min(_needle(margin_bar(value, 0.5, 0.8, "x"))) == pytest.approx(11)
    assert _needle(margin_bar(math.nan, 0.5, 0.8, "not known")) == []


SENSELESS = [(1.0, 1.0), (0.0, 1.0), (1.0, math.nan), (-1.0, 1.0), (math.inf, 1.0)]


@pytest.mark.parametrize(("good", "limit"), SENSELESS)
def test_senseless_limits_are_refused(good: float, limit: float) -> None:
    with pytest.raises(ValueError, match="positive numbers"):
        margin_bar(0.5, good, limit, "x")


def test_the_widget_takes_the_width_of_its_cell_and_a_new_picture() -> None:
    view = live_html("<svg>1</svg>")
    assert view.value == "<svg>1</svg>"
    assert view.layout.width == "100%"
    view.value = "<svg>2</svg>"
    assert view.value == "<svg>2</svg>"
