"""The map of the handbook: every chapter has its box, and the arrows of one are the flows of the network."""

import numpy as np
import pytest
from augerbook.chapters import whole_head
from augerbook.draw.scene_layout import Outline, Text
from augerbook.page.network_map import network_map

NETWORK = whole_head()


def arrows(name: str) -> int:
    shapes = network_map(NETWORK, name)._shapes
    return sum(isinstance(s, Outline) and s.style in ("flow_head", "motion_head") for s in shapes)


def test_every_chapter_has_a_box_of_its_own() -> None:
    scene = network_map(NETWORK)
    words = {shape.text for shape in scene._shapes if isinstance(shape, Text)}
    assert {subject.name for subject in NETWORK.subjects} <= words
    boxes = [s.points for s in scene._shapes if isinstance(s, Outline) and s.style == "solid_paper"]
    corners = {tuple(np.round(box.min(axis=0), 3)) for box in boxes}
    assert len(corners) == len(boxes) == len(NETWORK.subjects)
    assert arrows("") == 0
    # The name of each stands in the box of its own, in the middle.
    names = {shape.text: (shape.x, shape.y) for shape in scene._shapes if isinstance(shape, Text)}
    for subject, box in zip(NETWORK.subjects, boxes, strict=True):
        (left, top), (right, bottom) = box.min(axis=0), box.max(axis=0)
        x, y = names[subject.name]
        assert x == pytest.approx((left + right) / 2) and (top + bottom) / 2 < y < bottom


@pytest.mark.parametrize("name", [subject.name for subject in NETWORK.subjects])
def test_the_arrows_of_a_chapter_are_what_flows(name: str) -> None:
    flows = NETWORK.flows()
    assert arrows(name) == sum(name in pair for pair in flows)
    alt = network_map(NETWORK, name).alt
    for owner, user in flows:
        if user == name:
            assert owner in alt.partition("takes results from")[2].partition("hands results on")[0]
        if owner == name:
            assert user in alt.partition("hands results on")[2]


def test_an_unknown_chapter_has_no_map() -> None:
    with pytest.raises(KeyError):
        network_map(NETWORK, "nothing")
