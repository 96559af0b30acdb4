"""Figures of the chapter: a piece of the channel, two circles that hold, the pressure along the tube, screws, bars."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from augerbook.chapters.conveying import (
    angle_carried,
    angle_lining,
    bore_hold,
    carry_number,
    cold_length,
    grip_length,
    inlet_pressure,
    solid_per_turn,
    tip_hold,
    wall_hold,
)
from augerbook.chapters.conveying.picture import PlugState, plug_state
from augerbook.chapters.hopper import void_share
from augerbook.chapters.screw import helix_angle_mean, net_volume, root_width
from augerbook.chapters.screw.picture import screw_outline
from augerbook.chapters.thrust import nozzle_pressure, thread_mean_diameter
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.bars import key_to_parts, parted_bar
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch
from augerbook.head.tube import bore_diameter

#: Forces on the piece as pairs: against the sense of the screw, and towards the nozzle.
Force = tuple[float, float]


def forces_on_piece(state: PlugState, mean_radius: float) -> list[tuple[str, str, Force]]:
    """Return letter, words and force (N) of all that acts on a slice; together they come to nothing unless it slips.

    The first number counts against the sense of the screw, as if it acted at half depth of the flight: a torque over
    ``mean_radius`` (mm). The second counts towards the nozzle.
    """
    slides_on = "wall" if state.carried else "lining"
    forces = [
        (
            "F",
            "flank pushes" if state.flank_push >= 0 else "flank presses less",
            (-state.flank_torque / mean_radius, state.flank_push),
        ),
        ("S", "core and flanks rub", (-state.screw_torque / mean_radius, -state.screw_drag)),
        ("W", f"{slides_on} holds", (state.wall_torque / mean_radius, -state.wall_drag)),
        ("P", "pressure ahead", (-state.thread_torque / mean_radius, -state.thread_push)),
    ]
    if state.ring_push:
        forces.append(("R", "ring ahead", (0.0, -state.ring_push)))
    return forces


def draw_piece(solution: Solution) -> Scene:
    """Draw a piece of the channel, unrolled at half depth, with the forces on it, and the same forces tip to tail."""
    state, mean = plug_state(solution), solution.shown(thread_mean_diameter) / 2
    forces = forces_on_piece(state, mean)
    slope = solution[helix_angle_mean]
    listed = ", ".join(f"{words} with {math.hypot(*force):.3g} N" for _, words, force in forces)
    scene = Scene(
        width=800, height=400, title="A piece of the channel, unrolled",
        alt=(
            f"The channel, unrolled and seen from the wall; it rises at {solution.text(helix_angle_mean)}. "
            f"Nozzle at the top, the screw moves to the left. On a piece of the plug that stands for 1 mm of tube at "
            f"1 MPa act: {listed}. Beside it the same arrows tip to tail"
            f"{'; they do not close, for the plug slips' if state.slips else ': they close'}."
        ),
    )  # fmt: skip
    left, right, middle, high = 16.0, 424.0, 228.0, 300.0
    centre = np.array([(left + right) / 2, middle])
    step = 0.56 * high
    thick = step * (solution.shown(crest_width) + solution.shown(root_width)) / 2 / solution.shown(pitch)
    along, across = np.array([math.cos(slope), math.sin(slope)]), np.array([-math.sin(slope), math.cos(slope)])

    def at_edge(x: float, rise: float) -> tuple[float, float]:
        return x, middle + rise + (x - centre[0]) * math.tan(slope)

    channel = [at_edge(x, s * (step - thick) / 2) for x, s in ((left, -1), (right, -1), (right, 1), (left, 1))]
    scene.polygon(channel, "plastic")
    for side in (1, -1):
        near, far = side * (step - thick) / 2, side * (step + thick) / 2
        scene.polygon([at_edge(left, near), at_edge(right, near), at_edge(right, far), at_edge(left, far)], "screw")
    wide = (step - thick) / 2 * math.cos(slope)
    piece = [centre + x * along + y * across for x, y in ((-84, -wide), (84, -wide), (84, wide), (-84, wide))]
    scene.polygon(piece, "grain")

    longest = max(math.hypot(*force) for *_, force in forces)
    arrows = {letter: np.array(force) * 128 / longest for letter, _, force in forces}
    places = {
        "F": centre - wide * across + 20 * along - arrows["F"],
        "S": centre + 0.3 * wide * across - 8 * along,
        "W": centre + 0.3 * wide * across + 8 * along,
        "P": centre + 84 * along - 0.45 * wide * across - arrows["P"],
        "R": centre + wide * across - 40 * along - arrows.get("R", np.zeros(2)),
    }
    for letter, arrow in arrows.items():
        tail = places[letter]
        if math.hypot(*arrow) > 1:
            scene.arrow(tail, tail + arrow, "force")
        beyond = {"S": tail + arrow, "W": tail + arrow}.get(letter, tail)
        away = arrow / max(math.hypot(*arrow), 1e-9) * (1 if letter in "SW" else -1)
        scene.label(beyond + 13 * away, letter, style="force")
    upper = at_edge(right - 50, step / 2)
    scene.arrow(upper, (upper[0] - 90, upper[1] - 90 * math.tan(slope)), "motion")
    scene.label((upper[0] - 45, upper[1] + 36), "screw turns", style="small")
    scene.arrow((left + 16, 28), (left + 16, 74), "motion")
    scene.label((left + 28, 40), "nozzle", anchor="start", style="small")
    _tip_to_tail(scene, forces, state, solution)
    return scene


def _tip_to_tail(scene: Scene, forces: Sequence[tuple[str, str, Force]], state: PlugState, solution: Solution) -> None:
    ends = np.vstack([np.zeros(2), np.cumsum([force for *_, force in forces], axis=0)])
    low, span = ends.min(axis=0), np.ptp(ends, axis=0)
    scale = min(250 / max(span[0], 1e-9), 150 / max(span[1], 1e-9))
    drawn = (ends - low) * scale + np.array([612 - span[0] * scale / 2, 216])
    middle = drawn.mean(axis=0)
    for (letter, *_), tail, tip in zip(forces, drawn[:-1], drawn[1:], strict=True):
        if math.hypot(*(tip - tail)) > 1:
            scene.arrow(tail, tip, "force")
        half = (tail + tip) / 2
        away = half - middle
        scene.label(half + 16 * away / max(math.hypot(*away), 1e-9), letter, style="force")
    for row, (letter, words, force) in enumerate(forces):
        y = 162 - 24 * row
        scene.label((470, y), letter, style="force")
        scene.label((490, y), words, anchor="start")
        scene.label((760, y), f"{math.hypot(*force):.3g} N", anchor="end")
    angle = solution.text(angle_carried if state.carried else angle_lining)
    words = "they do not close: it slips" if state.slips else f"it slides at {angle} to the circumference"
    scene.label((470, 162 - 24 * len(forces)), words, anchor="start", style="note")


def draw_circles(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw the bore across its axis for each named build: which of the two circles holds the plug less well."""
    told = "; ".join(
        f"{name}: over the tips {solution.text(tip_hold)}, at the wall {solution.text(bore_hold)}, "
        f"carry number {solution.text(carry_number)}"
        for name, solution in solutions
    )
    each = 400.0
    scene = Scene(
        width=each * len(solutions), height=0.54 * each, title="Two circles that can give way",
        alt=f"Tube, ring, plug and core across the axis, each bore drawn alike. The weaker circle is heavy. {told}.",
    )  # fmt: skip
    for place, (name, solution) in enumerate(solutions):
        middle, bore = (each * place + 104.0, 100.0), 76.0
        scale = 2 * bore / solution.shown(bore_diameter)
        tip, core = (solution.shown(q) * scale / 2 for q in (major_diameter, core_diameter))
        for radius, style in ((bore + 12, "screw"), (bore, "grain"), (tip, "plastic"), (core, "screw")):
            scene.circle(middle, radius, style)
        weak = tip if solution[wall_hold] == solution[tip_hold] else bore
        scene.circle(middle, weak, "heavy")
        scene.label((middle[0] + bore + 44, 196), name, anchor="start", style="strong")
        x = middle[0] + bore + 38
        for y, radius, words, quantity in ((144, bore, "wall", bore_hold), (100, tip, "tips", tip_hold)):
            lean = (y - middle[1]) / radius
            on_circle = (middle[0] + radius * math.sqrt(max(0.0, 1 - lean**2)), y)
            scene.leader(on_circle, (x, y), f"{words}: {solution.text(quantity)}",
                         style="strong" if radius == weak else "label")  # fmt: skip
        scene.label((x + 6, 56), f"G = {solution.text(carry_number)}", anchor="start", style="strong")
    return scene


