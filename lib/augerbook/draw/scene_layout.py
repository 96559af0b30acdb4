"""From drawing ideas (dimension, arrow, block of text) to plain shapes in picture units, y downwards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from augerbook.draw.style import LOOKS, TEXTS, Anchor, text_look, text_width

Floats = npt.NDArray[np.float64]
TextAt = Literal["auto", "p", "q", "left", "right"]
ArrowTextAt = Literal["tail", "tip", "middle"]

TITLE_STRIP = 34.0
LINE_HEIGHT = 1.25
# Share of the text size from the middle of a line of text down to its baseline.
BASELINE = 0.36

_HEAD = 10.0
_HEAD_HALF = 2.9
_TAIL = 16.0
_WITNESS_GAP = 3.0
_WITNESS_OVER = 4.0
_TEXT_GAP = 6.0


@dataclass(frozen=True, slots=True)
class Outline:
    """An open or closed path: (n, 2) picture coordinates; a row of NaN starts a new part."""

    points: Floats
    style: str
    closed: bool


@dataclass(frozen=True, slots=True)
class Circles:
    """Circles of one style: centres (n, 2) and radii (n,) in picture units."""

    centres: Floats
    radii: Floats
    style: str


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text with its baseline at (x, y)."""

    x: float
    y: float
    text: str
    style: str
    anchor: Anchor


Shape = Outline | Circles | Text


@dataclass(frozen=True, slots=True)
class Sheet:
    """A finished picture: its shapes in order, its height in picture units, its title and its words."""

    shapes: tuple[Shape, ...]
    height: float
    title: str
    alt: str


def text_block(x: float, y: float, text: str, style: str, anchor: Anchor) -> list[Shape]:
    """Lines of text, one below the other, whose block is centred at height y."""
    size = text_look(style).size
    lines = text.split("\n")
    first = y + size * (BASELINE - (len(lines) - 1) / 2 * LINE_HEIGHT)
    return [Text(x, first + row * size * LINE_HEIGHT, line, style, anchor) for row, line in enumerate(lines)]


def block_size(text: str, style: str) -> tuple[float, float]:
    """Estimated width and height of a block of text."""
    lines = text.split("\n")
    height = text_look(style).size * (1 + (len(lines) - 1) * LINE_HEIGHT)
    return max(text_width(line, style) for line in lines), height


def text_beyond(point: Floats, direction: Floats, text: str, style: str) -> list[Shape]:
    """Text next to `point` on the side that the unit vector `direction` shows, clear of it."""
    if not text:
        return []
    _, height = block_size(text, style)
    if abs(direction[0]) > 0.5:
        anchor: Anchor = "start" if direction[0] > 0 else "end"
        x = point[0] + math.copysign(_TEXT_GAP, direction[0])
        return text_block(x, point[1] + direction[1] * (height / 2 + 2), text, style, anchor)
    y = point[1] + math.copysign(height / 2 + _TEXT_GAP - 1, direction[1])
    return text_block(point[0], y, text, style, "middle")


def head(
    tip: Floats,
    direction: Floats,
    style: str,
    length: float = _HEAD,
    half: float = _HEAD_HALF,
) -> Outline:
    """A filled arrowhead that points along the unit vector `direction` and ends at `tip`."""
    side = np.array([-direction[1], direction[0]])
    base = tip - length * direction
    return Outline(np.array([tip, base + half * side, base - half * side]), style, closed=True)


def _segment(start: Floats, end: Floats, style: str) -> Outline:
    return Outline(np.array([start, end]), style, closed=False)


