"""What thickness and mass of the plate buy: the stiffness of the head, which the other springs bound."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from augerbook.chapters.plate import (
    chain_compliance,
    head_stiffness,
    plate_bending_stiffness,
    plate_mass,
    plate_shear_stiffness,
    plate_stiffness,
)
from augerbook.core.network import Solution
from augerbook.core.units import number
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.plate import plate_thickness


def stiffness_and_mass(first: Solution) -> Callable[[Solution], LivePlot]:
    """Return a graph that follows a build: the head's stiffness over thickness and over mass of the plate.

    The plate is held as it is, the other springs stay. All stiffness is shown over that of the head with a rigid
    plate, so that the frame of the graph, drawn for the ``first`` solution, fits any other.
    """
    thickness = np.linspace(0.5, 10.0, 96)
    heaviest = _mass_at(first, thickness[-1])
    figure, (left, right) = graph(columns=2, height=320)
    words = "stiffness, with a rigid plate = 100 %"
    frame(left, x="thickness of the plate (mm)", y=words, xlim=(0, 10), ylim=(0, 130))
    frame(right, x="mass of the plate (g)", y=words, xlim=(0, heaviest), ylim=(0, 130))
    plot = LivePlot(figure, alt="Stiffness of the head over thickness and mass of the plate.")
    plot.curve(left, "plate", "second", label="plate alone")
    plot.curve(left, "head", "main", label="whole head")
    plot.curve(right, "by_mass", "main")
    for axes, name in ((left, "here"), (right, "here_by_mass")):
        plot.curve(axes, f"rigid_{name}", "limit")
        plot.marker(axes, name, "here")
    plot.legend(left, "lower right")

    def draw(solution: Solution) -> LivePlot:
        now = float(plate_thickness.shown(solution[plate_thickness]))
        ratio = thickness / now
        rest = solution[chain_compliance]
        bending, shear = solution[plate_bending_stiffness] * ratio**3, solution[plate_shear_stiffness] * ratio
        alone = 1 / (1 / bending + 1 / shear)
        whole = 100 / (1 + 1 / (alone * rest))
        here = 100 * solution[head_stiffness] * rest
        grams = float(plate_mass.shown(solution[plate_mass]))
        plate, mass, stiff = (q.text(solution[q]) for q in (plate_stiffness, plate_mass, head_stiffness))
        plot.update(
            curves={
                "plate": (thickness, 100 * alone * rest),
                "head": (thickness, whole),
                "by_mass": (grams * ratio, whole),
                "rigid_here": ([0, 10], [100, 100]),
                "rigid_here_by_mass": ([0, heaviest], [100, 100]),
            },
            markers={"here": (now, here), "here_by_mass": (grams, here)},
            alt=(
                f"Stiffness of the head over thickness and over mass of the plate. At {now:.3g} mm the plate has "
                f"{plate} and {mass}, and the head {stiff}, {number(here)} % of what it would have with a rigid plate."
            ),
        )
        return plot

    return draw


def _mass_at(solution: Solution, thickness: float) -> float:
    now = float(plate_thickness.shown(solution[plate_thickness]))
    return float(plate_mass.shown(solution[plate_mass])) * thickness / now
