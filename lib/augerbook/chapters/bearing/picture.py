"""The bearing in its seat, cut along the axis: where the balls bear, which way the force goes, how far it has play."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.bearing import (
    axial_share,
    bearing_stiffness,
    deep_groove_shift,
    end_play,
    loaded_contact_angle,
    running_bearing_load,
    static_safety,
    thrust_ball_shift,
    unseated_play,
)
from augerbook.chapters.thrust import design_thrust, running_thrust
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene, round_length
from augerbook.head.bearing import (
    axial_preload,
    ball_diameter,
    bearing_bore,
    bearing_kind,
    bearing_outside_diameter,
    bearing_width,
    groove_ratio,
    pitch_circle_diameter,
)

SIZES = (
    ball_diameter,
    bearing_bore,
    bearing_outside_diameter,
    bearing_width,
    groove_ratio,
    pitch_circle_diameter,
)
#: Shoulders of the grooves stand this far from the circle of the balls' centres, in ball diameters.
_SHOULDER = 0.28
#: How much wider the bore of the still washer is drawn, over the height of the ring (51100: 11 to 10 mm, from memory).
_CLEARS = 0.09
#: Play is drawn this many times larger, whichever is the first that fits.
_MAGNIFIED = (20, 10, 5, 2)
#: Room for the play, in widths of the window; length of the collar, in outside diameters of the bearing.
_ROOM_FOR_PLAY, _COLLAR = 0.07, 0.16
_ASPECT = 1.9


def draw_bearing(solution: Solution) -> Scene:
    """Draw the section to scale, with contact lines, the path of the force and the end play enlarged."""
    mm = {q: solution.shown(q) for q in SIZES}
    flat = is_thrust_ball(solution)
    angle = math.pi / 2 if flat else _lean(solution)
    outside, width = mm[bearing_outside_diameter], mm[bearing_width]
    height = 1.62 * outside
    middle = -0.08 * _ASPECT * height
    scene = Scene(
        width=_ASPECT * height,
        height=height,
        origin=(-0.5 * _ASPECT * height, -0.53 * height),
        title=f"{'Thrust ball' if flat else 'Deep-groove'} bearing {mm[bearing_bore]:g} x {outside:g} x {width:g} mm",
        alt=_words(solution, mm, flat),
    )
    plate = 0.22 * outside
    face = middle - width / 2
    for side in (1, -1):
        _plate(scene, mm, face, plate, side, flat)
    _shaft(scene, mm, middle, flat)
    rings = ring_outlines(mm, flat)
    for side in (1, -1):
        for ring in rings:
            scene.polygon(ring * np.array([1.0, side]) + np.array([middle, 0.0]), "bearing")
        scene.circle((middle, side * mm[pitch_circle_diameter] / 2), mm[ball_diameter] / 2, "solid_paper")
        _contact_line(scene, mm, middle, angle, side)
    scene.line((scene.window[0], 0), (scene.window[0] + scene.window[2], 0), "centre")
    _force(scene, mm, middle, plate, angle)
    _words_around(scene, solution, mm, middle, plate, angle)
    _play(scene, solution, mm, middle, flat)
    return scene


def _lean(solution: Solution) -> float:
    """Angle at which the balls bear, upright where it is not known: a plug that slips presses on nothing."""
    angle = solution.values.get(loaded_contact_angle, 0.0)
    return angle if math.isfinite(angle) else 0.0


def is_thrust_ball(solution: Solution) -> bool:
    """Whether the bearing is of the kind with two loose washers."""
    return solution.choices[bearing_kind] == "thrust ball"


def _words(solution: Solution, mm: dict[Quantity, float], flat: bool) -> str:
    kind = "thrust ball bearing" if flat else "deep-groove bearing"
    known = not flat and loaded_contact_angle in solution.values
    lean = f" The balls lean by {solution.text(loaded_contact_angle)}." if known else ""
    stiff = f" Stiffness {solution.text(bearing_stiffness)}." if bearing_stiffness in solution.values else ""
    return (
        f"Section to scale of a {kind}, bore {mm[bearing_bore]:g} mm, outside {mm[bearing_outside_diameter]:g} mm, "
        f"{mm[bearing_width]:g} mm wide, with balls of {mm[ball_diameter]:g} mm, on a plate. Thrust "
        f"{', '.join(_thrusts(solution))} goes from the screw through the balls into the plate.{lean} "
        f"End play {solution.text(end_play)}. Static safety "
        f"{solution.text(static_safety)}.{stiff}"
    )


def _thrusts(solution: Solution) -> list[str]:
    """Say the thrust in each case by the name that the picture of the thrust has for it.

    The larger of both is that at stall with friction, where it is not the running one: without any friction, and by
    other bounds, more would come out, and 'at worst' would name them all.
    """
    running, larger = solution[running_thrust], solution[design_thrust]
    stalled = f"{solution.text(design_thrust)} stalled, with friction" if larger > running else "no more when stalled"
    return [f"{solution.text(running_thrust)} running", stalled]


def _arc(centre: tuple[float, float], radius: float, start: float, end: float) -> NDArray[np.float64]:
    turn = np.linspace(start, end, 25)
    return np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)])


def ring_outlines(mm: dict[Quantity, float], flat: bool) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return outlines, each (n, 2) in mm, of both rings or washers above the axis, the bearing's middle at zero.

    Of a thrust ball bearing the shaft washer comes first, of a deep-groove bearing the inner ring.
    """
    ball, circle, half = mm[ball_diameter], mm[pitch_circle_diameter] / 2, mm[bearing_width] / 2
    groove, inner, outer = mm[groove_ratio] * ball, mm[bearing_bore] / 2, mm[bearing_outside_diameter] / 2
    away = _SHOULDER * ball
    offset = groove - ball / 2  # of the groove's centre from the ball's, away from the groove
    reach = math.acos(min(1.0, (away + offset) / groove))
    if flat:
        right = _arc((-offset, circle), groove, -reach, reach)
        housing = _arc((offset, circle), groove, math.pi + reach, math.pi - reach)
        shaft_side = np.vstack([[(half, outer), (half, inner), (away, inner)], right, [(away, outer)]])
        # The washer on the plate stands still: its bore is wider, so that the shaft turns free of it.
        free = inner + _CLEARS * (outer - inner)
        plate_side = np.vstack([[(-half, outer), (-half, free), (-away, free)], housing, [(-away, outer)]])
        return shaft_side, plate_side
    low = _arc((0.0, circle + offset), groove, -math.pi / 2 - reach, -math.pi / 2 + reach)
    high = _arc((0.0, circle - offset), groove, math.pi / 2 + reach, math.pi / 2 - reach)
    inside = np.vstack([[(-half, inner), (-half, circle - away)], low, [(half, circle - away), (half, inner)]])
    outside = np.vstack([[(-half, outer), (-half, circle + away)], high, [(half, circle + away), (half, outer)]])
    return inside, outside


