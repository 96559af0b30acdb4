"""The map of the handbook: every chapter has its box, and the arrows of one are the flows of the network."""

import re
from pathlib import Path

import numpy as np
import pytest
from augerbook.chapters import all_subjects, whole_head
from augerbook.core.network import Network
from augerbook.core.subject import Subject
from augerbook.draw.scene_layout import Outline, Text
from augerbook.head import all_parts
from augerbook.page import network_map as drawing
from augerbook.page.network_map import network_map, parts_of_book

NETWORK = whole_head()
LATE = Network((*all_subjects(), Subject("late", number=99, title="", question="")), all_parts())


def arrows(name: str) -> int:
    shapes = network_map(NETWORK, name)._shapes
    return sum(isinstance(s, Outline) and s.style in ("flow_head", "motion_head") for s in shapes)


@pytest.mark.parametrize("network", [NETWORK, LATE], ids=["book", "one written later"])
def test_every_chapter_has_a_box_of_its_own(network: Network, monkeypatch: pytest.MonkeyPatch) -> None:
    if network is LATE:  # it joins the second row, behind chapters with lower numbers
        first, (words_of_second, places), *others = drawing._PARTS
        monkeypatch.setattr(drawing, "_PARTS", (first, (words_of_second, (*places, 99)), *others))
    scene = network_map(network)
    words = {shape.text for shape in scene._shapes if isinstance(shape, Text)}
    assert {subject.name for subject in network.subjects} <= words
    boxes = [s.points for s in scene._shapes if isinstance(s, Outline) and s.style == "solid_paper"]
    corners = {tuple(np.round(box.min(axis=0), 3)) for box in boxes}
    assert len(corners) == len(boxes) == len(network.subjects)
    assert not any(isinstance(s, Outline) and s.style.endswith("_head") for s in scene._shapes)
    # The name of each stands in the box of its own, in the middle.
    names = {shape.text: (shape.x, shape.y) for shape in scene._shapes if isinstance(shape, Text)}
    in_rows = [subject for _, row in parts_of_book(network) for subject in row]
    for subject, box in zip(in_rows, boxes, strict=True):
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


def test_a_chapter_without_a_part_of_the_book_is_told_where_to_put_it() -> None:
    with pytest.raises(ValueError, match=r"chapter 99, late, stands in 0 parts of the book: .* page/network_map\.py"):
        network_map(LATE)


def test_the_readme_has_the_same_parts_with_the_same_chapters() -> None:
    told = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    table = re.search(r"\| what \| chapters \|\n *\|-+\|-+\|\n((?: *\|.*\|\n)+)", told)
    assert table is not None
    rows = [[cell.strip() for cell in line.strip().strip("|").split("|")] for line in table[1].splitlines()]
    found = [(words, re.findall(r"\b(\d\d) ([a-z_]+)", chapters)) for words, chapters in rows]
    assert found == [(words, [(f"{s.number:02d}", s.name) for s in row]) for words, row in parts_of_book(NETWORK)]
