"""The head on its carriage, at rest and in both ways of ringing, and the wave that a corner leaves on the wall."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.plate import plate_mass
from augerbook.chapters.ringing import (
    centre_height,
    damping_ratio,
    granule_mass,
    head_mass,
    lower_frequency,
    nozzle_share,
    rail_inertia,
    ramp_time,
    screw_mass,
    tilt_frequency,
    tube_mass,
    upper_frequency,
    wall_wave,
    wave_height,
)
from augerbook.chapters.ringing.models import after_a_corner, outer_edge, way_along
from augerbook.chapters.ripple import line_speed
from augerbook.core.network import Solution
from augerbook.core.units import number
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene, round_length
from augerbook.head.carriage import carriage_mass, hopper_height, motor_height, plate_height, rail_height
from augerbook.head.drive import gear_mass, motor_mass
from augerbook.head.heating import heated_length
from augerbook.head.hopper import hopper_diameter
from augerbook.head.plate import plate_thickness
from augerbook.head.printing import line_width, print_acceleration
from augerbook.head.tube import tube_length, tube_outside_diameter

Floats = NDArray[np.float64]

REST, SLOWER, FASTER = "at rest", "slower way of ringing", "faster way of ringing"
#: How far a head that swings leans in the drawing, over its height; square millimetres that a gram covers.
_LEAN, _AREA = 0.12, 2.2


def way_of_ringing(solution: Solution, frequency: float) -> tuple[float, float]:
    """Return sliding in any unit of length and tilting in radians for that unit over a metre, of one way of ringing.

    Args:
        solution: that knows masses and springs.
        frequency: of the way of ringing, in Hz.
    """
    slide = solution[tilt_frequency] ** 2 - frequency**2
    tilt = solution[head_mass] * solution[centre_height] / solution[rail_inertia] * frequency**2
    if tilt == 0:
        return (1.0, 0.0) if slide != 0 else (0.0, 1.0)
    return slide, tilt


def draw_head(solution: Solution, variant: str = REST) -> Scene:
    """Draw the head to scale in millimetres, each mass as a disc of proportional area where it counts."""
    mm = {q: solution.shown(q) for q in (
        rail_height, motor_height, plate_height, hopper_height, heated_length, tube_length, tube_outside_diameter,
        plate_thickness, hopper_diameter, centre_height,
    )}  # fmt: skip
    rail, motor = mm[rail_height], mm[motor_height]
    grams = [solution.shown(q) for q in (motor_mass, gear_mass, plate_mass, granule_mass, carriage_mass)]
    radii = [math.sqrt(_AREA * mass / math.pi) for mass in (grams[0] + grams[1], *grams[2:])]
    top = max(motor + radii[0], mm[hopper_height] + radii[2], rail + radii[3], mm[plate_height])
    low, high = -0.12 * top - 6, 1.1 * top + 6
    width = 800 / 430 * (high - low)
    axis, side = 0.36 * width, 0.36 * width - radii[0] - radii[2] - 0.05 * width
    sway, alt_swing = _sway(solution, variant, top)
    scene = Scene(
        width=width, height=high - low, origin=(0.0, low), title=f"The head on its carriage, {variant}",
        alt=f"Side view of the head to scale, {variant}, each mass as a disc of proportional area: motor and gear "
        f"{grams[0] + grams[1]:.3g} g at {motor:.3g} mm above the tip of the nozzle, granules "
        f"{solution.text(granule_mass)} at {mm[hopper_height]:.3g} mm, plate {solution.text(plate_mass)} at "
        f"{mm[plate_height]:.3g} mm, all else {grams[4]:.3g} g at the rail, {rail:.3g} mm. The centre of mass lies "
        f"{solution.text(centre_height)} above the rail.{alt_swing}",
    )  # fmt: skip

    def at(points: list[tuple[float, float]]) -> Floats:
        """Points as they stand when the head leans: shifted along the rail by what its height makes."""
        return np.array([(x + sway(z), z) for x, z in points])

    def body(left: float, bottom: float, right: float, upper: float, style: str) -> None:
        scene.polygon(at([(left, bottom), (right, bottom), (right, upper), (left, upper)]), style)

    scene.line((0.02 * width, 0.0), (0.66 * width, 0.0), "thin")
    scene.rectangle((0.04 * width, rail - 3), 0.62 * width, 6, "metal")
    scene.label((0.05 * width, rail + 3 + 11 * scene.px), "rail", anchor="start", style="small")
    half, block = mm[tube_outside_diameter] / 2, mm[heated_length]
    throat = block + mm[tube_length]
    body(axis - half, block, axis + half, throat, "wall")
    body(axis - 2 * half, 0.25 * block, axis + 2 * half, block, "hot")
    scene.polygon(at([(axis - half, 0.25 * block), (axis, 0.0), (axis + half, 0.25 * block)]), "hot")
    body(axis - half, throat, axis + half, motor, "screw")
    span = radii[0]
    body(axis - span, mm[plate_height] - mm[plate_thickness] / 2,
         axis + span, mm[plate_height] + mm[plate_thickness] / 2, "plate")  # fmt: skip
    scene.path(at([(side, mm[hopper_height]), (axis, throat)]), "thin")
    discs = (
        (axis, motor, radii[0], "metal"), (axis, mm[plate_height], radii[1], "plate"),
        (side, mm[hopper_height], radii[2], "plastic"), (axis, rail, radii[3], "wall"),
    )  # fmt: skip
    for x, z, radius, style in discs:
        scene.circle(at([(x, z)])[0], radius, style)
    centre = at([(axis, rail + mm[centre_height])])[0]
    scene.circle(centre, 7 * scene.px, "solid_paper")
    scene.circle(centre, 3.5 * scene.px, "solid_ink")
    if variant != REST:
        scene.path([(axis, 0.0), (axis, top)], "centre")
        scene.path(at([(axis, 0.0), (axis, top)]), "heavy")
    words = 0.7 * width
    rows = (
        (motor, f"motor and gear {grams[0] + grams[1]:.0f} g"), (mm[plate_height], f"plate {grams[2]:.3g} g"),
        (rail + mm[centre_height], "centre of mass"), (rail, f"all else {grams[4]:.0f} g"),
    )  # fmt: skip
    heights = _spread(np.array([z for z, _ in rows]), 21 * scene.px)
    for (z, text), place in zip(rows, heights, strict=True):
        scene.line(at([(axis, z)])[0], (words - 6 * scene.px, place), "thin")
        scene.label((words, place), text, anchor="start")
    scene.label(
        (side + float(sway(mm[hopper_height])), mm[hopper_height] + radii[2] + 12 * scene.px),
        f"granules {grams[3]:.0f} g", style="small",
    )  # fmt: skip
    right = width - 70 * scene.px
    scene.dimension((right, 0.0), (right, rail), f"rail {rail:.3g} mm", text_at="left")
    scene.scale_bar(round_length(0.2 * width), "bottom left")
    return scene


def _spread(heights: Floats, apart: float) -> Floats:
    """Heights for words, in the order given from the top, at least so far apart."""
    order = np.argsort(-heights, kind="stable")
    placed = heights.copy()
    for before, after in pairwise(order):
        placed[after] = min(placed[after], placed[before] - apart)
    return placed


def _sway(solution: Solution, variant: str, top: float) -> tuple[_Sway, str]:
    """How far the head leans at each height, and that in words."""
    rail = solution.shown(rail_height)
    if variant == REST:
        return _Sway(0.0, 0.0, rail), ""
    frequency = solution[lower_frequency if variant == SLOWER else upper_frequency]
    slide, tilt = way_of_ringing(solution, frequency)
    ends = [slide + tilt * (z - rail) / 1000 for z in (0.0, top)]
    scale = _LEAN * top / max(abs(end) for end in ends)
    tip, head = (scale * end for end in ends)
    sides = "the same way as" if tip * head > 0 else "against"
    told = (
        f" It rings at {number(frequency)} Hz: the tip of the nozzle moves {sides} the top, "
        f"{number(abs(tip / head), 2)} times as far."
    )
    return _Sway(scale * slide, scale * tilt / 1000, rail), told


class _Sway:
    """Shift along the rail, in mm, by height."""

    def __init__(self, slide: float, tilt: float, rail: float) -> None:
        self.slide, self.tilt, self.rail = slide, tilt, rail

    def __call__(self, height: float) -> float:
        """Return the shift at a height in mm above the tip."""
        return self.slide + self.tilt * (height - self.rail)


#: Waves of the slower ringing that the drawing of the wall shows, and points along the path and the edge.
_WAVES, _POINTS = 6.0, 360


def wall_after_a_corner(solution: Solution) -> tuple[Floats, Floats, Floats, Floats]:
    """Return path and edge behind a corner: way along and off for the middle, then for the outer edge, all in m."""
    speed, acceleration = solution[line_speed], solution[print_acceleration]
    long = max(_WAVES * solution[wall_wave], 1.2 * solution[line_width])
    last = long / speed + solution[ramp_time]
    time = np.linspace(0.0, last, _POINTS)
    share = solution[nozzle_share]
    off = after_a_corner(
        time, acceleration, solution[ramp_time], (solution[lower_frequency], solution[upper_frequency]),
        (share, 1 - share), solution[damping_ratio],
    )  # fmt: skip
    along = way_along(time, speed, acceleration)
    places = np.linspace(0.0, long, _POINTS)
    return along, off, places, outer_edge(places, along, off, solution[line_width])


def draw_wall(solution: Solution) -> Scene:
    """Draw the wall behind a corner from above: along it to scale, across it as many times larger as it says."""
    along, off, places, edge = (1000 * part for part in wall_after_a_corner(solution))
    long, wide = places[-1], solution.shown(line_width)
    largest = max(float(np.abs(off).max()), float(np.abs(edge).max()), 1e-9)
    tall = 0.40 * long
    # Round, so that the drawing can say it; the width of the line is drawn as it comes, cut off below.
    times = round_length(0.3 * tall / largest)
    scene = Scene(
        width=1.12 * long, height=tall, origin=(-0.06 * long, -0.55 * tall),
        title=f"The wall behind a corner, from above; waves drawn {times:g} times higher",
        alt=f"The wall behind a corner from above, {long:.3g} mm of it, with deviations drawn {times:g} times larger. "
        f"The nozzle swings up to {number(float(np.abs(off).max()), 2)} mm off the wall, in waves of "
        f"{solution.text(wall_wave)} while it prints at {solution.text(line_speed)}; the outer edge of a line "
        f"{wide:.3g} mm wide goes up and down by {number(ripple_of(edge), 2)} mm behind the first crest; the "
        f"bound is {solution.text(wave_height)}.",
    )  # fmt: skip
    floor = -0.42 * tall
    outline = np.column_stack([places, times * edge])
    scene.polygon(np.vstack([outline, [(long, floor), (0.0, floor)]]), "plastic")
    scene.line((-0.03 * long, 0.0), (1.04 * long, 0.0), "centre")
    scene.path(np.column_stack([along, times * off])[along <= long], "main")
    wave = solution.shown(wall_wave)
    if wave < long:
        y = -0.27 * tall
        scene.dimension((0.62 * long, y), (0.62 * long + wave, y), f"wave {solution.text(wall_wave)}", text_at="q")
    words = "the line laid down; thick: path of the nozzle, moved out to the edge"
    scene.label((0.02 * long, -0.38 * tall), words, anchor="start", style="small")
    scene.label((1.04 * long, 26 * scene.px), "where the edge should be", anchor="end", style="small")
    scene.label((0.0, -0.49 * tall), "corner", style="small")
    scene.scale_bar(round_length(0.2 * long), "bottom right")
    return scene


def ripple_of(edge: Floats) -> float:
    """Return the largest step from a valley of the edge to the lower of the crests beside it; zero without one."""
    turns = np.flatnonzero(np.diff(np.sign(np.diff(edge))) != 0) + 1
    heights = edge[turns]
    steps = [
        min(heights[n - 1], heights[n + 1]) - heights[n]
        for n in range(1, len(heights) - 1)
        if heights[n] < min(heights[n - 1], heights[n + 1])
    ]
    return float(max(steps, default=0.0))


_SWING = (tilt_frequency, head_mass, centre_height, rail_inertia, lower_frequency, upper_frequency)
PICTURES = (
    Picture(
        "The head on its carriage",
        needs=(
            *_SWING, rail_height, motor_height, plate_height, hopper_height, heated_length, tube_length,
            tube_outside_diameter, plate_thickness, hopper_diameter, motor_mass, gear_mass, plate_mass, granule_mass,
            tube_mass, screw_mass, carriage_mass,
        ),
        draw=draw_head,
        variants=(REST, SLOWER, FASTER),
    ),
    Picture(
        "The wave on the wall",
        needs=(
            line_speed, print_acceleration, ramp_time, lower_frequency, upper_frequency, nozzle_share, damping_ratio,
            wall_wave, line_width, wave_height,
        ),
        draw=draw_wall,
    ),
)  # fmt: skip