def collar_radius(mm: dict[Quantity, float], flat: bool) -> float:
    """Return the radius in mm of the collar that pushes the inner ring or the shaft washer."""
    inner, ball, circle = mm[bearing_bore] / 2, mm[ball_diameter], mm[pitch_circle_diameter] / 2
    return circle + 0.1 * ball if flat else (inner + circle - _SHOULDER * ball) / 2 + 0.1 * ball


def _plate(scene: Scene, mm: dict[Quantity, float], face: float, plate: float, side: int, flat: bool) -> None:
    inner = 0.5 * mm[bearing_bore] + (0.06 * mm[bearing_outside_diameter] if flat else 0.0)
    if not flat:
        inner = mm[pitch_circle_diameter] / 2 + _SHOULDER * mm[ball_diameter]
    outer = 0.66 * mm[bearing_outside_diameter]
    corner = (face - plate, side * inner if side > 0 else -outer)
    scene.rectangle(corner, plate, outer - inner, "plate")


def _shaft(scene: Scene, mm: dict[Quantity, float], middle: float, flat: bool) -> None:
    bore, right = mm[bearing_bore] / 2, middle + mm[bearing_width] / 2
    left, end = scene.window[0], _shaft_end(scene)
    collar, wide = _COLLAR * mm[bearing_outside_diameter], collar_radius(mm, flat)
    outline = [
        (left, bore), (right, bore), (right, wide), (right + collar, wide), (right + collar, bore), (end, bore),
    ]  # fmt: skip
    mirrored = [(x, -y) for x, y in reversed(outline)]
    scene.polygon(np.array([*outline, *mirrored]), "screw")


