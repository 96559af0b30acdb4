"""The load path of the whole head, from the nozzle to the plate and back through the frame, with its springs."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.bearing import bearing_stiffness, end_play
from augerbook.chapters.plate import (
    plate_deflection,
    plate_stiffness,
    screw_dip,
    screw_stiffness,
    springback_over_retraction,
    springback_volume,
)
from augerbook.chapters.plate.models import OVERHANG
from augerbook.chapters.screw import root_width
from augerbook.chapters.screw.picture import flight_profile
from augerbook.chapters.thrust import nozzle_pressure, running_thrust
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.core.units import number
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene, round_length
from augerbook.head.bearing import bearing_bore, bearing_outside_diameter, bearing_width
from augerbook.head.drive import coupling_stiffness
from augerbook.head.plate import (
    CLAMPED,
    FOUR_BOLTS,
    FOUR_CLAMPED,
    FOUR_POSTS,
    LOOSE_CLAMPED,
    LOOSE_SUPPORTED,
    SUPPORTED,
    TWO_EDGES,
    bolt_head_diameter,
    frame_stiffness,
    plate_span,
    plate_support,
    plate_thickness,
    seat_diameter,
)
from augerbook.head.screw import core_diameter, crest_width, flighted_length, major_diameter, pitch
from augerbook.head.tube import bore_diameter

_SIZES = (
    bearing_bore,
    bearing_outside_diameter,
    bearing_width,
    bore_diameter,
    core_diameter,
    crest_width,
    flighted_length,
    major_diameter,
    pitch,
    plate_span,
    plate_thickness,
    root_width,
    seat_diameter,
)
#: The springs in series, from the melt to the melt, with the name under each.
_SPRINGS = (
    (screw_stiffness, "screw"),
    (coupling_stiffness, "joint"),
    (bearing_stiffness, "bearing"),
    (plate_stiffness, "plate"),
    (frame_stiffness, "frame"),
)
#: Sizes of the drawing of the head and of the strip with the springs, in picture units.
_DRAWING, _STRIP, _LONGEST, _TALLEST = 372.0, 178.0, 690.0, 300.0
#: What is too small to see is drawn this many times larger, the largest that fits; largest drawn bow over the span.
_MAGNIFIED = (10_000, 3000, 1000, 300, 100, 30, 10, 3)
_BOW = 0.08
#: Rim beyond the supports and thickness of what holds it, over the span.
_RIM, _BLOCK = 0.12, 0.10
#: Plates whose rim is held flat all round, and those that tilt under the bearing.
_HELD_RIM, _TILTS = (CLAMPED, LOOSE_CLAMPED, FOUR_CLAMPED), (LOOSE_CLAMPED, LOOSE_SUPPORTED)


def draw_load_path(solution: Solution) -> Scene:
    """Draw the head cut along its axis to scale, nozzle on the right, and its springs in series below."""
    mm = {q: solution.shown(q) for q in _SIZES}
    kind = support_of(solution)
    bore, long, span = mm[bore_diameter], mm[flighted_length], mm[plate_span]
    neck, collar = 0.8 * bore, 0.16 * mm[bearing_outside_diameter]
    face = -long - neck - collar - mm[bearing_width]
    left, right = face - mm[plate_thickness] - 2.2 * _BLOCK * span, 2.4 * bore
    tall = max(span * (1 + 2 * _RIM) + 6, mm[bearing_outside_diameter], 2 * bore)
    unit = max((right - left) / _LONGEST, tall / _TALLEST)
    scene = Scene(
        width=800 * unit,
        height=(_DRAWING + _STRIP) * unit,
        origin=((left + right) / 2 - 410 * unit, -(_DRAWING / 2 + _STRIP) * unit),
        title="The load path from nozzle to plate",
        alt=_words(solution, mm, kind),
    )
    times, bow = _magnified(solution.shown(plate_deflection) / 1000, _BOW * span)
    rod = _frame_and_supports(scene, mm, solution, kind, face)
    _plate(scene, mm, kind, face, bow)
    _bearing(scene, mm, face - bow)
    _tube_and_melt(scene, mm)
    _screw(scene, mm, face - bow + mm[bearing_width], collar)
    _arrows_and_words(scene, mm, solution, (face, rod, _edge(mm, kind)))
    drawn = f", drawn {times} times larger" if times > 1 and bow > 0 else ""
    top = scene.window[1] + scene.window[3] - 26 * unit
    bend = f"plate bends {solution.text(plate_deflection)}{drawn}"
    scene.label((scene.window[0] + 16 * unit, top), bend, "start")
    held = f"{kind}: {mm[plate_thickness]:.3g} mm over {mm[plate_span]:.3g} mm"
    scene.label((scene.window[0] + 784 * unit, top), held, "end")
    _springs(scene, solution)
    return scene


def support_of(solution: Solution) -> str:
    """Return how the plate of a solution is held; a rim that rests where its stiffness is given and nothing is said."""
    return solution.choices.get(plate_support, SUPPORTED)


def _words(solution: Solution, mm: dict[Quantity, float], kind: str) -> str:
    springs = ", ".join(f"{name} {solution.text(q)}" for q, name in _SPRINGS)
    return (
        f"Head cut along its axis, to scale. Melt at {solution.text(nozzle_pressure)} presses on the bore of "
        f"{mm[bore_diameter]:g} mm; the thrust of {solution.text(running_thrust)} goes through screw and bearing "
        f"into a plate {mm[plate_thickness]:g} mm thick over {mm[plate_span]:g} mm ({kind}), and back "
        f"through the frame to the tube. Springs in series: {springs}; end play {solution.text(end_play)}. When the "
        f"thrust is released the screw springs forward by {solution.text(screw_dip)} and pushes out up to "
        f"{solution.text(springback_volume)}, {solution.text(springback_over_retraction)} of the retraction."
    )


def _magnified(length: float, room: float) -> tuple[int, float]:
    """Return how many times a small length is drawn larger, and how long that is; nothing for no figure."""
    if not math.isfinite(length):
        return 1, 0.0
    times = next((m for m in _MAGNIFIED if m * length <= room), 1)
    return times, min(times * length, room)


def _both(scene: Scene, x: float, y: float, width: float, height: float, style: str) -> None:
    """Draw a rectangle above the axis and its mirror image below it."""
    scene.rectangle((x, y), width, height, style)
    scene.rectangle((x, -y - height), width, height, style)


def _edge(mm: dict[Quantity, float], kind: str) -> float:
    """Half the height of the plate as drawn."""
    beyond = {**dict.fromkeys(_HELD_RIM, _RIM), FOUR_BOLTS: OVERHANG, FOUR_POSTS: OVERHANG}.get(kind, 0.03)
    return mm[plate_span] * (0.5 + beyond)


def _frame_and_supports(scene: Scene, mm: dict[Quantity, float], solution: Solution, kind: str, face: float) -> float:
    """Draw what holds the plate and leads back to the tube; return how far from the axis the frame pulls."""
    span, back = mm[plate_span], face - mm[plate_thickness]
    half, block = span / 2, _BLOCK * span
    flange, wide = -0.22 * mm[flighted_length], 0.06 * mm[flighted_length]
    outside = 0.78 * mm[bore_diameter]
    if kind in (FOUR_BOLTS, FOUR_POSTS):
        known = kind == FOUR_BOLTS and bolt_head_diameter in solution.values
        bolt = solution.shown(bolt_head_diameter) if known else 0.08 * span
        start, middle, thick = face, half, bolt * (0.6 if known else 0.5)
        _both(scene, back - 0.5 * block, half - bolt / 2, 0.5 * block, bolt, "wall")
        if known:
            _both(scene, face, half - bolt / 2, 0.5 * block, bolt, "wall")
            start = face + 0.5 * block
    elif kind in _HELD_RIM:
        _both(scene, face, half, block, _RIM * span, "wall")
        _both(scene, back - block, half, block, _RIM * span, "wall")
        start, middle, thick = face + block, half + 0.62 * _RIM * span, 0.45 * _RIM * span
    else:
        start, middle, thick = back - block, half + 0.075 * span, 0.05 * span
        _both(scene, back - 1.5 * block, half - 0.06 * span, 0.9 * block, 0.16 * span, "wall")
        for side in (1, -1):
            if kind == TWO_EDGES:
                scene.circle((back - 0.3 * block, side * half), 0.3 * block, "screw")
            else:
                foot = back - 0.6 * block
                knife = [(back, side * half), (foot, side * (half + 0.03 * span)), (foot, side * (half - 0.03 * span))]
                scene.polygon(knife, "screw")
    _both(scene, start, middle - thick / 2, flange - start, thick, "wall")
    _both(scene, flange, outside, wide, middle + thick / 2 - outside, "wall")
    return middle


def _plate(scene: Scene, mm: dict[Quantity, float], kind: str, face: float, bow: float) -> None:
    span, thick = mm[plate_span], mm[plate_thickness]
    seat, half, edge = mm[seat_diameter] / 2, span / 2, _edge(mm, kind)
    hole = 0.3 * (mm[bearing_bore] + seat)
    y = np.concatenate([np.linspace(hole, half, 25), [edge]])
    # Shapes of a beam from the flat seat to its support; only their size is computed.
    way = np.clip((y - seat) / (half - seat), 0.0, 1.0)
    held = kind in (*_HELD_RIM, FOUR_BOLTS)
    if kind in _TILTS:
        shape = (1 - way) ** 2 if held else 1 - way
        end = 0.0 if held else -1 / (half - seat)
    else:
        shape = 1 - 3 * way**2 + 2 * way**3 if held else 1 - 1.5 * way**2 + 0.5 * way**3
        end = 0.0 if held else -1.5 / (half - seat)
    shape[-1] = end * (edge - half)
    for side in (1, -1):
        if bow > 0:
            rest = [(face, side * hole), (face, side * edge), (face - thick, side * edge), (face - thick, side * hole)]
            scene.path(rest, "ghost")
        front = np.column_stack([face - bow * shape, side * y])
        behind = front[::-1] - np.array([thick, 0.0])
        scene.polygon(np.vstack([front, behind]), "plate")


def _bearing(scene: Scene, mm: dict[Quantity, float], face: float) -> None:
    inner, outer = mm[bearing_bore] / 2, mm[bearing_outside_diameter] / 2
    _both(scene, face, inner, mm[bearing_width], outer - inner, "bearing")


def _tube_and_melt(scene: Scene, mm: dict[Quantity, float]) -> None:
    bore, long = mm[bore_diameter] / 2, mm[flighted_length]
    wall, end, tip, hole = 0.56 * bore, 2.4 * bore, 4.4 * bore, 0.18 * bore
    scene.rectangle((-long, -bore), long, 2 * bore, "plastic")
    scene.polygon([(0, bore), (end, bore), (tip, hole), (tip, -hole), (end, -bore), (0, -bore)], "melt")
    for side in (1, -1):
        outline = [(-long, bore), (end, bore), (tip, hole), (tip, 2.2 * hole), (end, bore + wall), (-long, bore + wall)]
        scene.polygon(np.array(outline) * [1, side], "wall")


def _screw(scene: Scene, mm: dict[Quantity, float], collar_at: float, collar: float) -> None:
    core, shank, long = mm[core_diameter] / 2, 0.98 * mm[bearing_bore] / 2, mm[flighted_length]
    sizes = (core, mm[major_diameter] / 2, mm[pitch], mm[crest_width], mm[root_width], -long, 0.0)
    upper = flight_profile(*sizes, phase=0.25)
    lower = flight_profile(*sizes, phase=0.75) * np.array([1.0, -1.0])
    wide = mm[bearing_bore] / 2 + 0.3 * (mm[bearing_outside_diameter] - mm[bearing_bore]) / 2
    start = scene.window[0]
    step = [(start, shank), (collar_at, shank), (collar_at, wide), (collar_at + collar, wide),
            (collar_at + collar, core), (-long, core)]  # fmt: skip
    above, below = np.array(step), (np.array(step) * [1, -1])[::-1]
    scene.polygon(np.vstack([above, upper, lower[::-1], below]), "screw")
    scene.line((start, 0), (4.9 * mm[bore_diameter] / 2, 0), "centre")


def _arrows_and_words(
    scene: Scene, mm: dict[Quantity, float], solution: Solution, places: tuple[float, float, float]
) -> None:
    face, rod, edge = places
    bore, px, long = mm[bore_diameter] / 2, scene.px, mm[flighted_length]
    count = max(1, int(2 * bore / (22 * px)))
    for y in (np.arange(count) + 0.5) / count * 2 - 1:
        scene.arrow((2.3 * bore, y * bore), (0.1 * bore, y * bore), "force")
    thrust = solution.text(running_thrust)
    right = min(4.5 * bore + 70 * px, scene.window[0] + scene.window[2] - 8 * px)
    scene.label((right, 1.56 * bore + 16 * px), f"melt at {solution.text(nozzle_pressure)}", "end", "force")
    scene.arrow((-0.3 * long, 0), (-long - 0.4 * bore, 0), "force")
    scene.label((-0.6 * long, 1.56 * bore + 16 * px), f"thrust {thrust}", style="force")
    for side in (1, -1):
        # The supports hold the plate back, and the frame passes that on to the tube.
        scene.arrow((-long, side * rod), (-0.66 * long, side * rod), "force")
    scene.label((-long, rod - 26 * px), f"frame pulls back {thrust}", "start", "note")
    y = -max(edge, rod + 0.04 * mm[plate_span]) - 14 * px
    if y > -_DRAWING / 2 * px + 8 * px:
        scene.label((face - mm[plate_thickness] / 2, y), "plate", style="note")
    scene.label((face + 4 * px, -mm[bearing_outside_diameter] / 2 - 12 * px), "bearing", "start", "note")
    scene.label((-0.5 * long, -1.56 * bore - 12 * px), "screw in its tube", style="note")
    scene.label((4.5 * bore, -1.56 * bore - 12 * px), "nozzle", "end", "note")
    length = round_length(90 * px)
    at = (scene.window[0] + scene.window[2] - 20 * px - length, -_DRAWING / 2 * px + 14 * px)
    scene.dimension(at, (at[0] + length, at[1]), f"{length:g} mm", text_at="p")


def _springs(scene: Scene, solution: Solution) -> None:
    """Draw the springs in a row, and under each a bar as long as it gives way."""
    px, left = scene.px, scene.window[0]
    floor = scene.window[1]
    thrust = solution[running_thrust]
    gives = [(name, f"{solution.text(q)}", thrust / solution[q] * 1e6) for q, name in _SPRINGS]
    gives.append(("end play", "closes", solution[end_play] * 1e6))
    finite = [give for _, _, give in gives if math.isfinite(give)]
    longest = max([*finite, 1e-9])
    heading = (
        f"What springs back without thrust: {solution.text(screw_dip)} in all, {solution.text(springback_volume)} of "
        f"melt, {solution.text(springback_over_retraction)} of the retraction"
    )
    scene.label((left + 16 * px, floor + (_STRIP - 22) * px), heading, "start", "strong")
    cell, middle = 770 / len(gives), floor + 108 * px
    for place, (name, stiffness, give) in enumerate(gives):
        x = left + (16 + place * cell) * px
        _spring(scene, x, middle, (cell - 4) * px, gap=name == "end play")
        scene.label((x, floor + 76 * px), name, "start", "strong")
        scene.label((x, floor + 58 * px), stiffness, "start", "small")
        shown = math.isfinite(give)
        if shown and give > 0:
            scene.rectangle((x, floor + 28 * px), max(give / longest, 0.004) * (cell - 24) * px, 14 * px, "solid_ink")
        words = f"{number(give, 3)} µm" if shown else "no figure"
        scene.label((x, floor + 14 * px), words, "start", "small")


def _spring(scene: Scene, x: float, y: float, width: float, *, gap: bool) -> None:
    px = scene.px
    if gap:
        for at in (0.42, 0.58):
            scene.line((x + at * width, y - 9 * px), (x + at * width, y + 9 * px), "heavy")
        scene.line((x, y), (x + 0.42 * width, y))
        scene.line((x + 0.58 * width, y), (x + width, y))
        return
    turns = np.linspace(0.25, 0.75, 11)
    high = np.concatenate([[0.0], np.tile([9.0, -9.0], 5)[:9], [0.0]])
    inside = np.column_stack([x + turns * width, y + high * px])
    scene.path(np.vstack([[(x, y)], inside, [(x + width, y)]]))


PICTURES = (
    Picture(
        "The load path from nozzle to plate",
        needs=(
            *_SIZES,
            *(q for q, _ in _SPRINGS),
            end_play,
            nozzle_pressure,
            plate_deflection,
            running_thrust,
            screw_dip,
            springback_over_retraction,
            springback_volume,
        ),
        draw=draw_load_path,
    ),
)
