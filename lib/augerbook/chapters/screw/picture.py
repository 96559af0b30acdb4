"""The screw in its bore, to scale."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.screw import core_gap, room_leaning, root_width, tip_gap
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene, round_length
from augerbook.head.feedstock import sieve_mesh
from augerbook.head.screw import core_diameter, crest_width, flank_half_angle, major_diameter, pitch
from augerbook.head.tube import bore_diameter

_SHOWN = (
    bore_diameter,
    core_diameter,
    core_gap,
    crest_width,
    major_diameter,
    pitch,
    room_leaning,
    root_width,
    sieve_mesh,
    tip_gap,
)
CENTRED, LEANING = "centred", "leaning on the wall"
#: Width of the window over its height, and height over the bore.
_ASPECT, _HEIGHT = 2.25, 1.75


def flight_profile(
    core: float,
    major: float,
    pitch_: float,
    crest: float,
    root: float,
    start: float,
    end: float,
    phase: float,
) -> NDArray[np.float64]:
    """Return the outline (n, 2) of one side of the screw in its axial plane, from ``start`` to ``end``.

    Radii and lengths in one unit; ``phase`` shifts the flights along the axis by that share of a pitch. Where the
    flanks of neighbours meet above the core, the outline follows the meeting point.
    """
    first = math.floor((start - root) / pitch_ - phase) - 1
    last = math.ceil((end + root) / pitch_ - phase) + 1
    middles = (np.arange(first, last + 1) + phase) * pitch_
    half_root = min(root, pitch_) / 2
    foot = core if root <= pitch_ else major - (major - core) * (pitch_ - crest) / (root - crest)
    z = np.column_stack([middles - half_root, middles - crest / 2, middles + crest / 2, middles + half_root]).ravel()
    r = np.tile([foot, major, major, foot], len(middles))
    inside = np.linspace(start, end, 2)
    grid = np.union1d(z[(z > start) & (z < end)], inside)
    return np.column_stack([grid, np.interp(grid, z, r)])


def screw_outline(
    core: float,
    major: float,
    pitch_: float,
    crest: float,
    root: float,
    start: float,
    end: float,
    *,
    origin: tuple[float, float] = (0.0, 0.0),
) -> NDArray[np.float64]:
    """Return the outline (n, 2) of the screw in its axial plane, from ``start`` to ``end`` along its axis.

    Radii and lengths in one unit, measured from ``origin`` on the axis. A single start brings the flights below half a
    pitch after those above.
    """
    profile = (core, major, pitch_, crest, root, start, end)
    upper, lower = flight_profile(*profile, phase=0.25), flight_profile(*profile, phase=0.75)
    return np.vstack([upper, (lower * (1.0, -1.0))[::-1]]) + np.array(origin)


def draw_screw(solution: Solution, variant: str = CENTRED) -> Scene:
    """Draw the axial section with its gaps dimensioned, the screw centred or leaning on the lower wall."""
    mm = {q: solution.shown(q) for q in _SHOWN}
    bore, major, core = mm[bore_diameter] / 2, mm[major_diameter] / 2, mm[core_diameter] / 2
    step, gap = mm[pitch], mm[tip_gap]
    leaning = variant == LEANING
    axis = -gap if leaning else 0.0
    room = mm[room_leaning] if leaning else mm[core_gap]
    height = _HEIGHT * 2 * bore
    width = _ASPECT * height
    left, right = 0.0, width
    mesh = mm[sieve_mesh]
    fits = mesh <= room
    scene = Scene(
        width=width,
        height=height,
        origin=(left, -height / 2),
        title=f"The screw in its bore, {variant}",
        alt=(
            f"Axial section to scale: bore {2 * bore:.3g} mm, screw {2 * major:.3g} mm over the flights with a core of "
            f"{2 * core:.3g} mm and a pitch of {step:.3g} mm, {variant}. Largest gap between core and wall "
            f"{room:.3g} mm; a grain of {mesh:.3g} mm {'passes' if fits else 'does not pass'} there."
        ),
    )
    wall = 0.16 * 2 * bore
    for y in (bore, -bore - wall):
        scene.rectangle((left, y), width, wall, "wall")
    profile = (core, major, step, mm[crest_width], mm[root_width], left, right)
    scene.polygon(screw_outline(*profile, origin=(0.0, axis)), "screw")
    scene.line((left, axis), (right, axis), "centre")
    fate = "passes" if fits else "jams"
    if not fits and mesh <= mm[room_leaning]:
        fate = "jams unless the screw leans"
    _grain(scene, mesh, fate, step, axis + core, bore, fits=fits)
    _dimensions(scene, mm, axis, room)
    scene.label((0.04 * width, bore + wall + 0.1 * bore), "tube wall", anchor="start", style="note")
    scene.scale_bar(round_length(0.15 * width))
    return scene


def _grain_at(step: float, width: float) -> float:
    """Return where along the axis the grain is drawn: in the middle between two flights."""
    return step * (math.floor(width * 0.30 / step) + 0.75)


def _grain(scene: Scene, mesh: float, fate: str, step: float, floor: float, bore: float, *, fits: bool) -> None:
    middle = _grain_at(step, scene.window[2])
    centre = (middle, bore - mesh / 2) if fits else (middle, floor + mesh / 2)
    scene.circle(centre, mesh / 2, "grain" if fits else "jammed")
    words = f"ball as wide as the mesh, {mesh:.3g} mm: {fate}"
    scene.leader(centre, (middle + min(0.9 * step, 0.1 * scene.window[2]), bore * 1.52), words)


def _dimensions(scene: Scene, mm: dict[Quantity, float], axis: float, room: float) -> None:
    width = scene.window[2]
    bore, major, core, step = mm[bore_diameter] / 2, mm[major_diameter] / 2, mm[core_diameter] / 2, mm[pitch]
    turns = math.floor(width / step)
    floor_at = step * (math.floor(turns * 0.46) + 0.75)
    if floor_at == _grain_at(step, width):  # not over the grain, but in the turn before it or after it
        floor_at += -step if floor_at - step > 0.15 * width else step
    tip_at = step * (math.floor(turns * 0.82) + 0.25)
    scene.dimension((floor_at, axis + core), (floor_at, bore), f"over core {room:.2f} mm", text_at="p")
    above = bore - (axis + major)
    if above > 1e-9:
        scene.dimension((tip_at, axis + major), (tip_at, bore), f"over tip {above:.2f} mm", text_at="right")
    tip_below = step * (math.floor(turns * 0.4) + 0.75)
    ends = [(tip_below, axis - major), (tip_below + step, axis - major)]
    below_wall = 1.5 * bore - (major - axis)
    scene.dimension(ends[0], ends[1], f"pitch {step:.2f} mm", offset=-below_wall)
    left_at = 0.06 * width
    scene.dimension((left_at, axis - core), (left_at, axis + core), f"core {2 * core:.2f} mm", text_at="right")


PICTURES = (
    Picture(
        "The screw in its bore",
        needs=(
            bore_diameter,
            core_diameter,
            major_diameter,
            pitch,
            crest_width,
            flank_half_angle,
            sieve_mesh,
        ),
        draw=draw_screw,
        variants=(CENTRED, LEANING),
        opens=True,
    ),
)