def _shaft_end(scene: Scene) -> float:
    return scene.window[0] + 0.74 * scene.window[2]


def _contact_line(scene: Scene, mm: dict[Quantity, float], middle: float, angle: float, side: int) -> None:
    half = 0.5 * mm[ball_diameter]
    lean = np.array([math.sin(angle), -side * math.cos(angle)])
    centre = np.array([middle, side * mm[pitch_circle_diameter] / 2])
    scene.line(centre - 1.5 * half * lean, centre + 1.5 * half * lean, "heavy")


def _force(scene: Scene, mm: dict[Quantity, float], middle: float, plate: float, angle: float) -> None:
    """The path of the thrust below the axis: along the shaft, through collar and ball, into the plate."""
    ball, circle, half = mm[ball_diameter], mm[pitch_circle_diameter] / 2, mm[bearing_width] / 2
    lean = 0.5 * ball * np.array([math.sin(angle), math.cos(angle)])
    centre = np.array([middle, -circle])
    bend = mm[bearing_bore] / 2 * 0.5
    start = (_shaft_end(scene), -bend)
    enters = centre + lean
    leaves = centre - lean
    way = np.array(
        [start, (middle + half + 0.3 * plate, -bend), enters, leaves, (middle - half - 0.75 * plate, leaves[1])]
    )
    scene.arrow_along(way, "force")


def _collar_edge(mm: dict[Quantity, float], middle: float) -> float:
    return middle + mm[bearing_width] / 2 + _COLLAR * mm[bearing_outside_diameter]


def _words_around(
    scene: Scene, solution: Solution, mm: dict[Quantity, float], middle: float, plate: float, angle: float
) -> None:
    flat = is_thrust_ball(solution)
    left, wide = scene.window[0], scene.window[2]
    outside, circle = mm[bearing_outside_diameter] / 2, mm[pitch_circle_diameter] / 2
    half, ball, px = mm[bearing_width] / 2, mm[ball_diameter], scene.px
    thrust = f"thrust {', '.join(_thrusts(solution))}".replace(", ", ",\n")
    scene.label((_shaft_end(scene) + 8 * px, -0.5 * mm[bearing_bore] - 24 * px), thrust, "start", "force")
    scene.label((middle - half - plate / 2, -0.66 * 2 * outside - 14 * px), "plate", style="note")
    at = (_collar_edge(mm, middle) + 20 * px, outside * 1.4)
    if flat:
        scene.leader((middle + 0.7 * ball, circle), at, "balls bear along the axis")
    elif loaded_contact_angle in solution.values:
        lean = solution.text(loaded_contact_angle)
        on_the_line = 0.68 * ball * np.array([-math.sin(angle), math.cos(angle)])
        scene.leader(np.array([middle, circle]) + on_the_line, at, f"balls lean by {lean}")
    lines = [
        f"static safety {solution.text(static_safety)}",
        f"{solution.text(axial_share)} of the thrust that makers allow",
    ]
    if bearing_stiffness in solution.values:
        lines.append(f"stiffness {solution.text(bearing_stiffness)}")
    for row, line in enumerate(lines):
        scene.label((at[0] + 6 * px, at[1] - (24 + 20 * row) * px), line, "start")
    scene.label((left + 0.98 * wide, 14 * px), "to the nozzle", "end", "note")
    if solution[axial_preload] > 0:
        _spring(scene, mm, middle - half - plate)
        scene.arrow((left + 0.16 * wide, 0), (left + 0.03 * wide, 0), "force")
        words = f"spring {solution.text(axial_preload)}"
        scene.label((left + 0.02 * wide, 1.05 * outside), words, "start", "force")
    scene.scale_bar(round_length(0.12 * wide), "bottom left")


