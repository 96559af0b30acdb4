"""Melt between wall and screw in the axial plane, unwrapped and to scale, with its axial speed and where it goes."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.pumping import back_conductance, crossing_share, drag_volume, groove_angle, pump_stiffness
from augerbook.chapters.pumping.models import axial_velocity, gap_means, groove
from augerbook.chapters.screw import core_gap, root_width, tip_gap
from augerbook.chapters.screw.picture import flight_profile
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.screw import crest_width, eccentricity, pitch
from augerbook.head.tube import bore_diameter

OPEN, CLOSED = "nozzle open", "nozzle closed"
_WIDTH, _HEIGHT = 800.0, 440.0
#: The window for the section: left and right end, the wall's lower face, and how deep it may reach.
_LEFT, _RIGHT, _WALL, _DEEPEST = 70.0, 700.0, 372.0, 176.0
_BARS = 88.0
_STATIONS = 8
_NEEDS = (
    bore_diameter, tip_gap, core_gap, crest_width, root_width, pitch, groove_angle, drag_volume, back_conductance,
    crossing_share, pump_stiffness, eccentricity,
)  # fmt: skip


def draw_gap(solution: Solution, state: str = CLOSED) -> Scene:
    """Draw the gap with the melt's axial speed, drawn centred, and below it what goes ahead and what comes back."""
    mm = {q: solution.shown(q) for q in (tip_gap, core_gap, crest_width, root_width, pitch)}
    told = (tip_gap, core_gap, drag_volume, crossing_share, pump_stiffness, eccentricity)
    words = {q: solution.text(q) for q in told}
    closed = state == CLOSED
    what = (
        f"none leaves: as much as goes ahead in the grooves comes back, {words[crossing_share]} of it over the flights"
        if closed
        else "no pressure holds it up: it goes ahead in the grooves, and a little is wiped back over the tips"
    )
    scene = Scene(
        width=_WIDTH,
        height=_HEIGHT,
        title=f"Melt between wall and screw, {state}",
        alt=(
            f"Axial section of the gap to scale, the nozzle to the right, drawn centred: {words[tip_gap]} over the "
            f"tip, {words[core_gap]} over the core. Profiles show the melt's speed along the axis; {what}. The "
            f"figures are for the screw as it lies, {words[eccentricity]} of the gap out of centre: one turn drags "
            f"{words[drag_volume]} ahead."
        ),
    )
    reach = mm[core_gap]
    scale = min((_RIGHT - _LEFT) / (2 * mm[pitch]), _DEEPEST / reach)
    pitches = (_RIGHT - _LEFT) / (mm[pitch] * scale)
    _bodies(scene, mm, scale, pitches)
    _speeds(scene, solution, mm, scale, pitches, closed)
    _dimensions(scene, mm, scale, words)
    _bars(scene, solution, words, closed)
    return scene


def _bodies(scene: Scene, mm: dict[Quantity, float], scale: float, pitches: float) -> None:
    bottom = _WALL - mm[core_gap] * scale - 34
    scene.rectangle((_LEFT, bottom), _RIGHT - _LEFT, _WALL - bottom, "void")
    scene.rectangle((_LEFT, _WALL), _RIGHT - _LEFT, 22, "wall")
    depth = mm[core_gap] - mm[tip_gap]
    outline = flight_profile(0.0, depth, mm[pitch], mm[crest_width], mm[root_width], 0.0, pitches * mm[pitch], 0.25)
    base = _WALL - mm[core_gap] * scale
    corners = outline * scale + np.array([_LEFT, base])
    scene.polygon(np.vstack([corners, [(_RIGHT, bottom), (_LEFT, bottom)]]), "screw")


def _gap_at(mm: dict[Quantity, float], place: np.ndarray) -> np.ndarray:
    """Gap (mm) at places along the axis (mm), a crest at a quarter of each pitch, as the outline has it."""
    step, root = mm[pitch], mm[root_width]
    off = np.abs((place / step - 0.25 + 0.5) % 1.0 - 0.5) * step
    slope = (mm[core_gap] - mm[tip_gap]) / max((root - mm[crest_width]) / 2, 1e-12)
    return np.minimum(mm[core_gap], mm[tip_gap] + np.maximum(0.0, off - mm[crest_width] / 2) * slope)


