"""The dimensioned drawing of a build for the bench: head, screw and plate, each to scale, each size the build's own."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from augerbook.builds.build import Build
from augerbook.builds.estimates import estimated_values
from augerbook.chapters.heat.section import SECTION_NEEDS, HeadSection
from augerbook.chapters.screw import core_gap, root_width, tip_gap
from augerbook.chapters.screw.picture import screw_outline
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import undrawable
from augerbook.draw.scene import Scene, round_length
from augerbook.draw.style import text_width
from augerbook.head.bearing import bearing, bearing_bore, bearing_outside_diameter, bearing_width
from augerbook.head.heating import heated_length
from augerbook.head.nozzle import nozzle_diameter
from augerbook.head.plate import plate_span, plate_thickness
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch
from augerbook.head.tube import bore_diameter, tube_length, tube_outside_diameter
from augerbook.page.parts_list import size_text

_WIDTH = 800.0
#: Heights of both rows of views, and of the line of text above each.
_HEAD_ROW, _LOWER_ROW, _HEADING = 204.0, 240.0, 24.0
#: The head: where its throat is drawn, how long and how thick it may become, the nozzle beyond it.
_LEFT, _LONGEST, _THICKEST, _NOZZLE = 150.0, 430.0, 84.0, 34.0
#: The screw in its bore: from where to where, and how high its bore is.
_SCREW_LEFT, _SCREW_RIGHT, _BORE, _WALL = 160.0, 430.0, 120.0, 16.0
#: The plate: its middle, how high it may become, how far it may go to the right.
_PLATE_AT, _PLATE_TALL, _PLATE_WIDE = 656.0, 136.0, 50.0
#: Where the headings of the lower row begin, and how long a bar of the scale may be.
_LEFT_HEADING, _RIGHT_HEADING, _BAR = 12.0, 540.0, 40.0


class _Sizes:
    """The sizes of a build, as lengths for the drawing and as words on it."""

    def __init__(self, build: Build) -> None:
        self._build, self._guessed = build, estimated_values(build)

    def __getitem__(self, quantity: Quantity) -> float:
        return float(self._build.solution.shown(quantity))

    def text(self, name: str, quantity: Quantity) -> str:
        """Say a size under a name; one that nobody measured has a sign before it."""
        given = quantity in self._build.values
        words = size_text(self._build, quantity) if given else self._build.solution.text(quantity)
        return f"{name} {'≈ ' if quantity in self._guessed else ''}{words}"


@dataclass(frozen=True)
class _View:
    """One of the views: its name, what it needs, and how it is drawn above a height."""

    name: str
    needs: tuple[Quantity, ...]
    draw: Callable[[Scene, Build, float], None]

    def lacking(self, build: Build) -> str:
        """Say what is needed to draw it, empty when nothing lacks."""
        return build.solution.why_missing(*self.needs)


def bench_drawing(build: Build) -> tuple[Scene | None, list[str]]:
    """Return the drawing with all views that the build knows enough for, and a sentence for each of the others.

    Raises:
        UndrawableError: a size has no value; the message says it in plain words.
    """
    lacking = {view.name: view.lacking(build) for view in _VIEWS}
    sentences = [f"The {name} is not drawn: {words}." for name, words in lacking.items() if words]
    shown = [view for view in _VIEWS if not lacking[view.name]]
    if not shown:
        return None, sentences
    lower = _LOWER_ROW if set(shown) & set(_VIEWS[1:]) else 0.0
    upper = _HEAD_ROW if _VIEWS[0] in shown else 0.0
    scene = Scene(width=_WIDTH, height=lower + upper, alt=_words(build, shown))
    for view in shown:
        try:
            view.draw(scene, build, lower if view is _VIEWS[0] else 0.0)
        except (ValueError, ArithmeticError) as error:
            raise undrawable(build.solution, view.needs) from error
    return scene, sentences


def _words(build: Build, shown: list[_View]) -> str:
    sizes, told = _Sizes(build), {
        bore_diameter: "bore", major_diameter: "screw outside", core_diameter: "screw core", pitch: "pitch",
        tube_outside_diameter: "tube outside", tube_length: "tube length", heated_length: "heated length",
        nozzle_diameter: "nozzle", plate_thickness: "plate thickness", plate_span: "plate span",
    }  # fmt: skip
    needed = {quantity for view in shown for quantity in view.needs}
    words = ", ".join(sizes.text(name, quantity) for quantity, name in told.items() if quantity in needed)
    return f"Dimensioned drawing of the {', the '.join(view.name for view in shown)}: {words}."


def _head(scene: Scene, build: Build, floor: float) -> None:
    """Draw tube, block and nozzle along the axis."""
    sizes = _Sizes(build)
    axis = floor + 0.52 * (_HEAD_ROW - _HEADING)
    section = HeadSection.of(build.solution, left=_LEFT, axis=axis, longest=_LONGEST, thickest=_THICKEST)
    outer, block, tip = section.outer, section.block, section.tip
    end, hole = tip + _NOZZLE, max(sizes[nozzle_diameter] * section.scale / 2, 1.0)
    for side in (1, -1):
        cone = [(tip, section.bore), (tip, 0.9 * outer), (end - 8, 3 * hole + 4), (end, 3 * hole + 4), (end, hole)]
        scene.polygon([(x, axis + side * y) for x, y in cone], "metal")
    section.draw(scene, ((section.left, tip, "void"),), ((section.left, tip, "screw"),))
    scene.dimension((_LEFT, axis - outer), (_LEFT, axis + outer), sizes.text("tube Ø", tube_outside_diameter),
                    offset=84, text_at="q")  # fmt: skip
    below = axis - outer - 46
    for start, stop, name, quantity in (
        (section.left, block, "tube length", tube_length),
        (block, tip, "heated", heated_length),
    ):
        scene.dimension((start, below), (stop, below), sizes.text(name, quantity))
    for x, y in ((section.left, outer), (block, outer + 16), (tip, outer + 16)):
        scene.line((x, axis - y - 3), (x, below - 4), "thin")
    scene.leader((end, axis), (end + 22, axis + 30), sizes.text("nozzle Ø", nozzle_diameter))
    scene.label((block + 4, axis + outer + 28), "heated block", "start", "small")
    _heading(scene, _LEFT_HEADING, floor + _HEAD_ROW, "Head along its axis", section.scale)


def _screw(scene: Scene, build: Build, floor: float) -> None:
    """Draw a few turns of the screw in its bore, larger than on the head."""
    sizes = _Sizes(build)
    scale = _BORE / sizes[bore_diameter]
    bore, major, core = (sizes[q] * scale / 2 for q in (bore_diameter, major_diameter, core_diameter))
    step, axis = sizes[pitch] * scale, floor + 0.5 * (_LOWER_ROW - _HEADING) + 2
    left, right = _SCREW_LEFT, _SCREW_RIGHT
    for y in (axis + bore, axis - bore - _WALL):
        scene.rectangle((left, y), right - left, _WALL, "wall")
    lengths = (core, major, step, sizes[crest_width] * scale, sizes[root_width] * scale)
    scene.polygon(screw_outline(*lengths, 0.0, right - left, origin=(left, axis)), "screw")
    scene.line((left - 8, axis), (right + 8, axis), "centre")
    scene.dimension((left, axis - bore), (left, axis + bore), sizes.text("bore Ø", bore_diameter), 24, "left")
    scene.dimension((right, axis - major), (right, axis + major), sizes.text("screw Ø", major_diameter), -24, "right")
    at = left + 0.06 * (right - left)
    scene.dimension((at, axis - core), (at, axis + core), sizes.text("core Ø", core_diameter), text_at="right")

    def turn(share: float, phase: float) -> float:
        """Return where, near a share of the length, a crest or the floor between two crests is."""
        return left + step * (math.floor(share * (right - left) / step) + phase)

    if (floor_at := turn(0.8, 0.75)) < right:
        scene.dimension(
            (floor_at, axis + core), (floor_at, axis + bore), sizes.text("over core", core_gap), text_at="q"
        )
    if (tip_at := turn(0.3, 0.25)) < right and bore - major > 1e-9:
        scene.dimension((tip_at, axis + major), (tip_at, axis + bore), sizes.text("over tip", tip_gap), text_at="q")
    first = turn(0.45, 0.75)
    if first + step < right:
        scene.dimension((first, axis - major), (first + step, axis - major), sizes.text("pitch", pitch),
                        offset=-(bore - major + _WALL + 16))  # fmt: skip
    _heading(scene, _LEFT_HEADING, floor + _LOWER_ROW, "Screw in its bore, centred", scale)


def _plate(scene: Scene, build: Build, floor: float) -> None:
    """Draw the plate from its side, with the bearing on it."""
    sizes = _Sizes(build)
    outside, wide, thick = sizes[bearing_outside_diameter], sizes[bearing_width], sizes[plate_thickness]
    scale = min(_PLATE_TALL / max(sizes[plate_span], outside), _PLATE_WIDE / (thick + wide))
    axis, face = floor + 0.5 * (_LOWER_ROW - _HEADING) + 8, _PLATE_AT + thick * scale
    half, hole = sizes[plate_span] * scale / 2, sizes[bearing_bore] * scale / 2
    for side in (1, -1):
        y = axis + (hole if side > 0 else -half)
        scene.rectangle((_PLATE_AT, y), thick * scale, half - hole, "plate")
        y = axis + (hole if side > 0 else -outside * scale / 2)
        scene.rectangle((face, y), wide * scale, outside * scale / 2 - hole, "bearing")
    scene.line((_PLATE_AT - 12, axis), (face + wide * scale + 12, axis), "centre")
    scene.dimension((_PLATE_AT, axis - half), (_PLATE_AT, axis + half), sizes.text("span", plate_span), 22, "q")
    scene.dimension((_PLATE_AT, axis - half), (face, axis - half), sizes.text("thick", plate_thickness), -18, "p")
    named = f"\n{build.names[bearing]}" if bearing in build.names else ""
    corner = (face + wide * scale, axis + 0.4 * outside * scale)
    scene.leader(corner, (corner[0] + 14, corner[1] + 16), f"bearing{named}")
    _heading(scene, _RIGHT_HEADING, floor + _LOWER_ROW, "Bearing plate", scale)


def _heading(scene: Scene, x: float, top: float, words: str, scale: float) -> None:
    """Write the name of a view, and a bar that tells its scale."""
    scene.label((x, top - 12), words, "start", "strong")
    length = round_length(_BAR / scale)
    bar = x + text_width(words, "strong") + 14
    scene.rectangle((bar, top - 15), length * scale / 2, 5, "solid_ink")
    scene.rectangle((bar + length * scale / 2, top - 15), length * scale / 2, 5, "solid_paper")
    scene.label((bar + length * scale + 6, top - 12), f"{length:g} mm", "start", "small")


_VIEWS = (
    _View("head", (*SECTION_NEEDS, nozzle_diameter), _head),
    _View(
        "screw in its bore",
        (bore_diameter, major_diameter, core_diameter, pitch, crest_width, root_width, core_gap, tip_gap),
        _screw,
    ),
    _View(
        "bearing plate",
        (plate_thickness, plate_span, bearing_bore, bearing_outside_diameter, bearing_width),
        _plate,
    ),
)