def dimension_shapes(p: Floats, q: Floats, text: str, offset: float, text_at: TextAt) -> list[Shape]:
    """A dimension from p to q, its line shifted by `offset` to the left of p -> q (as the reader sees it).

    Arrows stand inside when there is room for them, else outside; the text breaks the line when it fits,
    else it stands beyond q, or where `text_at` puts it.
    """
    span = float(np.hypot(*(q - p)))
    along = (q - p) / span if span > 1e-9 else np.array([1.0, 0.0])
    left = np.array([along[1], -along[0]])
    a, b = p + offset * left, q + offset * left
    shapes: list[Shape] = []
    if abs(offset) > _WITNESS_GAP:
        outwards = math.copysign(1.0, offset) * left
        for start, end in ((p, a), (q, b)):
            shapes.append(_segment(start + _WITNESS_GAP * outwards, end + _WITNESS_OVER * outwards, "thin"))

    width, height = block_size(text, "dimension")
    # how much of the line the level text covers: up to where the line leaves the text's box
    covered = min((width + 8) / max(abs(along[0]), 1e-9), (height + 8) / max(abs(along[1]), 1e-9))
    shaft = 0.7 * _HEAD * along
    middle = (a + b) / 2
    inside = span >= 3 * _HEAD
    on_line = inside and text_at == "auto" and bool(text) and span >= covered + 2 * _HEAD + 4
    if on_line:
        gap = covered / 2 * along
        shapes.append(_segment(a + shaft, middle - gap, "dimension"))
        shapes.append(_segment(middle + gap, b - shaft, "dimension"))
    elif inside:
        shapes.append(_segment(a + shaft, b - shaft, "dimension"))
    else:
        tail = (_HEAD + _TAIL) * along
        shapes += [
            _segment(a - tail, a - shaft, "dimension"),
            _segment(a, b, "dimension"),
            _segment(b + shaft, b + tail, "dimension"),
        ]
    turn = 1.0 if inside else -1.0
    shapes += [head(a, -turn * along, "dimension_head"), head(b, turn * along, "dimension_head")]
    reach = 0.0 if inside else _HEAD + _TAIL

    if text_at in ("left", "right"):
        shapes += text_beyond(middle, np.array([-1.0 if text_at == "left" else 1.0, 0.0]), text, "dimension")
    elif on_line:
        shapes += text_block(middle[0], middle[1], text, "dimension", "middle")
    elif text_at == "p":
        shapes += text_beyond(a - reach * along, -along, text, "dimension")
    else:
        shapes += text_beyond(b + reach * along, along, text, "dimension")
    return shapes


def arrow_shapes(points: Floats, style: str, text: str, text_at: ArrowTextAt) -> list[Shape]:
    """An arrow along an (n, 2) path, from the first point to the last, with its text."""
    head_style = f"{style}_head" if f"{style}_head" in LOOKS else "dimension_head"
    text_style = style if style in TEXTS else "label"
    steps = np.hypot(*np.diff(points, axis=0).T)
    total = float(steps.sum())
    if total < 1e-9:
        return text_beyond(points[-1], np.array([0.0, -1.0]), text, text_style)
    stroke = LOOKS[style].width
    length = min(8 + 3.2 * stroke, total)
    half = length * 0.36

    # The shaft ends inside the head, and the head points from there to the tip: it sits well on a bend.
    walked = np.concatenate(([0.0], np.cumsum(steps)))

    def at(distance: float) -> Floats:
        return np.array([np.interp(distance, walked, points[:, axis]) for axis in (0, 1)])

    tip, base = points[-1], at(total - length)
    towards = (tip - base) / max(float(np.hypot(*(tip - base))), 1e-9)
    shaft_end = total - 0.8 * length
    shaft = np.vstack([points[walked < shaft_end], at(shaft_end)])
    shapes: list[Shape] = [Outline(shaft, style, closed=False), head(tip, towards, head_style, length, half)]
    if text_at == "tail":
        moving = np.flatnonzero(steps > 1e-9)[0]
        away = (points[moving] - points[moving + 1]) / steps[moving]
        shapes += text_beyond(points[0], away, text, text_style)
    elif text_at == "tip":
        shapes += text_beyond(tip, towards, text, text_style)
    elif text:
        centre = at(total / 2)
        shapes += text_block(centre[0], centre[1], text, text_style, "middle")
    return shapes
