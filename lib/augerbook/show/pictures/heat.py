"""The head in section with the temperatures of screw, plastic and tube along it, to scale; what is soft is hatched."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.show.picture import Picture
from augerbook.show.pictures.heat_creep import CREEP_PICTURE
from augerbook.show.pictures.screw import flight_profile
from augerbook.show.scene import Scene
from augerbook.show.scene_layout import TextAt
from augerbook.subjects.conveying import cold_length
from augerbook.subjects.heat import (
    HEAD_INPUTS,
    melt_temperature,
    pause_screw_soft_length,
    pause_softened_length,
    pause_tip_temperature,
    screw_soft_length,
    softened_length,
)
from augerbook.subjects.heat_grid import Head
from augerbook.subjects.heat_models import Temperatures, temperatures_of_one
from augerbook.subjects.heat_parts import (
    break_length,
    break_outside_diameter,
    break_start,
    cooler_end,
    cooler_start,
    heated_length,
    set_temperature,
    softening_temperature,
    tube_length,
    tube_outside_diameter,
)
from augerbook.subjects.screw import bore_diameter, core_diameter, crest_width, major_diameter, pitch, root_width

FLOW, PAUSE = "while it prints", "after a long pause"
_WIDTH, _HEIGHT = 800.0, 464.0
#: Where the throat is drawn, how long the head may become, and how thick.
_LEFT, _LONGEST, _THICKEST, _AXIS = 84.0, 640.0, 104.0, 132.0
#: The graph above the section: lowest and highest line, and temperatures between labels.
_BASE, _TOP = 236.0, 444.0
_SECTIONS = (bore_diameter, major_diameter, core_diameter, pitch, crest_width, root_width)
_LENGTHS = (
    tube_outside_diameter, tube_length, heated_length, cooler_start, cooler_end, break_start, break_length,
    break_outside_diameter,
)  # fmt: skip
_CURVES = (("screw", "main"), ("plastic", "second"), ("tube", "third"))


def temperatures_in(solution: Solution, state: str = FLOW) -> Temperatures:
    """Return the temperatures behind a solution's lengths; nothing is computed twice."""
    values = [solution[q] for q in HEAD_INPUTS]
    return temperatures_of_one(Head(*(values if state == FLOW else [*values[:-2], 0.0, 0.0])))


def _lengths(solution: Solution, state: str) -> tuple[Quantity, Quantity, Quantity]:
    if state == FLOW:
        return softened_length, screw_soft_length, melt_temperature
    return pause_softened_length, pause_screw_soft_length, pause_tip_temperature


def draw_head(solution: Solution, state: str = FLOW) -> Scene:
    """Draw the section with its soft parts, and the three temperatures above it."""
    soft_key, screw_key, tip_key = _lengths(solution, state)
    soft, screw_soft = solution[soft_key], solution[screw_key]
    if not (math.isfinite(soft) and math.isfinite(screw_soft)):
        scene = Scene(width=_WIDTH, height=120, title="Temperatures along the head",
                      alt="No temperatures: the screw leaves no room for plastic in the bore.")  # fmt: skip
        return scene.label((400, 60), "The screw leaves no room for plastic in this bore.")
    words = {q: q.text(solution[q]) for q in (soft_key, screw_key, tip_key, tube_length, softening_temperature)}
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
    mm = {q: float(q.shown(solution[q])) for q in (*_SECTIONS, *_LENGTHS)}
    total = mm[tube_length] + mm[heated_length]
    scale = min(_LONGEST / total, _THICKEST / mm[tube_outside_diameter])
    _section(scene, mm, scale, 1e3 * soft, 1e3 * screw_soft)
    _words(scene, mm, scale, (words[soft_key], words[screw_key]), (1e3 * soft, 1e3 * screw_soft))
    _graph(scene, solution, temperatures_in(solution, state), scale, total, words[tip_key])
    return scene


def _section(scene: Scene, mm: dict[Quantity, float], scale: float, soft: float, screw_soft: float) -> None:
    bore, outer = mm[bore_diameter] * scale / 2, mm[tube_outside_diameter] * scale / 2
    block, tip = _LEFT + mm[tube_length] * scale, _LEFT + (mm[tube_length] + mm[heated_length]) * scale
    _cooler(scene, mm, scale, outer)
    _tube(scene, mm, scale, outer)
    scene.rectangle((block, _AXIS - outer - 16), tip - block, 2 * outer + 32, "metal")
    front = block - soft * scale
    for start, end, style in ((_LEFT, front, "grain"), (front, block, "soft"), (block, tip, "melt")):
        if end - start > 0.01:
            scene.rectangle((start, _AXIS - bore), end - start, 2 * bore, style)
    hot = block - screw_soft * scale
    for start, end, style in ((_LEFT, hot, "screw"), (hot, tip, "hot")):
        if end - start > 0.01:
            scene.polygon(_screw(mm, scale, start - _LEFT, end - _LEFT), style)
    scene.line((_LEFT - 20, _AXIS), (tip + 12, _AXIS), "centre")
    scene.arrow((_LEFT - 62, _AXIS), (_LEFT - 6, _AXIS), "flow")


