"""Figures of the chapter: the leaning screw from its end, grains in a mesh, a flake that lies flat, two opposed."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.grains import (
    caught_share,
    flake_need,
    flake_rise,
    half_opening,
    largest_grain,
    opposed_chance,
    passing_size_centred,
)
from augerbook.chapters.grains.graphs import sizes_of
from augerbook.chapters.screw import core_gap, floor_width, room_leaning, root_width, tip_gap
from augerbook.chapters.screw.picture import flight_profile
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.feedstock import flake_thickness, sieve_mesh
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch
from augerbook.head.tube import bore_diameter

Point = tuple[float, float]


def _end_of_screw(scene: Scene, solution: Solution, middle: Point, lowered: float, turned: float) -> None:
    """Draw bore and screw cut across the axis; the screw ``lowered`` (mm) below the middle, its flight ``turned``."""
    mm = {q: solution.shown(q) for q in (bore_diameter, core_diameter, major_diameter, pitch, crest_width, root_width)}
    bore, tip = mm[bore_diameter] / 2, mm[major_diameter] / 2
    centre = np.array([middle[0], middle[1] - lowered])
    scene.ring(middle, bore, 1.05 * bore, "wall")
    # One turn of the flight is one pitch of its axial section, wound round the axis.
    z, radius = flight_profile(
        mm[core_diameter] / 2, tip, mm[pitch], mm[crest_width], mm[root_width], 0.0, mm[pitch], 0.5
    ).T
    fine = np.linspace(0.0, mm[pitch], 361)
    angle = 2 * math.pi * fine / mm[pitch] - math.pi + turned
    reach = np.interp(fine, z, radius)
    scene.polygon(centre + np.column_stack([reach * np.cos(angle), reach * np.sin(angle)]), "screw")
    turn = np.linspace(0, 2 * math.pi, 181)
    scene.path(centre + tip * np.column_stack([np.cos(turn), np.sin(turn)]), "hidden")
    scene.circle(centre, 0.02 * bore, "solid_ink")


def wedged(bore: float, tip: float, lowered: float, diameter: float) -> Point:
    """Return where a ball touches the wall and the circle of the tips, on the right; lengths in one unit.

    Args:
        bore, tip: radii of the bore and of the circle of the tips.
        lowered: how far the screw's axis lies below the middle of the bore.
        diameter: of the ball; at most bore - tip + lowered.
    """
    from_wall, from_tip = bore - diameter / 2, tip + diameter / 2
    y = (from_tip**2 - from_wall**2 - lowered**2) / (2 * lowered)
    return math.sqrt(max(from_wall**2 - y**2, 0.0)), y


def draw_end_view(solution: Solution) -> Scene:
    """Draw the leaning screw from its end: a large grain on the open side, finer ones dragged into the wedge."""
    bore, tip = solution.shown(bore_diameter) / 2, solution.shown(major_diameter) / 2
    gap, large = solution.shown(tip_gap), solution.shown(largest_grain)
    sizes = sizes_of(solution)
    fit = float(sizes.share_below(2e-3 * 0.9 * gap))
    finer = [1e3 * float(sizes.size_at(share * fit)) for share in (0.95, 0.4, 0.05)]
    scene = Scene(
        width=7.0 * bore, height=2.26 * bore, origin=(-3.5 * bore, -1.13 * bore),
        title="The leaning screw, seen from its end",
        alt=(
            f"Cut across the axis, to scale: a bore of {2 * bore:.3g} mm and a screw of {2 * tip:.3g} mm over its tips "
            f"that has moved down by {gap:.3g} mm and touches the wall. On the open side a grain of {large:.3g} mm has "
            f"room: {solution.shown(room_leaning):.3g} mm lie between core and wall. The screw turns clockwise. On the "
            "right its tips move into the wedge between tips and wall and drag finer grains in; on the left they move "
            "out of it."
        ),
    )  # fmt: skip
    _end_of_screw(scene, solution, (0.0, 0.0), gap, math.pi)
    scene.circle((0.0, bore - large / 2), large / 2, "grain")
    places = [(*wedged(bore, tip, gap, size), size) for size in finer]
    for x, y, size in places:
        scene.circle((x, y), size / 2, "grain")
    arc = np.radians(np.linspace(215, -35, 41))
    turning = 0.3 * tip * np.column_stack([np.cos(arc), np.sin(arc)])
    scene.arrow_along(turning - [0.0, gap], "motion")
    x, y, _ = places[-1]
    far = 1.35 * bore
    scene.leader((0.0, bore - 0.3 * large), (far, 0.92 * bore), f"a grain of {large:.2f} mm:\nthe screw made way")
    scene.leader((x, y), (far, -0.45 * bore), "turning drags grains\ninto this wedge", style="strong")
    scene.leader((-x, y), (-far, -0.45 * bore), "and out\nof this one")
    at = math.radians(150)
    on_circle = (tip * math.cos(at), tip * math.sin(at) - gap)
    scene.leader(on_circle, (-far, 0.75 * bore), f"circle of the tips,\nmoved down\nby {gap:.2f} mm")
    return scene


def straight_or_diagonal(mesh: float, thickness: float) -> tuple[float, bool]:
    """Return the width of the widest flake that passes a square mesh on edge, and whether it goes by the diagonal.

    A flake turned by 45 degrees touches all four wires when its width and thickness together are the diagonal.
    """
    by_diagonal = math.sqrt(2) * mesh - thickness
    return max(mesh, by_diagonal), by_diagonal > mesh


def draw_mesh(solution: Solution) -> Scene:
    """Draw what passes one opening of the sieve, seen from above, and how it lies between core and wall."""
    mesh, room = solution.shown(sieve_mesh), solution.shown(room_leaning)
    thin = 0.1 * mesh
    thick = solution.shown(flake_thickness) if flake_thickness in solution.values else 0.5 * mesh
    step, wire, splinter = 2.7 * mesh, 0.2 * mesh, (1.75 * mesh, 0.3 * mesh)
    flakes = [(thick, *straight_or_diagonal(mesh, thick)), (thin, *straight_or_diagonal(mesh, thin))]
    scene = Scene(
        width=4.1 * step, height=3.8 * mesh + room, origin=(-0.1 * step, -1.25 * mesh - room),
        title=f"Through a mesh of {mesh:.3g} mm, and then between core and wall",
        alt=(
            f"Above, one opening of a sieve of {mesh:.3g} mm with what just passes it: a ball as wide as the mesh; a "
            f"flake {thick:.3g} mm thick, {flakes[0][1]:.3g} mm wide; a flake {thin:.2g} mm thick, {flakes[1][1]:.3g} "
            f"mm wide, along the diagonal; a splinter endways, {splinter[0]:.3g} mm long. Below, the same between core "
            f"and wall of a leaning screw, {room:.3g} mm apart: the ball needs its whole size, flakes lie flat and "
            "need their thickness at least, the splinter stands crosswise and jams."
        ),
    )  # fmt: skip
    names = ("ball", "flake", "thin flake", "splinter")
    needs = (f"needs {mesh:.2f} mm", f"{thick:.2f} mm at least", f"{thin:.2f} mm at least", "crosswise: jams")
    through = (f"{mesh:.2f} mm wide", *(f"{wide:.2f} mm wide" for _, wide, _ in flakes), f"{splinter[0]:.2f} mm long")
    floor = -0.75 * mesh - room
    for place, (name, passes, need) in enumerate(zip(names, through, needs, strict=True)):
        x, y = step * (place + 0.5), 0.72 * mesh
        outer = mesh / 2 + wire
        for edge in (-outer, mesh / 2):
            scene.rectangle((x - outer - wire, y + edge), 2 * (outer + wire), wire, "screw")
            scene.rectangle((x + edge, y - outer - wire), wire, 2 * (outer + wire), "screw")
        scene.label((x, y + outer + 3.3 * wire), name, style="strong")
        scene.label((x, y + outer + 2.0 * wire), passes)
        scene.rectangle((x - 0.45 * step, floor + room), 0.9 * step, 0.14 * mesh, "wall")
        scene.rectangle((x - 0.45 * step, floor - 0.14 * mesh), 0.9 * step, 0.14 * mesh, "screw")
        scene.label((x, floor - 0.36 * mesh), need)
        if name == "ball":
            scene.circle((x, y), mesh / 2, "grain")
            scene.circle((x, floor + mesh / 2), mesh / 2, "grain")
        elif name == "splinter":
            half = splinter[1] / 2
            scene.rectangle((x - half, y - half), 2 * half, 2 * half, "grain")
            _bar(scene, (x, floor + room / 2), *splinter, _jamming_tilt(*splinter, room), "jammed")
        else:
            thickness, wide, diagonal = flakes[place - 1]
            _bar(scene, (x, y), wide, thickness, math.pi / 4 if diagonal else 0.0, "grain")
            scene.rectangle((x - wide / 2, floor), wide, thickness, "grain")
    scene.dimension((-0.02 * step, floor), (-0.02 * step, floor + room), "")
    scene.label((2 * step, floor + room + 0.3 * mesh), f"core and wall of the leaning screw, {room:.2f} mm apart")
    return scene


def draw_flake(solution: Solution) -> Scene:
    """Draw one of the largest flakes lying flat: along the axis it may rest on flanks, across it the bore curves."""
    mm = {
        q: solution.shown(q)
        for q in (bore_diameter, core_diameter, major_diameter, pitch, crest_width, root_width, core_gap, floor_width,
                  half_opening, largest_grain, flake_thickness, flake_rise, flake_need)
    }  # fmt: skip
    bore, core, wide = mm[bore_diameter] / 2, mm[core_diameter] / 2, mm[largest_grain]
    thick, rise, gap = mm[flake_thickness], mm[flake_rise], mm[core_gap]
    over, lower = gap - mm[flake_need], mm[flake_need] - rise - thick
    floor, panel = -0.2 * bore, 1.55 * bore
    scene = Scene(
        width=2 * panel + 0.24 * bore, height=gap - floor + 0.44 * bore, origin=(0.0, floor - 0.22 * bore),
        title="A flake that lies flat, along the axis and across it",
        alt=(
            f"To scale, heights from the core up. Left, along the axis: a flake {wide:.3g} mm wide and {thick:.3g} mm "
            f"thick between two flights; the bare core is {mm[floor_width]:.3g} mm wide, so that the flake "
            f"rests {rise:.2f} mm above it. Right, across the axis: the bore curves down towards the flake's edges. "
            f"It needs {mm[flake_need]:.2f} mm between core and wall and has {gap:.2f} mm."
        ),
    )  # fmt: skip
    left, middle = 0.08 * bore, 0.5 * panel
    profile = flight_profile(
        core, mm[major_diameter] / 2, mm[pitch], mm[crest_width], mm[root_width], 0.0, panel - 2 * left,
        (0.5 * panel - left) / mm[pitch] - 0.5,
    ) - [-left, core]  # fmt: skip
    scene.polygon([(left, floor), *profile, (panel - left, floor)], "screw")
    scene.rectangle((left, gap), panel - 2 * left, 0.1 * bore, "wall")
    scene.rectangle((middle - wide / 2, rise), wide, thick, "grain")
    for low, high in ((0.0, rise), (rise, rise + thick)):
        if high - low > 2 * scene.px:
            scene.dimension((middle, low), (middle, high), f"{high - low:.2f} mm", text_at="right")
    scene.dimension(
        (panel - left - 0.05 * bore, 0.0), (panel - left - 0.05 * bore, gap), f"{gap:.2f} mm", text_at="left"
    )
    lies = "on the core" if rise == 0 else "on the flanks" if wide < 2 * mm[half_opening] else "on the crests"
    scene.label((middle, floor - 0.13 * bore), f"along the axis: it rests {lies}", style="strong")

    middle += panel
    turn = np.radians(np.linspace(-40, 40, 81))
    arc = np.column_stack([np.sin(turn), np.cos(turn)])
    inner, outer = ([middle, -core] + radius * arc for radius in (bore, 1.1 * bore))
    scene.polygon([*inner, *outer[::-1]], "wall")
    low = math.sqrt(core**2 - (core + floor) ** 2)
    at_floor = np.radians(np.linspace(-1, 1, 61)) * math.degrees(math.asin(low / core))
    scene.polygon(np.column_stack([middle + core * np.sin(at_floor), core * np.cos(at_floor) - core]), "screw")
    scene.rectangle((middle - wide / 2, rise), wide, thick, "grain")
    scene.line((middle - 0.9 * wide, gap), (middle + 0.9 * wide, gap), "hidden")
    spare = f"{abs(over):.2f} mm {'to spare' if over >= 0 else 'too little'}"
    words = f"bore {lower:.2f} mm\nlower here,\n{spare}"
    scene.leader((middle + wide / 2, rise + thick), (middle + 0.38 * bore, 0.42 * gap), words)
    scene.label((middle, floor - 0.13 * bore), "across it: the bore curves away", style="strong")
    return scene


def _bar(scene: Scene, middle: Point, long: float, thick: float, tilt: float, style: str) -> None:
    along, across = np.array([math.cos(tilt), math.sin(tilt)]), np.array([-math.sin(tilt), math.cos(tilt)])
    corners = [(long, thick), (-long, thick), (-long, -thick), (long, -thick)]
    scene.polygon([np.asarray(middle) + a / 2 * along + b / 2 * across for a, b in corners], style)


def _jamming_tilt(long: float, thick: float, room: float) -> float:
    """Return the angle at which a bar just reaches from core to wall; upright if it is too short to."""
    diagonal = math.hypot(long, thick)
    return math.pi / 2 if room >= diagonal else math.asin(room / diagonal) - math.atan2(thick, long)


def draw_opposed(solution: Solution) -> Scene:
    """Draw two large grains on one half of the circle, where the screw leans away, and two on opposite sides."""
    bore, gap, large = solution.shown(bore_diameter) / 2, solution.shown(tip_gap), solution.shown(largest_grain)
    room = solution.shown(core_gap)
    apart = 4.8 * bore
    scene = Scene(
        width=2 * apart, height=2.75 * bore, origin=(-apart, -1.55 * bore), title="Two large grains in one tube",
        alt=(
            f"Two cuts across a bore of {2 * bore:.3g} mm with two grains of {large:.3g} mm each. On the left both lie "
            f"on one half: the screw leans away by {gap:.3g} mm and both have room. On the right they oppose each "
            f"other: each side has only the {room:.3g} mm over the core of a centred screw."
        ),
    )  # fmt: skip
    for sign, lowered, spots, fits, words in (
        (-1, gap, (58, 122), True, "on one half: the screw leans away"),
        (1, 0.0, (90, 270), large <= room, f"opposite: {room:.2f} mm on each side"),
    ):
        middle = (sign * apart / 2, 0.0)
        _end_of_screw(scene, solution, middle, lowered, 0.0 if sign > 0 else -math.pi / 2)
        for spot in np.radians(spots):
            away = bore - large / 2 if fits else room / 2 + solution.shown(core_diameter) / 2
            at = (middle[0] + away * math.cos(spot), away * math.sin(spot))
            scene.circle(at, large / 2, "grain" if fits else "jammed")
        scene.label((middle[0], -1.33 * bore), words, style="strong")
    scene.label((0.0, 0.8 * bore), f"grains\nof {large:.2f} mm")
    return scene


_FINEST, _COARSEST, _OVER_LEGEND = 0.3, 4.0, 34.0


class MeshGraph:
    """What the flights catch, and the chance that two large grains oppose, over the mesh of the sieve."""

    def __init__(self, solution: Solution) -> None:
        figure, (axes,) = graph(height=300)
        plot = LivePlot(figure, alt="Caught share and chance that two large grains oppose, over the mesh.")
        frame(
            axes,
            x=sieve_mesh.axis("mesh of the sieve"),
            y="share, chance (%)",
            xlim=(_FINEST, _COARSEST),
            ylim=(0, 112),
            xscale="log",
        )
        ticks = (0.3, 0.5, 1, 2, 4)
        axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
        axes.set_yticks(range(0, 101, 20))
        axes.minorticks_off()
        plot.curve(axes, "limit", "limit", label="largest that passes a centred screw")
        plot.curve(axes, "caught", "main", label="share that the flights push")
        plot.curve(axes, "opposed", "second", label="chance that two large grains oppose")
        plot.marker(axes, "caught_here", "here")
        plot.marker(axes, "opposed_here", "here")
        plot.legend(axes, "lower right")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        edge = solution[passing_size_centred]
        meshes = np.union1d(sieve_mesh.si(np.geomspace(_FINEST, _COARSEST, 160)), edge * np.linspace(0.999, 1.15, 40))
        across = sieve_mesh.shown(meshes)
        caught, opposed = solution.sweep([caught_share, opposed_chance], [sieve_mesh])(meshes)
        here = solution.shown(sieve_mesh)
        self._plot.update(
            curves={
                "limit": (sieve_mesh.shown(np.array([edge, edge])), np.array([_OVER_LEGEND, 112.0])),
                "caught": (across, 100 * caught),
                "opposed": (across, 100 * np.broadcast_to(opposed, meshes.shape)),
            },
            markers={
                "caught_here": (here, solution.shown(caught_share)),
                "opposed_here": (here, 100 * solution[opposed_chance]),
            },
            alt=(
                f"With the sieve of {here:.3g} mm the flights push {solution.text(caught_share)} of the mass, and the "
                f"chance that two large grains oppose is {solution.text(opposed_chance)}. Below a mesh of "
                f"{1e3 * edge:.3g} mm, the largest grain that passes a centred screw, that chance is nothing; "
                f"above it, {'it rises like a cliff' if np.max(opposed) > 0 else 'too'}."
            ),
        )
        return self._plot
