"""Figures of the chapter: a turn unrolled, the flight in section, a sheared pack of cards, volumes as bars."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from augerbook.chapters.screw import (
    channel_volume,
    flight_centroid,
    flight_depth,
    flight_volume,
    floor_width,
    helix_angle_core,
    helix_angle_tip,
    net_volume,
    ring_volume,
    room_leaning,
    root_width,
    share_outside,
)
from augerbook.core.network import Solution
from augerbook.draw.bars import key_to_parts, parted_bar
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch
from augerbook.head.tube import bore_diameter


def draw_unrolled(solution: Solution) -> Scene:
    """Draw one turn of the flight unrolled, along its tip and along its root: two triangles of one height."""
    round_tip, round_core = (np.pi * solution.shown(q) for q in (major_diameter, core_diameter))
    climb = solution.shown(pitch)
    scene = Scene(
        width=1.32 * round_tip, height=2.5 * climb, origin=(-0.12 * round_tip, -0.9 * climb),
        title="One turn, unrolled",
        alt=(
            f"Two right-angled triangles to scale, both as high as the pitch, {climb:.3g} mm. The longer one has the "
            f"way round at the tip, {round_tip:.3g} mm, as its base and rises at {solution.text(helix_angle_tip)}; the "
            f"shorter has the way round at the core, {round_core:.3g} mm, and rises at "
            f"{solution.text(helix_angle_core)}."
        ),
    )  # fmt: skip
    scene.polygon([(0, 0), (round_tip, 0), (round_tip, climb)], "plate")
    scene.polygon([(0, 0), (round_core, 0), (round_core, climb)], "screw")
    scene.dimension((round_tip, 0), (round_tip, climb), f"pitch {climb:.3g} mm", text_at="right")
    scene.dimension((0, 0), (round_core, 0), f"round the core {round_core:.3g} mm", offset=-0.28 * climb)
    scene.dimension((0, 0), (round_tip, 0), f"round the tips {round_tip:.3g} mm", offset=-0.62 * climb)
    scene.leader((0.55 * round_core, 0.55 * climb), (0.3 * round_core, 1.15 * climb),
                 f"at the core {solution.text(helix_angle_core)}")  # fmt: skip
    scene.leader((0.88 * round_tip, 0.88 * climb), (0.82 * round_tip, 1.3 * climb),
                 f"at the tip {solution.text(helix_angle_tip)}")  # fmt: skip
    return scene


def draw_section(solution: Solution) -> Scene:
    """Draw the axial section of one flight: crest, root, depth, and where its centroid lies."""
    crest, root, deep = (solution.shown(q) for q in (crest_width, root_width, flight_depth))
    core, floor = solution.shown(core_diameter) / 2, solution.shown(floor_width)
    height = solution.shown(flight_centroid) - core
    half = max(root / 2 + max(floor, 0.0) / 2, 0.9 * deep)
    scene = Scene(
        width=5.2 * half, height=1.85 * deep, origin=(-2.6 * half, -0.55 * deep),
        title="The flight, cut along the axis",
        alt=(
            f"A trapezium to scale on the core: {crest:.3g} mm wide at its crest, {root:.3g} mm at its root, "
            f"{deep:.3g} mm high. Its centroid lies {height:.3g} mm above the core, below half of the height."
        ),
    )  # fmt: skip
    scene.rectangle((-2.2 * half, -0.3 * deep), 4.4 * half, 0.3 * deep, "screw")
    scene.polygon([(-root / 2, 0), (-crest / 2, deep), (crest / 2, deep), (root / 2, 0)], "screw")
    scene.circle((0, height), 0.025 * deep, "solid_ink")
    scene.leader((0, height), (0.95 * half, 1.25 * height), f"centroid, {height:.2f} mm up")
    scene.dimension((-crest / 2, 1.08 * deep), (crest / 2, 1.08 * deep), f"crest c {crest:.3g} mm", text_at="q")
    scene.dimension((-root / 2, -0.1 * deep), (root / 2, -0.1 * deep), f"root b {root:.3g} mm", offset=-0.28 * deep)
    scene.dimension((-0.75 * half - root / 4, 0), (-0.75 * half - root / 4, deep), f"h {deep:.3g} mm", text_at="left")
    at = 0.62 * deep
    wide = crest + 2 * (deep - at) * (root - crest) / (2 * deep)
    scene.line((-wide / 2, at), (wide / 2, at), "hidden")
    scene.label((wide / 2 + 0.12 * half, at), "w(x)", anchor="start", style="strong")
    return scene


def draw_deck() -> Scene:
    """Draw a pack of cards, straight and sheared: the shape changes, what it holds does not."""
    cards, wide, thick, lean = 12, 6.0, 0.32, 0.42
    scene = Scene(
        width=24.0, height=5.6, origin=(-2.6, -1.0), title="A shear changes no volume",
        alt=(
            "A pack of twelve cards, once straight and once with each card pushed a little further than the one below "
            "it. The outline leans, but the cards are the same: so is the volume."
        ),
    )  # fmt: skip
    for left, push, words in ((0.0, 0.0, "turned only"), (10.0, lean, "turned and climbing")):
        for number in range(cards):
            scene.rectangle((left + number * push, number * thick), wide, thick, "plate" if number % 2 else "screw")
        scene.label((left + wide / 2 + cards * push / 2, -0.55), words)
    scene.arrow((7.4, cards * thick / 2), (9.6, cards * thick / 2), "motion")
    scene.dimension((-0.4, 0), (-0.4, cards * thick), "same", text_at="left")
    return scene


def draw_volumes(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw what one pitch of bore holds as bars, one for each named build: core, flight, room between, room outside."""
    styles = (("core", "screw"), ("flight", "metal"), ("between the flights", "grain"), ("outside them", "soft"))
    rows = []
    for name, solution in solutions:
        whole = np.pi / 4 * solution.shown(bore_diameter) ** 2 * solution.shown(pitch)
        known = [solution.shown(q) for q in (flight_volume, channel_volume, ring_volume)]
        rows.append((name, solution, [whole - sum(known), *known]))
    shares = "; ".join(
        f"{name}: {solution.text(net_volume)} of room, {solution.text(share_outside)} of it outside the flights"
        for name, solution, _ in rows
    )
    long, high, left = 560.0, 44.0, 110.0
    scene = Scene(
        width=800, height=70 + 92 * len(rows), title="One pitch of bore, and what fills it",
        alt=f"A bar for each build, parted into core, flight, room between the flights and outside them. {shares}.",
    )  # fmt: skip
    for place, (name, solution, volumes) in enumerate(rows):
        y = 92 * (len(rows) - place) - 16
        scene.label((left - 14, y + high / 2), name, anchor="end", style="strong")
        parted_bar(scene, (left, y), long, high, [(v, style) for v, (_, style) in zip(volumes, styles, strict=True)])
        scene.label((left + long + 12, y + high / 2), solution.text(net_volume), anchor="start")
        scene.label((left + long + 12, y + high / 2 - 19), "of room", anchor="start", style="small")
    key_to_parts(scene, (left, 18), 168, styles)
    return scene


