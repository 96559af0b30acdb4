"""The map of the handbook: its chapters by part of the head, and what one of them takes and hands on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from augerbook.core.network import Network
from augerbook.core.subject import Subject
from augerbook.draw.scene import Scene
from augerbook.page.chapter import Markdown

#: The parts of the book: words, and the places of their chapters. One that is written later may join any of them.
_PARTS: tuple[tuple[str, Sequence[int]], ...] = (
    ("from the grinder to the packed plug", range(1, 8)),
    ("heat and melt", range(8, 12)),
    ("force and motion", range(12, 18)),
    ("deciding", range(18, 20)),
)
_WIDTH, _ROW, _BOX_HIGH, _GAP, _MARGIN, _ASIDE = 800.0, 104.0, 44.0, 14.0, 14.0, 9.0


class _Box(NamedTuple):
    subject: Subject
    left: float
    bottom: float
    wide: float

    @property
    def middle(self) -> tuple[float, float]:
        return self.left + self.wide / 2, self.bottom + _BOX_HIGH / 2


def parts_of_book(network: Network) -> list[tuple[str, list[Subject]]]:
    """Return the parts of the book in words, each with its chapters in their order.

    Raises:
        ValueError: a chapter stands in no part; the message says where to put it.
    """
    placed = [place for _, places in _PARTS for place in places]
    for subject in network.subjects:
        if (count := placed.count(subject.number)) != 1:
            raise ValueError(
                f"chapter {subject.number}, {subject.name}, stands in {count} parts of the book: put its place into "
                "one of _PARTS in page/network_map.py, and the chapter into the same row of the README's table"
            )
    rows = [(words, [s for s in network.subjects if s.number in places]) for words, places in _PARTS]
    return [(words, subjects) for words, subjects in rows if subjects]


def _boxes(network: Network) -> tuple[dict[str, _Box], float, list[tuple[str, float, float]]]:
    """Where each chapter stands, how high the picture is, and the words of each row with their place."""
    rows = parts_of_book(network)
    height, most = _ROW * len(rows) + 8, max(len(subjects) for _, subjects in rows)
    wide = (_WIDTH - 2 * _MARGIN - _GAP * (most - 1)) / most
    boxes, words = {}, []
    for row, (text, subjects) in enumerate(rows):
        bottom = height - _ROW * (row + 1) + 12
        # Beside the boxes, where no arrow runs; above them in a row that is full.
        beside = _MARGIN + len(subjects) * (wide + _GAP)
        full = len(subjects) == most
        words.append((text, _MARGIN if full else beside, bottom + (_BOX_HIGH + 18 if full else _BOX_HIGH / 2)))
        for place, subject in enumerate(subjects):
            boxes[subject.name] = _Box(subject, _MARGIN + place * (wide + _GAP), bottom, wide)
    return boxes, height, words


def network_map(network: Network, here: str = "") -> Scene:
    """Draw the chapters by part of the head; with the arrows of one of them, when ``here`` names it.

    Raises:
        KeyError: there is no such chapter.
        ValueError: a chapter stands in no part of the book.
    """
    boxes, height, words = _boxes(network)
    parts = [f"{text}: {_listed({subject.name for subject in row})}." for text, row in parts_of_book(network)]
    flows = network.flows()
    takes, hands = ({a for a, b in flows if b == here}, {b for a, b in flows if a == here}) if here else (set(), set())
    title = f"What the chapter on {here} takes (dashed) and hands on" if here else "The chapters, by part of the head"
    told = ""
    if here:
        told = (
            f"{boxes[here].subject.title} takes results from {_listed(takes) or 'no other chapter'} "
            f"and hands results on to {_listed(hands) or 'no other chapter'}."
        )
    scene = Scene(
        width=_WIDTH, height=height, title=title,
        alt=" ".join([*parts, told]).strip(),
    )  # fmt: skip
    for other in sorted(takes):
        _arrow(scene, boxes[other], boxes[here], "flow")
    for other in sorted(hands):
        _arrow(scene, boxes[here], boxes[other], "motion")
    for text, left, at in words:
        scene.label((left, at), text, anchor="start", style="small")
    for name, box in boxes.items():
        style = "grain" if name == here else "solid_paper" if name in takes | hands or not here else "void"
        scene.rectangle((box.left, box.bottom), box.wide, _BOX_HIGH, style)
        scene.label(box.middle, f"{box.subject.number}\n{name}", style="strong" if name == here else "small")
    return scene


def _listed(names: set[str]) -> str:
    return ", ".join(sorted(names))


def _arrow(scene: Scene, start: _Box, end: _Box, style: str) -> None:
    """Draw an arrow from box to box: over the row where both stand in it, straight across otherwise."""
    (x0, y0), (x1, y1) = start.middle, end.middle
    half = _BOX_HIGH / 2
    if start.bottom == end.bottom:
        rise = 10.0 + 0.035 * abs(x1 - x0)
        turn = np.linspace(0, math.pi, 40)
        x = x0 + (x1 - x0) * (1 - np.cos(turn)) / 2
        side = 1.0 if x1 > x0 else -1.0
        scene.arrow_along(np.column_stack([x, y0 + side * (half + rise * np.sin(turn))]), style)
        return
    up = 1.0 if y1 > y0 else -1.0
    # Two chapters may take from each other: each way has its own line.
    x0, x1 = (x + _ASIDE * up for x in (x0, x1))
    scene.arrow((x0, y0 + up * half), (x1, y1 - up * half), style)


def flow_table(network: Network) -> Markdown:
    """Return what flows between the chapters as a table."""
    lines = ["| from chapter | to chapter | quantities |", "|---|---|---|"]
    for (owner, user), items in sorted(network.flows().items()):
        lines.append(f"| {owner} | {user} | {', '.join(item.name_in_words for item in items)} |")
    return Markdown("\n".join(lines))