def _speeds(
    scene: Scene, solution: Solution, mm: dict[Quantity, float], scale: float, pitches: float, closed: bool
) -> None:
    count = max(4, round(_STATIONS * min(pitches, 3.0)))
    place = (np.arange(count) + 0.35) * pitches * mm[pitch] / count
    gap = _gap_at(mm, place)
    part = groove(gap_means(mm[tip_gap], mm[core_gap], mm[crest_width], mm[root_width], mm[pitch]))
    angle = solution[groove_angle]
    sine, cosine = math.sin(angle), math.cos(angle)
    stall = sine * cosine * (part.drag_along - part.drag_across)
    stall /= part.back_along * sine**2 + part.back_across * cosine**2
    height = np.linspace(0.0, 1.0, 25)
    speed = axial_velocity(part, angle, stall if closed else 0.0, gap, height)
    longest = float(np.abs(speed).max())
    if not longest > 0:
        return
    stretch = 0.62 * (_RIGHT - _LEFT) / count / (np.ptp(speed, axis=1).max() or 1.0)
    x = _LEFT + place * scale
    y = _WALL - gap[:, None] * (1.0 - height) * scale
    lines: list[np.ndarray] = []
    shapes: list[np.ndarray] = []
    hole = np.full((1, 2), np.nan)
    for at, rise, profile in zip(x, y, speed, strict=True):
        curve = np.column_stack([at + stretch * profile, rise])
        shapes += [curve, hole]
        lines += [np.array([(at, rise[0]), (at, rise[-1])]), hole]
    scene.polygon(np.vstack(shapes[:-1]), "band")
    scene.path(np.vstack(lines[:-1]), "thin")
    scene.path(np.vstack(shapes[:-1]), "main")


def _dimensions(scene: Scene, mm: dict[Quantity, float], scale: float, words: dict[Quantity, str]) -> None:
    tip, core = (_WALL - mm[q] * scale for q in (tip_gap, core_gap))
    scene.dimension((_RIGHT + 22, core), (_RIGHT + 22, _WALL), f"over core\n{words[core_gap]}", text_at="right")
    scene.line((_RIGHT, core), (_RIGHT + 28, core), "thin")
    first = _LEFT + 0.25 * mm[pitch] * scale
    scene.line((_LEFT - 24, tip), (first - mm[crest_width] * scale / 2, tip), "thin")
    scene.dimension((_LEFT - 18, tip), (_LEFT - 18, _WALL), "", text_at="left")
    scene.label((_LEFT - 62, _WALL + 34), f"over tip {words[tip_gap]}", anchor="start", style="dimension")
    scene.arrow((_RIGHT - 150, _WALL + 44), (_RIGHT - 10, _WALL + 44), "flow", "to the nozzle", "tail")
    scene.label((400, _WALL + 11), "wall: seen from the screw it moves, square to this page", style="small")
    scene.label(((_LEFT + _RIGHT) / 2, _WALL - mm[core_gap] * scale - 18), "screw", style="small")


def _bars(scene: Scene, solution: Solution, words: dict[Quantity, str], closed: bool) -> None:
    long = 390.0
    x = 210.0
    rows = [("one turn drags ahead", 1.0, words[drag_volume], "melt")]
    if closed:
        over = float(solution[crossing_share])
        rows += [("back over the flights", over, words[crossing_share], "soft"),
                 ("back in the groove", 1.0 - over, crossing_share.text(1.0 - over), "grain")]  # fmt: skip
    for row, (name, share, text, style) in enumerate(rows):
        y = _BARS - 32 * row
        scene.label((x - 10, y + 9), name, anchor="end", style="small")
        scene.rectangle((x, y), max(long * share, 1.0), 18, style)
        scene.label((x + long * share + 10, y + 9), text, anchor="start", style="dimension")
    lies = f"drawn centred; figures for the screw as it lies, {words[eccentricity]} of the gap out of centre"
    scene.label((x, _BARS + 36), lies, anchor="start", style="note")
    if closed:
        scene.label((690, _BARS - 55), f"pump stiffness\n{words[pump_stiffness]}", style="strong")


PICTURES = (Picture("Melt between wall and screw", needs=_NEEDS, draw=draw_gap, variants=(CLOSED, OPEN)),)
