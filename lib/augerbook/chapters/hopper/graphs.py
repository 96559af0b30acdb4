"""Graphs of the hopper: pressure with depth, and the flow while the granules settle."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.hopper import (
    drift_settled,
    drift_still,
    drift_stirred,
    gravity,
    hopper_pressure,
    janssen_limit,
)
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.feedstock import loose_density
from augerbook.head.hopper import fill_height
from augerbook.head.printing import time_since_filling


class SettlingGraphs:
    """Pressure with depth beside the rise of the flow over time, drawn once and moved by each solution.

    The axes are wide enough for ``solution`` and twice beyond it; lines that grow further leave the frame.
    """

    def __init__(self, solution: Solution) -> None:
        figure, (pressure, flow) = graph(columns=2, height=330)
        self._deepest = _round_up(2 * solution.shown(fill_height))
        self._longest = _round_up(3 * solution.shown(time_since_filling) + 30)
        highest = _round_up(2 * solution.shown(janssen_limit))
        most = _round_up(2 * solution.shown(drift_settled) + 2)
        frame(pressure, x=fill_height.axis("depth below the surface"), y=hopper_pressure.axis("pressure"),
              xlim=(0, self._deepest), ylim=(0, highest), title="Pressure in the hopper")  # fmt: skip
        frame(flow, x=time_since_filling.axis("time since filling"), y=drift_still.axis("rise of the flow"),
              xlim=(0, self._longest), ylim=(-most / 25, most), title="Flow while the hopper settles")  # fmt: skip
        plot = LivePlot(figure, alt="Pressure with depth in the hopper, and the flow while the granules settle.")
        plot.curve(pressure, "weight", "second", label="no wall friction")
        plot.curve(pressure, "janssen", "main", label="with wall friction")
        plot.curve(pressure, "limit", "limit", label="limit")
        plot.marker(pressure, "filling", "here")
        plot.legend(pressure, "upper left")
        plot.curve(flow, "settled", "limit", label="settled for good")
        plot.curve(flow, "still", "second", label="nothing stirs")
        plot.curve(flow, "stirred", "main", label="a wire stirs each turn")
        plot.marker(flow, "now", "here")
        plot.legend(flow, "upper right")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        depth = np.linspace(0.0, self._deepest, 121)
        below = fill_height.si(depth)
        limit = solution.shown(janssen_limit)
        (pressure,) = solution.sweep([hopper_pressure], [fill_height])(below)
        minutes = np.linspace(0.0, self._longest, 121)
        most = solution.shown(drift_settled)
        (still,) = solution.sweep([drift_still], [time_since_filling])(time_since_filling.si(minutes))
        stirred = solution.shown(drift_stirred)
        self._plot.update(
            curves={
                "weight": (depth, hopper_pressure.shown(solution[loose_density] * solution[gravity] * below)),
                "janssen": (depth, hopper_pressure.shown(pressure)),
                "limit": ([0.0, self._deepest], [limit, limit]),
                "settled": ([0.0, self._longest], [most, most]),
                "still": (minutes, drift_still.shown(still)),
                "stirred": ([0.0, self._longest], [stirred, stirred]),
            },
            markers={
                "filling": (solution.shown(fill_height), solution.shown(hopper_pressure)),
                "now": (
                    solution.shown(time_since_filling),
                    solution.shown(drift_still),
                ),
            },
            alt=(
                f"Left: pressure with depth rises to {solution.text(hopper_pressure)} at the bottom of the filling "
                f"and never above {solution.text(janssen_limit)}; without wall friction it would rise on and on. "
                f"Right: with nothing stirring the flow has risen by {solution.text(drift_still)} by now and ends "
                f"at {solution.text(drift_settled)}; stirred it stays within "
                f"{solution.text(drift_stirred, digits=1)}."
            ),
        )
        return self._plot


def _round_up(value: float) -> float:
    """Return the next value of 1, 1.5, 2, 3, 4, 5, 6 or 8 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(value))
    return next((m * power for m in (1, 1.5, 2, 3, 4, 5, 6, 8) if m * power >= value * 0.9999), 10 * power)