def _spring(scene: Scene, mm: dict[Quantity, float], plate_back: float) -> None:
    """The spring between the back of the plate and a nut on the shaft, which pulls the collar onto the bearing."""
    bore, ring = mm[bearing_bore] / 2, (mm[bearing_outside_diameter] - mm[bearing_bore]) / 2
    nut = scene.window[0] + 0.09 * scene.window[2]
    thick, coils = 0.04 * scene.window[2], 10
    along = np.linspace(nut + thick, plate_back, coils)
    out = bore + np.where(np.arange(coils) % 2, 0.62, 0.22) * ring
    for side in (1, -1):
        scene.rectangle((nut, bore if side > 0 else -bore - 0.7 * ring), thick, 0.7 * ring, "screw")
        scene.path(np.column_stack([along, side * out]), "heavy")


def _play(scene: Scene, solution: Solution, mm: dict[Quantity, float], middle: float, flat: bool) -> None:
    play = solution.shown(end_play)
    edge, wide, bore = _collar_edge(mm, middle), collar_radius(mm, flat), mm[bearing_bore] / 2
    low = -0.72 * mm[bearing_outside_diameter]
    if play <= 0:
        scene.label((edge + 8 * scene.px, low), "no end play: the spring keeps the bearing seated", "start")
        return
    times = next((m for m in _MAGNIFIED if m * play <= _ROOM_FOR_PLAY * scene.window[2]), 1)
    moved = edge + times * play
    for side in (1, -1):
        before = moved - _COLLAR * mm[bearing_outside_diameter]
        scene.path([(moved, side * bore), (moved, side * wide), (before, side * wide)], "ghost")
    words = f"end play {solution.text(end_play)}" + (f", drawn {times} times larger" if times > 1 else "")
    scene.dimension((edge, -wide), (moved, -wide), words, offset=low + wide, text_at="q")


def _shift(solution: Solution) -> Quantity:
    return thrust_ball_shift if is_thrust_ball(solution) else deep_groove_shift


def shift_at(solution: Solution, loads: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the elastic shift, as shown, of the bearing of a solved head under other axial loads in N."""
    shift = _shift(solution)
    (found,) = solution.sweep([shift], [running_bearing_load])(loads)
    return np.asarray(shift.shown(found))


def way_at(solution: Solution, thrust: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far the screw of a solved head has moved, as shown, at thrusts in N; a negative thrust is a pull.

    Zero is the bearing seated without load. The spring loads it in addition; a pull that is stronger lets the screw
    cross its play, and presses a deep-groove bearing from its other side.
    """
    load = thrust + solution[axial_preload]
    shift = shift_at(solution, np.abs(load))
    back = -_shift(solution).shown(solution[unseated_play]) - (0.0 if is_thrust_ball(solution) else shift)
    return np.asarray(np.where(load >= 0, shift, back))


def draw_way(first: tuple[str, Solution], second: tuple[str, Solution], highest: float) -> LivePlot:
    """Draw how far the screw moves in two heads while the thrust goes from a pull to ``highest`` N.

    Zero is the bearing seated without load. Below zero thrust the screw crosses its play, unless a spring holds it.
    """
    thrust = np.linspace(-0.25 * highest, highest, 501)
    across = running_thrust.shown(thrust)
    curves, words = {}, []
    for name, (label, solution) in (("first", first), ("second", second)):
        way, play = way_at(solution, thrust), float(_shift(solution).shown(solution[unseated_play]))
        curves[name] = (across, way)
        words.append(f"{label}: {way[-1]:.0f} um at {highest:.0f} N, play of {play:.0f} um")
    low, high = (f(*(f(way) for _, way in curves.values())) for f in (min, max))
    figure, (axes,) = graph(height=360)
    room = 0.08 * (high - low)
    frame(
        axes, x=running_thrust.axis("thrust on the screw"), y=deep_groove_shift.axis("the screw has moved"),
        xlim=(across[0], across[-1]), ylim=(low - room, high + room),
    )  # fmt: skip
    plot = LivePlot(figure, alt="How far the screw has moved, over the thrust on it. " + "; ".join(words) + ".")
    plot.curve(axes, "first", "main", label=first[0])
    plot.curve(axes, "second", "second", label=second[0])
    plot.legend(axes, "lower right")
    plot.update(curves=curves)
    return plot


PICTURES = (
    Picture(
        "The bearing on its plate",
        needs=(*SIZES, axial_preload, axial_share, running_thrust, design_thrust, end_play, static_safety),
        draw=draw_bearing,
    ),
)
