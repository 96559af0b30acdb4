"""What thickness and mass of the plate buy: the stiffness of the head, which the other springs bound."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from augerbook.chapters.plate import (
    chain_compliance,
    even_head_stiffness,
    head_stiffness,
    plate_mass,
    plate_stiffness,
)
from augerbook.core.network import Solution
from augerbook.core.units import number
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.plate import plate_thickness

#: What is drawn over the thickness.
_DRAWN = (plate_stiffness, head_stiffness, plate_mass)


def stiffness_and_mass(first: Solution) -> Callable[[Solution], LivePlot]:
    """Return a graph that follows a build: the head's stiffness over thickness and over mass of the plate.

    The plate is held as it is, the other springs stay. All stiffness is shown over that of the head with a rigid
    plate, so that the frame of the graph, drawn for the ``first`` solution, fits any other. Where the build says what
    melt it holds, a line stands at the stiffness above which the squeezed melt gives back more than the springs.
    """
    thickness = np.linspace(0.5, 10.0, 96)
    thickest = plate_thickness.si(thickness[-1:])
    heaviest = float(plate_mass.shown(first.sweep([plate_mass], [plate_thickness])(thickest)[0][0]))
    top = float(np.nanmax([130, min(1.1 * _where_melt_gives_as_much(first), 250)]))
    figure, (left, right) = graph(columns=2, height=320)
    words = "stiffness, with a rigid plate = 100 %"
    frame(left, x=plate_thickness.axis("thickness of the plate"), y=words, xlim=(0, 10), ylim=(0, top))
    frame(right, x=plate_mass.axis("mass of the plate"), y=words, xlim=(0, heaviest), ylim=(0, top))
    plot = LivePlot(figure, alt="Stiffness of the head over thickness and mass of the plate.")
    plot.curve(left, "plate", "second", label="plate alone")
    plot.curve(left, "head", "main", label="whole head")
    plot.curve(right, "by_mass", "main")
    for axes, name in ((left, "here"), (right, "here_by_mass")):
        plot.curve(axes, f"rigid_{name}", "limit")
        plot.curve(axes, f"melt_{name}", "third", label="springs and melt alike" if axes is left else "")
        plot.marker(axes, name, "here")
    plot.legend(left, "lower right")

    def draw(solution: Solution) -> LivePlot:
        rest = solution[chain_compliance]
        alone, whole, masses = solution.sweep(_DRAWN, [plate_thickness])(plate_thickness.si(thickness))
        now, grams = solution.shown(plate_thickness), solution.shown(plate_mass)
        here = 100 * solution[head_stiffness] * rest
        melt = _where_melt_gives_as_much(solution)
        plate, mass, stiff = (solution.text(q) for q in (plate_stiffness, plate_mass, head_stiffness))
        plot.update(
            curves={
                "plate": (thickness, 100 * alone * rest),
                "head": (thickness, 100 * whole * rest),
                "by_mass": (plate_mass.shown(masses), 100 * whole * rest),
                "rigid_here": ([0, 10], [100, 100]),
                "rigid_here_by_mass": ([0, heaviest], [100, 100]),
                "melt_here": ([0, 10], [melt, melt]),
                "melt_here_by_mass": ([0, heaviest], [melt, melt]),
            },
            markers={"here": (now, here), "here_by_mass": (grams, here)},
            alt=(
                f"Stiffness of the head over thickness and over mass of the plate. At {now:.3g} mm the plate has "
                f"{plate} and {mass}, and the head {stiff}, {number(here)} % of what it would have with a rigid plate."
                + (f" At {number(melt)} % springs and melt would give back alike." if np.isfinite(melt) else "")
            ),
        )
        return plot

    return draw


def _where_melt_gives_as_much(solution: Solution) -> float:
    """Stiffness at which springs and squeezed melt give back alike, over that with a rigid plate, in per cent."""
    if even_head_stiffness not in solution.values:
        return np.nan
    return 100 * float(solution[even_head_stiffness] * solution[chain_compliance])
