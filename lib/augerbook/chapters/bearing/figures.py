"""Figures of the chapter: the stack taken apart, the triangle that play comes from, what each bearing bears."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from augerbook.chapters.bearing import (
    axial_share,
    ball_approach,
    deep_groove_shift,
    design_bearing_load,
    end_play,
    free_contact_angle,
    groove_distance,
    groove_play,
    loaded_contact_angle,
    running_bearing_load,
    unseated_play,
)
from augerbook.chapters.bearing.picture import SIZES, collar_radius, is_thrust_ball, ring_outlines, way_at
from augerbook.chapters.thrust import running_thrust
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene, round_length
from augerbook.draw.style import Anchor
from augerbook.head.bearing import (
    axial_preload,
    ball_diameter,
    bearing_bore,
    bearing_outside_diameter,
    bearing_width,
    groove_ratio,
    pitch_circle_diameter,
    radial_clearance,
)
from augerbook.head.plate import plate_thickness
from augerbook.head.screw import core_diameter, major_diameter, pitch

#: A screw up to this share of the bearing's bore leaves wall enough for a collar that slips over its thread.
_ROOM_FOR_COLLAR = 0.8


class _Stack:
    """Parts of revolution in a row along the axis, from left to right, with a name over or under each."""

    def __init__(self, mm: dict[Quantity, float], gap: float) -> None:
        self.mm, self.gap, self.at = mm, gap, 0.0
        self.bodies: list[tuple[list[tuple[float, float]], str]] = []
        self.balls: list[float] = []
        self.names: list[tuple[float, float, str]] = []

    def body(self, corners: Sequence[tuple[float, float]], style: str) -> None:
        """Add an outline above the axis, its left end at zero; it is drawn below the axis too."""
        self.bodies.append(([(float(self.at + x), float(y)) for x, y in corners], style))

    def ring(self, inner: float, outer: float, wide: float, style: str) -> None:
        """Add a plain ring."""
        self.body([(0, inner), (wide, inner), (wide, outer), (0, outer)], style)

    def end(self, wide: float, pointed: tuple[float, float], name: str) -> None:
        """Name the part, ``pointed`` counted from its left end, and go on beyond it."""
        self.names.append((self.at + pointed[0], pointed[1], name))
        self.at += wide + self.gap


def _bearing_parts(stack: _Stack, flat: bool) -> None:
    mm = stack.mm
    half, ball, circle = mm[bearing_width] / 2, mm[ball_diameter], mm[pitch_circle_diameter] / 2
    first, second = ring_outlines(mm, flat)
    if not flat:
        for outline in (first, second):
            stack.body([(half + x, y) for x, y in outline], "bearing")
        stack.balls.append(stack.at + half)
        stack.end(2 * half, (half, 0.5 * (circle + ball / 2) + mm[bearing_outside_diameter] / 4),
                  "bearing, in one piece:\ninner ring turns, outer stands still")  # fmt: skip
        return
    thick = half - 0.5 * ball + 0.28 * ball  # about what the groove leaves of a washer
    stack.body([(half + x, y) for x, y in second], "bearing")
    stack.end(thick, (thick / 3, mm[bearing_outside_diameter] / 2), "housing washer, stands still:\nwider bore")
    cage = 0.36 * ball
    for low, high in ((circle - 0.95 * ball, circle - 0.5 * ball), (circle + 0.5 * ball, circle + 0.95 * ball)):
        stack.body([(ball / 2 - cage / 2, low), (ball / 2 + cage / 2, low), (ball / 2 + cage / 2, high),
                    (ball / 2 - cage / 2, high)], "plate")  # fmt: skip
    stack.balls.append(stack.at + ball / 2)
    stack.end(ball, (ball / 2, -circle), "balls in their cage")
    left = float(first[:, 0].min())
    stack.body([(x - left, y) for x, y in first], "bearing")
    stack.end(half - left, (2 * (half - left) / 3, mm[bearing_outside_diameter] / 2),
              "shaft washer, turns:\ntight bore")  # fmt: skip


def draw_stack(solution: Solution) -> Scene:
    """Draw the bearing taken apart, cut along the axis: nut, spring, plate, bearing, collar and screw in a row."""
    mm = {q: solution.shown(q) for q in (*SIZES, plate_thickness, core_diameter, major_diameter, pitch)}
    flat, spring = is_thrust_ball(solution), solution[axial_preload] > 0
    bore, outside, wide = mm[bearing_bore] / 2, mm[bearing_outside_diameter] / 2, mm[bearing_width]
    plate, nut = mm[plate_thickness], 0.3 * wide
    coil = 0.9 * wide if spring else 0.0
    slips_over = mm[major_diameter] <= _ROOM_FOR_COLLAR * 2 * bore
    shank = (mm[major_diameter] if slips_over else min(mm[core_diameter], _ROOM_FOR_COLLAR * 2 * bore)) / 2
    stack = _Stack(mm, gap=0.3 * outside)
    stack.ring(bore, 1.55 * bore, nut, "screw")
    stack.end(nut, (nut / 2, 1.55 * bore), "nut")
    if spring:
        for side in (1, -1):
            zigzag = [(stack.at + coil * t / 8, side * bore * (1.45 if t % 2 else 1.12)) for t in range(9)]
            stack.bodies.append((zigzag, "heavy"))
        stack.end(coil, (coil / 2, -1.45 * bore), f"spring, {solution.text(axial_preload)}")
    seat = 0.25 * wide  # depth of the recess that centres the bearing
    through = 1.12 * bore if flat else mm[pitch_circle_diameter] / 2 + 0.28 * mm[ball_diameter]
    stack.body([(0, through), (plate - min(seat, plate / 2), through), (plate - min(seat, plate / 2), outside),
                (plate, outside), (plate, 1.35 * outside), (0, 1.35 * outside)], "plate")  # fmt: skip
    stack.end(plate, (plate / 2, -1.35 * outside), "plate, with a seat")
    _bearing_parts(stack, flat)
    flange, head = collar_radius(mm, flat), 0.32 * outside
    long = wide + plate + coil + nut
    stack.body([(0, shank), (long + head, shank), (long + head, flange), (long, flange), (long, bore), (0, bore)],
               "metal")  # fmt: skip
    pin = (stack.at + long + head / 2, -flange)
    stack.end(long + head, (0.6 * long, -bore), "collar: its spigot fits the bearing,\nits shoulder pushes "
              + ("the shaft washer" if flat else "the inner ring only"))  # fmt: skip
    stack.names.append((*pin, "cross pin"))
    plain, threaded = 0.8 * long, 4 * mm[pitch]
    stack.bodies.append((_screw(mm, stack.at, shank, plain, threaded), "screw"))
    stack.end(plain + threaded, (0.5 * plain, shank), "plain shank" if slips_over else "thread turned off")
    long_way = stack.at - stack.gap
    margin, high = 0.04 * long_way, 1.35 * outside
    words = 0.16 * long_way  # room for two rows of names over and under the stack
    scene = Scene(
        width=long_way + 2 * margin, height=2 * (high + words), origin=(-margin, -high - words),
        title=f"{'Thrust ball' if flat else 'Deep-groove'} bearing, taken apart",
        alt=(
            "Section to scale of the stack, pulled apart along the axis. From the drive to the nozzle: nut, "
            + (f"spring of {solution.text(axial_preload)}, " if spring else "")
            + f"plate of {plate:g} mm with a seat for {2 * outside:g} mm, "
            + ("housing washer with the wider bore, balls in their cage, shaft washer with the tight bore"
               if flat else "bearing in one piece")
            + f", collar with a spigot for the bore of {2 * bore:g} mm and a cross pin, screw of "
            f"{mm[major_diameter]:.3g} mm over its flights."
        ),
    )  # fmt: skip
    scene.line((-margin, 0), (long_way + margin, 0), "centre")
    for points, style in stack.bodies:
        if style == "heavy":
            scene.path(points, style)
        elif style == "screw" and min(y for _, y in points) < 0:
            scene.polygon(points, style)
        else:
            for side in (1, -1):
                scene.polygon([(x, side * y) for x, y in points], style)
    for x in stack.balls:
        for side in (1, -1):
            scene.circle((x, side * mm[pitch_circle_diameter] / 2), mm[ball_diameter] / 2, "solid_paper")
    scene.line((pin[0], pin[1]), (pin[0], -pin[1]), "heavy")
    _name_parts(scene, stack, high)
    px, low = scene.px, -high - words
    scene.label((long_way + margin - 10 * px, low + 16 * px), "to the nozzle", "end", "note")
    scene.arrow((long_way - 0.06 * long_way, -shank - 52 * px), (long_way - 0.2 * long_way, -shank - 52 * px), "force")
    scene.label((long_way - 0.13 * long_way, -shank - 72 * px), "thrust", style="force")
    scene.scale_bar(round_length(0.12 * long_way), "bottom left")
    return scene


def _screw(
    mm: dict[Quantity, float], at: float, shank: float, plain: float, threaded: float
) -> list[tuple[float, float]]:
    """The outline of the screw's end, both sides of the axis: a plain shank, then a thread with sharp flights."""
    core, tip = mm[core_diameter] / 2, mm[major_diameter] / 2
    thread = [(plain, core)]
    for turn in range(round(threaded / mm[pitch])):
        start = plain + turn * mm[pitch]
        thread += [(start + 0.22 * mm[pitch], core), (start + 0.5 * mm[pitch], tip), (start + 0.78 * mm[pitch], core)]
    upper = [(0.0, shank), (plain, shank), *thread, (plain + threaded, core)]
    return [(at + x, y) for x, y in upper] + [(at + x, -y) for x, y in reversed(upper)]