class ScrewGraphs:
    """Share of the room outside the flights over the bore, and room for a grain; both move with the screw."""

    def __init__(self, solution: Solution) -> None:
        figure, (share, room) = graph(columns=2, height=330)
        plot = LivePlot(figure, alt="Share of the room outside the flights, and room for a grain, over the bore.")
        frame(share, x=bore_diameter.axis("bore"), y=share_outside.axis("room outside the flights"), xlim=(0, 16),
              ylim=(0, 100), title="What no flight pushes")  # fmt: skip
        frame(room, x=bore_diameter.axis("bore"), y=room_leaning.axis("room for a grain"), xlim=(0, 16), ylim=(0, 8),
              title="What fits past")  # fmt: skip
        plot.curve(share, "share", "main")
        plot.marker(share, "share_here", "here")
        plot.curve(room, "room", "main", label="screw leaning")
        plot.marker(room, "room_here", "here")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        over = solution.sweep([share_outside, room_leaning], [bore_diameter])
        bores = np.linspace(solution[major_diameter] * 1.001, bore_diameter.si(16), 60)
        outside, room = over(bores)
        across = bore_diameter.shown(bores)
        here = solution.shown(bore_diameter)
        self._plot.update(
            curves={"share": (across, share_outside.shown(outside)), "room": (across, room_leaning.shown(room))},
            markers={
                "share_here": (here, solution.shown(share_outside)),
                "room_here": (here, solution.shown(room_leaning)),
            },
            alt=(
                f"Left: the share of the room outside the flights grows with the bore from nothing; at "
                f"{solution.text(bore_diameter)} it is {solution.text(share_outside)}. Right: the room for a grain "
                f"beside a leaning screw grows by as much as the bore does; here it is {solution.text(room_leaning)}."
            ),
        )
        return self._plot