def draw_rise(solution: Solution) -> LivePlot:
    """Draw the pressure along the cold tube, with the needed exponent and with the largest one.

    In equal steps of the way a pressure in proportion to its own rise grows by equal factors.
    """
    cold, shortest = solution.shown(cold_length), min(solution.shown(grip_length), solution.shown(cold_length))
    low, top = (float(nozzle_pressure.shown(solution[q])) for q in (inlet_pressure, nozzle_pressure))
    grown = np.geomspace(low, top, 181)
    places = np.linspace(0.0, cold, 181)
    tenth, half = (float(np.interp(share * top, grown, places)) for share in (0.1, 0.5))
    figure, (axes,) = graph(height=300)
    frame(axes, x=cold_length.axis("place in the cold tube"), y=nozzle_pressure.axis("pressure"), xlim=(0, cold),
          ylim=(0, 1.2 * top))  # fmt: skip
    plot = LivePlot(
        figure,
        alt=(
            f"Pressure along the {cold:.0f} mm of cold tube: below a tenth of the nozzle's until the last "
            f"{cold - tenth:.0f} mm, half of it at {half:.0f} mm. With the largest exponent it rises within the last "
            f"{shortest:.0f} mm."
        ),
    )
    plot.curve(axes, "needed", "main", label="needed exponent, over all of the cold length")
    plot.curve(axes, "largest", "second", label="largest exponent, shortest plug")
    plot.legend(axes, "upper left")
    late = np.linspace(cold - shortest, cold, 181)
    plot.update(curves={"needed": (places, grown), "largest": (late, grown)})
    return plot