def _name_parts(scene: Scene, stack: _Stack, high: float) -> None:
    """Names over the stack in two rows; what is pointed at below the axis has its name below."""
    px, used = scene.px, {-1: 0, 1: 0}
    for x, y, name in stack.names:
        side = -1 if y < 0 else 1
        row = (16, 66)[used[side] % 2]
        used[side] += 1
        scene.leader((x, y), (x, side * (high + row * px)), name)


def draw_triangle(solution: Solution) -> Scene:
    """Draw how the centres of both grooves of a deep-groove bearing lie: level, shifted until caught, and loaded.

    Raises:
        ValueError: the bearing has no such grooves.
    """
    if is_thrust_ball(solution):
        raise ValueError("Only a deep-groove bearing leans its balls: give the solution of a head that has one.")
    across, loaded = (
        1e3 * solution.shown(groove_distance) * math.cos(solution[free_contact_angle]),
        1e3 * solution.shown(groove_distance) + solution.shown(ball_approach),
    )
    free, half = 1e3 * solution.shown(groove_distance), 500 * solution.shown(groove_play)
    pressed = half + solution.shown(deep_groove_shift)
    angles = solution.text(free_contact_angle), solution.text(loaded_contact_angle)
    # One unit is a micrometre of the triangle; the ball beside it is drawn as large as the triangle is high.
    wide = 2.9 * across
    scene = Scene(
        width=wide, height=1.45 * across, origin=(-0.6 * wide, -0.16 * across),
        title="Between the centres of the grooves",
        alt=(
            f"Left: a ball between the groove of the outer ring and that of the inner ring; the centres of the grooves "
            f"lie close together. Right: these centres, enlarged. Level they are {across:.1f} um apart; shifted by "
            f"{half:.1f} um, half the play, {free:.1f} um, and the ball is caught; the line between them leans by "
            f"{angles[0]}. Under {solution.text(running_bearing_load)} they are {loaded:.1f} um apart and the line "
            f"leans by {angles[1]}."
        ),
    )  # fmt: skip
    px = scene.px
    _draw_grooves(scene, solution, (-1.25 * across, 0.5 * across), 0.86 * across)
    scene.line((0, 0), (0, across), "hidden")
    scene.line((0, across), (-pressed, across), "thin")
    scene.line((0, 0), (-pressed, across), "second")
    scene.line((0, 0), (-half, across), "main")
    for point in ((0, 0), (0, across), (-half, across), (-pressed, across)):
        scene.circle(point, 4 * px, "solid_ink")
    scene.label((-20 * px, -22 * px), "centre of the outer ring's groove")
    scene.label((-pressed - 12 * px, across + 34 * px), "centre of the\ninner ring's groove", "end")
    scene.dimension((0, 0), (0, across), f"level: {across:.1f} µm", offset=-178 * px, text_at="right")
    scene.dimension((0, across), (-half, across), f"half the play: {half:.1f} µm", offset=-26 * px, text_at="p")
    scene.dimension((0, across), (-pressed, across), f"under thrust: {pressed:.1f} µm", offset=-54 * px, text_at="p")
    scene.leader(
        (-0.62 * half, 0.62 * across), (30 * px, 0.42 * across), f"caught: {free:.1f} µm,\nleans by {angles[0]}"
    )
    scene.leader((-0.42 * pressed, 0.42 * across), (-0.42 * pressed - 34 * px, 0.22 * across),
                 f"pressed: {loaded:.1f} µm,\nleans by {angles[1]}")  # fmt: skip
    return scene


