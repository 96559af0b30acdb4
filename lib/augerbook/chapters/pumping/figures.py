"""Figures of the chapter: films, strips of the gap, a screw out of centre from the end, and what counts most."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.pumping import (
    back_conductance,
    drag_bent,
    drag_leaning,
    pump_stiffness,
)
from augerbook.chapters.pumping.models import gap_means, groove
from augerbook.chapters.screw import core_gap, flight_depth, root_width, tip_gap
from augerbook.chapters.screw.picture import flight_profile
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.screw import core_diameter, crest_width, eccentricity, major_diameter, pitch, screw_offset
from augerbook.head.tube import bore_diameter

Array = NDArray[np.float64]
Named = Sequence[tuple[str, Solution]]


def draw_films() -> Scene:
    """Draw a film of melt between two walls: dragged, pressed back, and both at once with nothing left over."""
    film = groove(gap_means(1.0, 1.0, 0.5, 0.5, 1.0))  # no flight: a smooth film, one thick
    push = film.drag_along / film.back_along  # the gradient at which as much flows back as the wall drags ahead
    up = np.linspace(0.0, 1.0, 41)
    dragged, pressed = up, -push * up * (1.0 - up) / 2.0
    long, high, wide = 120.0, 150.0, 800.0
    scene = Scene(
        width=wide, height=258.0, title="What melt does between two walls",
        alt=(
            "Three films between two walls; the upper wall moves to the right. Dragged alone, the speed is a straight "
            f"line. Pressed back alone, it is a parabola that bulges to the left. Both together, with the end closed: "
            f"melt goes right near the moving wall and left near the other, where it reaches "
            f"{-float((dragged + pressed).min()):.2f} of the wall's speed; none is left over."
        ),
    )  # fmt: skip
    panels = (("the wall drags:", "a straight line", dragged, 0.2),
              ("pressure presses back:", "a parabola", pressed, 0.7),
              ("both, end closed:", "as much back as ahead", dragged + pressed, 0.42))  # fmt: skip
    for number, (what, form, speed, start) in enumerate(panels):
        left, floor, room = 20.0 + 265.0 * number, 64.0, 230.0
        scene.rectangle((left, floor - 16), room, 16, "screw")
        scene.rectangle((left, floor + high), room, 16, "wall")
        at = left + start * room
        curve = np.column_stack([at + long * speed, floor + high * up])
        scene.polygon(np.vstack([curve, [(at, floor + high), (at, floor)]]), "band")
        scene.line((at, floor), (at, floor + high), "thin")
        scene.path(curve, "main")
        for level in (8, 16, 24, 32, 38):
            reach = long * speed[level]
            if abs(reach) > 24:
                scene.arrow((at, floor + high * up[level]), (at + reach, floor + high * up[level]), "motion")
        if number != 1:
            scene.arrow((left + 70, floor + high + 8), (left + 160, floor + high + 8), "force")
        scene.label((left + room / 2, 34), what, style="strong")
        scene.label((left + room / 2, 15), form, style="small")
    return scene


def draw_end_view(solution: Solution) -> Scene:
    """Draw a screw out of centre in its bore, seen from the end: a wedge of gap, narrow below, wide above."""
    wall, tip, core = (solution.shown(q) / 2 for q in (bore_diameter, major_diameter, core_diameter))
    off = solution.shown(tip_gap) * solution[eccentricity]
    wide, narrow = (tip_gap.text(tip_gap.si(wall - tip + end)) for end in (off, -off))
    turns = solution.choices[screw_offset] == "bent"
    stays = "bent: the wedge turns with the screw" if turns else "it leans: the wedge stays where it is"
    scene = Scene(
        width=8.4 * wall, height=2.5 * wall, origin=(-4.2 * wall, -1.25 * wall),
        title="Out of centre, seen from the end",
        alt=(
            "A bore in section, to scale, with a screw in it that lies low: the room between its tips and the wall is "
            f"a wedge bent round the screw, {wide} above and {narrow} below. {stays.capitalize()}."
        ),
    )  # fmt: skip
    scene.circle((0, 0), 1.12 * wall, "void")
    scene.circle((0, 0), wall, "melt")
    scene.circle((0, -off), tip, "solid_paper")
    scene.circle((0, -off), core, "screw")
    scene.line((-0.1 * wall, 0), (0.1 * wall, 0), "centre")
    scene.line((0, -0.1 * wall), (0, 0.1 * wall), "centre")
    scene.circle((0, -off), 0.03 * wall, "solid_ink")
    scene.leader((0, (tip - off + wall) / 2), (1.4 * wall, 0.9 * wall), f"wide side {wide}")
    scene.leader((0, (-tip - off - wall) / 2), (1.4 * wall, -0.95 * wall), f"narrow side {narrow}")
    scene.leader(((tip + core) / 2, -off), (1.4 * wall, 0.0), "flight")
    scene.label(
        (-3.9 * wall, 0), stays.replace(": ", ":\n").replace("wedge ", "wedge\n"), anchor="start", style="strong"
    )
    return scene


def draw_out_of_centre(solution: Solution) -> LivePlot:
    """Draw flow back and drag of a leaning and of a bent screw over how far it is out of centre."""
    out = np.linspace(0.0, 0.95, 39)
    back, lean, bent = solution.sweep([back_conductance, drag_leaning, drag_bent], [eccentricity])(out)
    curves = (("back", "second", "flow back, either way", back), ("lean", "main", "drag ahead, leaning", lean),
              ("bent", "fourth", "drag ahead, bent", bent))  # fmt: skip
    shares = {name: values / values[0] for name, _, _, values in curves}
    figure, (axes,) = graph(height=230)
    ends = {name: float(value[-1]) for name, value in shares.items()}
    plot = LivePlot(figure, alt=(
        "Flow back and drag over the place of the screw, each over that of the centred screw. At "
        f"{out[-1]:.2f} of the gap out of centre flow back is {ends['back']:.2f} times as large. A leaning screw drags "
        f"{ends['lean']:.2f} times as much ahead, which nearly makes up for it; a bent one {ends['bent']:.2f} times."
    ))  # fmt: skip
    frame(axes, x="eccentricity (0: centred, 1: touches the wall)", y="times the centred screw", xlim=(0, 1),
          ylim=(0, 2.2), title="Out of centre: leaning costs little, bent costs much")  # fmt: skip
    for name, style, label, _ in curves:
        plot.curve(axes, name, style, label=label)
    plot.legend(axes, "lower left")
    plot.update(curves={name: (out, share) for name, share in shares.items()})
    return plot


def draw_strips(solution: Solution) -> Scene:
    """Draw the film between wall and screw over two pitches, to scale: thin over the tips, thick over the grooves."""
    tip, core, crest, root, lead = (solution.shown(q) for q in (tip_gap, core_gap, crest_width, root_width, pitch))
    long = 2.0 * lead
    scene = Scene(
        width=2.1 * long, height=core + 0.7 * lead, origin=(-0.55 * long, -0.32 * lead),
        title="One film, thin and thick",
        alt=(
            f"The film of melt between wall and screw over two pitches, to scale: {solution.text(tip_gap)} over the "
            f"tips, {solution.text(core_gap)} over the core. The thick strips carry nearly all along the groove; the "
            "thin strip over the tip decides what passes across it."
        ),
    )  # fmt: skip
    scene.rectangle((0, 0), long, core, "melt")
    scene.rectangle((0, core), long, 0.09 * lead, "void")
    outline = flight_profile(0.0, core - tip, lead, crest, root, 0.0, long, 0.25)
    scene.polygon(np.vstack([outline, [(long, -0.09 * lead), (0, -0.09 * lead)]]), "screw")
    scene.leader((0.25 * lead, core - 0.5 * tip), (-0.12 * long, core + 0.24 * lead), "thin: decides")
    scene.leader((0.75 * lead, 0.5 * core), (0.75 * lead, core + 0.24 * lead), "thick: carries along the groove")
    scene.dimension((1.25 * lead, core - tip), (1.25 * lead, core), solution.text(tip_gap), text_at="right")
    scene.dimension((long + 0.06 * lead, 0), (long + 0.06 * lead, core), solution.text(core_gap), text_at="right")
    scene.label((0.5 * long, -0.045 * lead), "screw", style="small")
    scene.label((0.5 * long, core + 0.045 * lead), "wall", style="small")
    scene.arrow((0.72 * long, -0.19 * lead), (0.1 * long, -0.19 * lead), "force", "back across the flights", "tail")
    return scene


def stiffness_over_change(solution: Solution, change: Array) -> dict[str, Array]:
    """Return the pump stiffness over the build's own, for gap, depth and pitch each times ``change`` (n,)."""
    sweep = solution.sweep([pump_stiffness], [bore_diameter, core_diameter, pitch])
    bore, core, lead = (np.full(change.size, solution[q]) for q in (bore_diameter, core_diameter, pitch))
    deeper = core - 2.0 * solution[flight_depth] * (change - 1.0)
    wider = bore + 2.0 * solution[tip_gap] * (change - 1.0)
    tried = {"gap": (wider, core, lead), "depth": (bore, deeper, lead), "pitch": (bore, core, lead * change)}
    return {name: sweep(*at)[0] / solution[pump_stiffness] for name, at in tried.items()}