def draw_screws(solutions: Sequence[tuple[str, Solution]], told: Sequence[Quantity]) -> Scene:
    """Draw up to three screws in one bore, in axial section to one scale, with some of their quantities below."""
    listed = "; ".join(
        f"{name}: {', '.join(f'{q.name_in_words} {solution.text(q)}' for q in told)}" for name, solution in solutions
    )
    scene = Scene(
        width=800, height=200 + 22 * len(told), title="Screws in one bore, to scale",
        alt=f"Axial sections with the room between the flights and the ring over the tips. {listed}.",
    )  # fmt: skip
    wide, start, step_on = 168.0, 252.0, 182.0
    scale = 130 / max(solution.shown(bore_diameter) for _, solution in solutions)
    axis = 22 * len(told) + 98
    for row, quantity in enumerate(told):
        scene.label((12, 22 * (len(told) - row) - 6), quantity.name_in_words, anchor="start", style="small")
    for place, (name, solution) in enumerate(solutions):
        left = start + step_on * place
        bore, tip, core = (solution.shown(q) * scale / 2 for q in (bore_diameter, major_diameter, core_diameter))
        step, crest, root = (solution.shown(q) * scale for q in (pitch, crest_width, root_width))
        scene.rectangle((left, axis - bore), wide, 2 * bore, "grain")
        scene.rectangle((left, axis - tip), wide, 2 * tip, "plastic")
        profile = (core, tip, step, crest, root, left, left + wide)
        scene.polygon(screw_outline(*profile, origin=(0.0, axis)), "screw")
        for y in (axis + bore, axis - bore):
            scene.line((left, y), (left + wide, y), "heavy")
        scene.label((left + wide / 2, axis + bore + 18), name, style="strong")
        for row, quantity in enumerate(told):
            scene.label((left + wide / 2, 22 * (len(told) - row) - 6), solution.text(quantity), style="small")
    return scene


def draw_turn(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw the room of a turn as a bar for each named build: plastic that comes, plastic that does not, air."""
    styles = (("plastic that comes", "melt"), ("plastic that stays or slips", "grain"), ("air", "void"))
    rows = []
    for name, solution in solutions:
        room, comes = solution.shown(net_volume), solution.shown(solid_per_turn)
        air = room * solution[void_share]
        rows.append((name, solution, [comes, room - air - comes, air]))
    told = "; ".join(
        f"{name}: {solution.text(net_volume)} of room, {solution.text(solid_per_turn)} of solid plastic comes"
        for name, solution, _ in rows
    )
    long, high, left = 560.0, 40.0, 100.0
    scene = Scene(
        width=800, height=64 + 66 * len(rows), title="The room of a turn, and what comes of it",
        alt=f"A bar for each build, parted into plastic that comes, plastic that does not, and air. {told}.",
    )  # fmt: skip
    for place, (name, solution, volumes) in enumerate(rows):
        y = 66 * (len(rows) - place) - 10
        scene.label((left - 14, y + high / 2), name, anchor="end", style="strong")
        parted_bar(scene, (left, y), long, high, [(v, style) for v, (_, style) in zip(volumes, styles, strict=True)])
        scene.label((left + long + 12, y + high / 2 + 9), solution.text(solid_per_turn), anchor="start")
        scene.label(
            (left + long + 12, y + high / 2 - 9), f"of {solution.text(net_volume)}", anchor="start", style="small"
        )
    key_to_parts(scene, (left, 14), 215, styles)
    return scene