def _draw_grooves(scene: Scene, solution: Solution, middle: tuple[float, float], size: float) -> None:
    """A ball between its grooves in their true proportions, the inner ring shifted until the ball is caught."""
    ball = solution.shown(ball_diameter)
    scale = size / ball
    groove, lean = solution.shown(groove_ratio) * ball * scale, solution[free_contact_angle]
    apart = solution.shown(groove_distance) * scale / 2
    toward_inner = np.array([-math.sin(lean), math.cos(lean)]) * apart
    centre = np.array(middle)
    scene.circle(centre, size / 2, "solid_paper")
    turn = np.radians(np.linspace(-62, 62, 61))
    for of_groove, up in ((centre - toward_inner, 1), (centre + toward_inner, -1)):
        arc = of_groove + groove * np.column_stack([np.sin(turn), up * np.cos(turn)])
        scene.path(arc, "heavy")
        scene.circle(of_groove, 3.4 * scene.px, "solid_ink")
    reach = np.array([-math.sin(lean), math.cos(lean)]) * 0.62 * size
    scene.line(centre - reach, centre + reach, "thin")
    px = scene.px
    scene.label(centre + np.array([0.2 * size, 0.5 * size + 16 * px]), "outer ring")
    scene.label(centre - np.array([0.2 * size, 0.5 * size + 16 * px]), "inner ring")
    scene.leader(
        centre + toward_inner, centre + np.array([0.1 * size, 0.08 * size]), "centres of\nthe grooves", "small"
    )


