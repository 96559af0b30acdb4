"""Graphs of the melt: viscosity over the shear rate and pressure over the flow, at three temperatures, live."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from augerbook.chapters.heat import melt_flow
from augerbook.chapters.melt import FLOW_LAW, hot_viscosity, nozzle_temperature, wall_rate, wall_stress
from augerbook.chapters.melt.models import nozzle_drop, viscosity
from augerbook.chapters.melt.picture import nozzle_of
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph

if TYPE_CHECKING:
    from matplotlib.axes import Axes

#: The temperatures beside the nozzle's at which the curves are drawn (K), with style and label.
_BESIDE = ((-20.0, "second", "20 K colder"), (0.0, "main", "as it is"), (20.0, "third", "20 K hotter"))
_NAMES = ("colder", "now", "hotter")
_RATES = np.geomspace(0.1, 1e4, 61)
#: As far as the slider of the wanted flow goes, and a little further: melt takes more room than solid plastic.
_FLOWS = np.geomspace(0.2, 50.0, 29)


def decades(axes: Axes) -> None:
    """Label the powers of ten of two logarithmic axes as plain numbers."""
    for (low, high), set_ticks in ((axes.get_xlim(), axes.set_xticks), (axes.get_ylim(), axes.set_yticks)):
        ticks = [10.0**power for power in range(math.ceil(math.log10(low)), math.floor(math.log10(high)) + 1)]
        set_ticks(ticks, [f"{tick:,g}".replace(",", " ") for tick in ticks])
    axes.minorticks_off()


class MeltGraphs:
    """Viscosity with the working point of the land at the left, pressure of this nozzle over the flow at the right."""

    def __init__(self, solution: Solution) -> None:
        figure, (left, right) = graph(columns=2, height=350)
        plot = LivePlot(figure, alt="Viscosity over shear rate, and pressure over flow, at three temperatures.")
        frame(left, x=wall_rate.axis("shear rate"), y=hot_viscosity.axis("viscosity"), xlim=(0.1, 1e4), ylim=(10, 1e5),
              xscale="log", yscale="log", title="The melt")  # fmt: skip
        frame(right, x=melt_flow.axis("flow of melt"), y=nozzle_pressure.axis("pressure"), xlim=(0.2, 50),
              ylim=(0.1, 100), xscale="log", yscale="log", title="The nozzle")  # fmt: skip
        decades(left)
        decades(right)
        for name, (_, style, label) in zip(_NAMES, _BESIDE, strict=True):
            plot.curve(left, f"eta_{name}", style, label=label)
            plot.curve(right, f"drop_{name}", style, label=label)
        plot.marker(left, "wall", "here", label="wall of the land")
        plot.marker(right, "build", "here", label="this build")
        plot.legend(left, "lower left")
        plot.legend(right, "upper left")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move curves and points to a solution."""
        nozzle = nozzle_of(solution)
        law = [solution[q] for q in FLOW_LAW]
        curves = {}
        steps = np.array([step for step, _, _ in _BESIDE])[:, None]
        drops = nozzle_drop(*nozzle._replace(
            flow=melt_flow.si(_FLOWS)[None], melt_temperature=nozzle.melt_temperature + steps,
            set_temperature=nozzle.set_temperature + steps,
        )).pressure  # fmt: skip
        for row, name in enumerate(_NAMES):
            eta = viscosity(_RATES, solution[nozzle_temperature] + steps[row], *law)
            curves[f"eta_{name}"] = (wall_rate.shown(_RATES), hot_viscosity.shown(np.clip(eta, 1.0, 1e7)))
            curves[f"drop_{name}"] = (_FLOWS, np.asarray(nozzle_pressure.shown(drops[row])))
        at_wall, stress = solution[wall_rate], solution[wall_stress]
        texts = [solution.text(q) for q in (hot_viscosity, wall_rate, nozzle_pressure, melt_flow)]
        self._plot.update(
            curves=curves,
            markers={
                "wall": (float(wall_rate.shown(at_wall)), float(hot_viscosity.shown(stress / at_wall))),
                "build": (
                    solution.shown(melt_flow),
                    solution.shown(nozzle_pressure),
                ),
            },
            alt=(
                f"Left, viscosity falls with the shear rate from {texts[0]} at rest; at the wall of the land the rate "
                f"is {texts[1]}. Right, the pressure rises far less than the flow: {texts[2]} at {texts[3]}. Both also "
                "20 K colder and 20 K hotter."
            ),
        )
        return self._plot
