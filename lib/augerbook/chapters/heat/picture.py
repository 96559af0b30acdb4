"""The head in section with the temperatures of screw, plastic and tube along it, to scale; what is soft is hatched."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from augerbook.chapters.conveying import cold_length
from augerbook.chapters.heat import (
    HEAD_INPUTS,
    melt_temperature,
    pause_screw_soft_length,
    pause_softened_length,
    pause_tip_temperature,
    screw_soft_length,
    softened_length,
)
from augerbook.chapters.heat.budget import BUDGET_PICTURE, FLOW, PAUSE
from augerbook.chapters.heat.creep_graphs import CREEP_PICTURE
from augerbook.chapters.heat.grid import Head
from augerbook.chapters.heat.models import Temperatures, temperatures_of_one
from augerbook.chapters.heat.section import SECTION_NEEDS, HeadSection
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.draw.scene_layout import TextAt
from augerbook.head.heating import set_temperature
from augerbook.head.plastic import softening_temperature
from augerbook.head.tube import tube_length

_WIDTH, _HEIGHT = 800.0, 464.0
#: Where the throat is drawn, how long the head may become, and how thick.
_LEFT, _LONGEST, _THICKEST, _AXIS = 84.0, 640.0, 104.0, 132.0
#: The graph above the section: lowest and highest line, and temperatures between labels.
_BASE, _TOP = 236.0, 444.0
_CURVES = (("screw", "main"), ("plastic", "second"), ("tube", "third"))


def temperatures_in(solution: Solution, state: str = FLOW) -> Temperatures:
    """Return the temperatures behind a solution's lengths; nothing is computed twice."""
    values = [solution[q] for q in HEAD_INPUTS]
    return temperatures_of_one(Head(*(values if state == FLOW else [*values[:-2], 0.0, 0.0])))


def _lengths(state: str) -> tuple[Quantity, Quantity, Quantity]:
    if state == FLOW:
        return softened_length, screw_soft_length, melt_temperature
    return pause_softened_length, pause_screw_soft_length, pause_tip_temperature


def draw_head(solution: Solution, state: str = FLOW) -> Scene:
    """Draw the section with its soft parts, and the three temperatures above it."""
    soft_key, screw_key, tip_key = _lengths(state)
    soft, screw_soft = solution[soft_key], solution[screw_key]
    if not (math.isfinite(soft) and math.isfinite(screw_soft)):
        scene = Scene(width=_WIDTH, height=120, title="Temperatures along the head",
                      alt="No temperatures: the screw leaves no room for plastic in the bore.")  # fmt: skip
        return scene.label((400, 60), "The screw leaves no room for plastic in this bore.")
    words = {q: solution.text(q) for q in (soft_key, screw_key, tip_key, tube_length, softening_temperature)}
    scene = Scene(
        width=_WIDTH,
        height=_HEIGHT,
        title=f"Temperatures along the head, {state}",
        alt=(
            f"Section of the head to scale, granules enter at the left, the heated block is at the right. "
            f"Of {words[tube_length]} of tube the plastic is soft (above {words[softening_temperature]}) over "
            f"{words[soft_key]} before the block, the screw over {words[screw_key]}. Above it the temperatures of "
            f"screw, plastic and tube, which rise towards the block; at the screw's tip the plastic has "
            f"{words[tip_key]}."
        ),
    )
    section = HeadSection.of(solution, left=_LEFT, axis=_AXIS, longest=_LONGEST, thickest=_THICKEST)
    _section(scene, section, 1e3 * soft, 1e3 * screw_soft)
    _words(scene, section, (words[soft_key], words[screw_key]), (1e3 * soft, 1e3 * screw_soft))
    _graph(scene, solution, temperatures_in(solution, state), section, words[tip_key])
    return scene


def _section(scene: Scene, section: HeadSection, soft: float, screw_soft: float) -> None:
    front, hot = section.block - soft * section.scale, section.block - screw_soft * section.scale
    section.draw(
        scene,
        ((section.left, front, "grain"), (front, section.block, "soft"), (section.block, section.tip, "melt")),
        ((section.left, hot, "screw"), (hot, section.tip, "hot")),
    )


def _words(scene: Scene, section: HeadSection, words: Sequence[str], lengths: Sequence[float]) -> None:
    outer, block = section.outer, section.block
    scene.label(((block + section.tip) / 2, _AXIS + outer + 26), "block", style="small")
    scene.label((_LEFT - 34, _AXIS + 16), "granules", style="small")
    for row, (name, text, length) in enumerate(zip(("plastic soft", "screw soft"), words, lengths, strict=True)):
        y = _AXIS - outer - 40 - 26 * row
        if length * section.scale < 2:
            scene.label((block - 8, y), f"{name}: none of the tube", anchor="end", style="dimension")
        else:
            long, front = length * section.scale, block - length * section.scale
            beside: TextAt = "auto" if long > 190 else "q" if front > 165 else "p"
            scene.dimension((block, y), (front, y), f"{name} {text}", text_at=beside)


def _graph(scene: Scene, solution: Solution, found: Temperatures, section: HeadSection, tip_text: str) -> None:
    shown = {name: set_temperature.shown(getattr(found, name)[0]) for name, _ in _CURVES}
    soften, set_to = (solution.shown(q) for q in (softening_temperature, set_temperature))
    highest = max(50.0 * math.ceil(max(set_to, *(float(t.max()) for t in shown.values())) / 50), 100.0)
    step = 50 if highest <= 250 else 100
    end, block = section.tip, section.block

    def height(t: np.ndarray | float) -> np.ndarray | float:
        return _BASE + (_TOP - _BASE) * t / highest

    lines: list[tuple[float, float]] = []
    for t in range(0, int(highest) + 1, step):
        y = float(height(t))
        lines += [(_LEFT, y), (end, y), (np.nan, np.nan)]
        scene.label((_LEFT - 8, y), f"{t} °C", anchor="end", style="small")
    scene.path(lines[:-1], "faint")
    places = _LEFT + 1e3 * found.place[0] * section.scale
    scene.line((_LEFT, float(height(soften))), (end, float(height(soften))), "limit")
    scene.line((block, _BASE), (block, _TOP), "thin")
    for name, style in _CURVES:
        scene.path(np.column_stack([places, height(shown[name])]), style)
    scene.label((_LEFT + 8, float(height(soften)) + 11), f"softens at {soften:.0f} °C", anchor="start", style="small")
    for row, (name, style) in enumerate(_CURVES):
        y = _TOP - 14 - 20 * row
        scene.line((_LEFT + 10, y), (_LEFT + 46, y), style)
        scene.label((_LEFT + 54, y), name, anchor="start", style="small")
    scene.leader(
        (float(places[-1]), float(height(float(shown["plastic"][-1])))),
        (end - 40, _BASE + 36),
        f"at the tip {tip_text}",
    )


PICTURES = (
    Picture(
        "Temperatures along the head",
        needs=(
            *SECTION_NEEDS, set_temperature, softening_temperature, softened_length, screw_soft_length,
            melt_temperature, pause_softened_length, pause_screw_soft_length, pause_tip_temperature, cold_length,
        ),
        draw=draw_head,
        variants=(FLOW, PAUSE),
    ),
    CREEP_PICTURE,
    BUDGET_PICTURE,
)  # fmt: skip