def draw_choice(rows: Sequence[tuple[str, Solution]], builds: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw which stalled thrust each bearing bears with half of its limit to spare, against that of some builds.

    Args:
        rows: name of a bearing, and a head that has it.
        builds: name of a build, and its solution: a line for each.
    """
    borne = []
    for name, solution in rows:
        allowed = solution.shown(design_bearing_load) / solution[axial_share]
        borne.append((name, is_thrust_ball(solution), solution.shown(bearing_bore), allowed))
    borne.sort(key=lambda row: (row[1], row[3]))
    low, high, left, long, step = 20.0, 20_000.0, 150.0, 560.0, 23.0

    def along(force: float) -> float:
        return left + long * math.log(force / low) / math.log(high / low)

    loads = [(name, solution.shown(design_bearing_load)) for name, solution in builds]
    told = "; ".join(f"{name} needs {load:.0f} N" for name, load in loads)
    fits = "; ".join(
        f"for {name} {', '.join(of for of, _, _, allowed in borne if allowed / 2 >= load) or 'none'}"
        for name, load in loads
    )
    scene = Scene(
        width=800, height=96 + step * len(borne), origin=(0, -56),
        title="What each bearing of the tables bears in a stall",
        alt=(
            f"A bar for each bearing of the tables, up to the axial load that makers allow, dark up to half of it. "
            f"{told}. These bear it with half to spare: {fits}."
        ),
    )  # fmt: skip
    for place, (name, flat, inner, allowed) in enumerate(borne):
        y = step * (len(borne) - 1 - place) + 8
        scene.label((left - 10, y + 0.35 * step), f"{name}, {inner:g} mm bore", "end", "small")
        scene.rectangle((left, y), along(allowed) - left, 0.7 * step, "soft" if flat else "void")
        scene.rectangle((left, y), along(allowed / 2) - left, 0.7 * step, "melt" if flat else "screw")
    for row, (words, styles) in enumerate((("deep groove", ("screw", "void")), ("thrust ball", ("melt", "soft")))):
        y = step * (len(borne) - 1.7 - row)
        for style, x in zip(styles, (575.0, 605.0), strict=True):
            scene.rectangle((x, y), 30, 0.7 * step, style)
        scene.label((645, y + 0.35 * step), words, "start", "small")
    scene.label((575, step * (len(borne) - 3.4)), "dark: half of what makers allow", "start", "small")
    for force in (20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000):
        scene.line((along(force), 0), (along(force), -6), "thin")
        scene.label((along(force), -17), f"{force}", style="small")
    scene.line((left, 0), (left + long, 0), "thin")
    scene.label((left + long / 2, -36), design_bearing_load.axis("axial load in a stall"), style="small")
    top = step * len(borne) + 10
    for place, (name, load) in enumerate(loads):
        scene.line((along(load), 0), (along(load), top + 4), "limit")
        anchor: Anchor = "end" if place and load < loads[0][1] else "start"
        scene.label(
            (along(load) + (6 if anchor == "start" else -6), top + 14), f"{name}: {load:.0f} N", anchor, "strong"
        )
    return scene


class WayGraph:
    """How far the screw moves over the thrust on it: play, spring and the bearing's own softness."""

    def __init__(self, solution: Solution) -> None:
        figure, (axes,) = graph(height=340)
        self._plot = LivePlot(figure, alt="Way of the screw over the thrust on it.")
        frame(axes, x=f"{running_thrust.axis('thrust on the screw')}; below zero something pulls at it",
              y=deep_groove_shift.axis("the screw has moved"), xlim=(-20, 60), ylim=(-160, 30))  # fmt: skip
        self._plot.curve(axes, "way", "main")
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curve to a solution."""
        thrust = np.linspace(-20, 60, 641)
        self._plot.update(
            curves={"way": (thrust, way_at(solution, running_thrust.si(thrust)))},
            alt=(
                f"How far the screw has moved, over the thrust on it. With a spring of {solution.text(axial_preload)} "
                f"the end play is {solution.text(end_play)}; a pull that is stronger than the spring lets the screw "
                f"cross {solution.text(unseated_play)}. Radial clearance {solution.text(radial_clearance)}."
                if radial_clearance in solution.values
                else f"How far the screw has moved, over the thrust on it. Spring {solution.text(axial_preload)}."
            ),
        )
        return self._plot