def _tube(scene: Scene, mm: dict[Quantity, float], scale: float, outer: float) -> None:
    """Draw the wall, in three pieces where a thermal break interrupts it."""
    length, neck = mm[tube_length], mm[break_outside_diameter] * scale / 2
    start, end = mm[break_start], min(mm[break_start] + mm[break_length], mm[tube_length])
    if end <= start:
        start = end = length
    for left, right, half, style in ((0.0, start, outer, "wall"), (start, end, neck, "bearing"),
                                     (end, length, outer, "wall")):  # fmt: skip
        if right > left:
            scene.rectangle((_LEFT + left * scale, _AXIS - half), (right - left) * scale, 2 * half, style)
    if end > start:
        middle, top = _LEFT + (start + end) / 2 * scale, _AXIS + outer + 36
        scene.line((middle, _AXIS + neck), (middle, top), "thin")
        scene.label((middle, top + 7), "thermal break", style="small")


def _screw(mm: dict[Quantity, float], scale: float, start: float, end: float) -> np.ndarray:
    core, tip, step, crest, root = (
        x * scale for x in (mm[core_diameter] / 2, mm[major_diameter] / 2, mm[pitch], mm[crest_width], mm[root_width])
    )
    upper, lower = (flight_profile(core, tip, step, crest, root, start, end, phase=p) for p in (0.25, 0.75))
    shift = np.array([_LEFT, _AXIS])
    return np.vstack([upper + shift, (lower * (1.0, -1.0) + shift)[::-1]])


def _cooler(scene: Scene, mm: dict[Quantity, float], scale: float, outer: float) -> None:
    start, end = max(mm[cooler_start], 0.0), min(mm[cooler_end], mm[tube_length])
    if end <= start:
        return
    count = max(2, min(24, round((end - start) * scale / 22)))
    fin = np.array([(0, 0), (5, 0), (5, 22), (0, 22), (np.nan, np.nan)])
    places = np.linspace(_LEFT + start * scale, _LEFT + end * scale - 5, count)
    corners = [(x, y) for x in places for y in (_AXIS + outer, _AXIS - outer - 22)]
    scene.polygon((np.array(corners)[:, None, :] + fin).reshape(-1, 2)[:-1], "void")
    scene.label((_LEFT + start * scale, _AXIS + outer + 29), "cooler", anchor="start", style="small")


def _words(
    scene: Scene, mm: dict[Quantity, float], scale: float, words: Sequence[str], lengths: Sequence[float]
) -> None:
    outer = mm[tube_outside_diameter] * scale / 2
    block = _LEFT + mm[tube_length] * scale
    tip = block + mm[heated_length] * scale
    scene.label(((block + tip) / 2, _AXIS + outer + 26), "block", style="small")
    scene.label((_LEFT - 34, _AXIS + 16), "granules", style="small")
    for row, (name, text, length) in enumerate(zip(("plastic soft", "screw soft"), words, lengths, strict=True)):
        y = _AXIS - outer - 40 - 26 * row
        if length * scale < 2:
            scene.label((block - 8, y), f"{name}: none of the tube", anchor="end", style="dimension")
        else:
            long, front = length * scale, block - length * scale
            beside: TextAt = "auto" if long > 190 else "q" if front > 165 else "p"
            scene.dimension((block, y), (front, y), f"{name} {text}", text_at=beside)


def _graph(scene: Scene, solution: Solution, found: Temperatures, scale: float, total: float, tip_text: str) -> None:
    shown = {name: set_temperature.shown(getattr(found, name)[0]) for name, _ in _CURVES}
    soften, set_to = (float(q.shown(solution[q])) for q in (softening_temperature, set_temperature))
    highest = max(50.0 * math.ceil(max(set_to, *(float(t.max()) for t in shown.values())) / 50), 100.0)
    step = 50 if highest <= 250 else 100
    end = _LEFT + total * scale

    def height(t: np.ndarray | float) -> np.ndarray | float:
        return _BASE + (_TOP - _BASE) * t / highest

    lines: list[tuple[float, float]] = []
    for t in range(0, int(highest) + 1, step):
        y = float(height(t))
        lines += [(_LEFT, y), (end, y), (np.nan, np.nan)]
        scene.label((_LEFT - 8, y), f"{t} °C", anchor="end", style="small")
    scene.path(lines[:-1], "faint")
    places = _LEFT + 1e3 * found.place[0] * scale
    scene.line((_LEFT, float(height(soften))), (end, float(height(soften))), "limit")
    block = _LEFT + 1e3 * solution[tube_length] * scale
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
            *_SECTIONS, *_LENGTHS, set_temperature, softening_temperature, softened_length, screw_soft_length,
            melt_temperature, pause_softened_length, pause_screw_soft_length, pause_tip_temperature, cold_length,
        ),
        draw=draw_head,
        variants=(FLOW, PAUSE),
    ),
    CREEP_PICTURE,
)  # fmt: skip