def draw_weights(solutions: Named) -> LivePlot:
    """Draw the pump stiffness over a change of gap, of depth and of pitch, for each build."""
    change = np.linspace(0.7, 1.3, 25)
    figure, every = graph(columns=len(solutions), height=250)
    found = {name: stiffness_over_change(solution, change) for name, solution in solutions}
    tenth = int(np.argmin(np.abs(change - 0.9)))
    words = "; ".join(
        f"{name}: " + ", ".join(f"{what} {100 * (values[tenth] - 1):+.0f} %" for what, values in ways.items())
        for name, ways in found.items()
    )
    plot = LivePlot(figure, alt=(
        "Pump stiffness over a change of the gap over the tip, of the depth and of the pitch. The curve of the gap is "
        f"by far the steepest. Ten per cent less of each changes the stiffness by, {words}."
    ))  # fmt: skip
    curves = {}
    for axes, (name, ways) in zip(every, found.items(), strict=True):
        frame(axes, x="change (%)", y="stiffness (build: 1)", xlim=(-30, 30), ylim=(0, 3), title=name)
        for what, style in (("gap", "main"), ("depth", "second"), ("pitch", "third")):
            label = "gap over the tip" if what == "gap" else what
            plot.curve(axes, f"{name}_{what}", style, label=label)
            curves[f"{name}_{what}"] = (100 * (change - 1), ways[what])
        plot.legend(axes)
    plot.update(curves=curves)
    return plot
