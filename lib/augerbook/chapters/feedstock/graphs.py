"""The graph of drying: water over time, as it is and ten degrees warmer, against the limit."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.feedstock import diffusion_time, diffusion_time_flake, moisture_dried
from augerbook.chapters.feedstock.models import left_in_ball, left_in_flake
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.feedstock import (
    activation_temperature,
    drying_temperature,
    drying_time,
    moisture_air,
    moisture_limit,
    moisture_start,
)

_WARMER = 10.0


class DryingGraph:
    """Water over drying time, drawn once and moved by each solution.

    The axes are laid out for ``solution``; what grows far beyond leaves the frame.
    """

    def __init__(self, solution: Solution) -> None:
        figure, (axes,) = graph(height=350)
        self._longest = max(4.0, 2 * math.ceil(1.2 * float(drying_time.shown(solution[drying_time]))))
        lowest = float(moisture_limit.shown(solution[moisture_limit])) / 10
        highest = 4 * float(moisture_start.shown(solution[moisture_start]))
        frame(axes, x="drying time (h)", y="water (% of the mass)", xlim=(0, self._longest), ylim=(lowest, highest),
              yscale="log", title="Water left in the granules")  # fmt: skip
        plot = LivePlot(figure, alt="Water in the granules over drying time.")
        plot.curve(axes, "now", "main", label="as given")
        plot.curve(axes, "warmer", "second", label="10 K warmer")
        plot.curve(axes, "limit", "limit", label="limit of the plastic")
        plot.curve(axes, "air", "faint", label="what the air leaves in")
        plot.marker(axes, "here", "here")
        plot.legend(axes, "upper right", columns=2)
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        hours = np.linspace(0.0, self._longest, 161)
        flake = solution[diffusion_time] == solution.get(diffusion_time_flake)
        left = left_in_flake if flake else left_in_ball
        start, air, limit = (float(q.shown(solution[q])) for q in (moisture_start, moisture_air, moisture_limit))
        scale, warm = float(diffusion_time.shown(solution[diffusion_time])), solution[drying_temperature]
        faster = math.exp(solution[activation_temperature] * (1 / warm - 1 / (warm + _WARMER)))
        both = (0.0, self._longest)
        self._plot.update(
            curves={
                "now": (hours, air + (start - air) * left(hours / scale)),
                "warmer": (hours, air + (start - air) * left(hours * faster / scale)),
                "limit": (both, (limit, limit)),
                "air": (both, (air, air) if air > 0 else (np.nan, np.nan)),
            },
            markers={
                "here": (
                    float(drying_time.shown(solution[drying_time])),
                    float(moisture_dried.shown(solution[moisture_dried])),
                ),
            },
            alt=(
                f"Water falls from {_text(moisture_start, solution)} to {_text(moisture_dried, solution)} after "
                f"{_text(drying_time, solution)}; the limit is {_text(moisture_limit, solution)}, and the air leaves "
                f"{_text(moisture_air, solution)} in for ever. Ten degrees warmer it is {faster:.2g} times as fast."
            ),
        )
        return self._plot


def _text(quantity: Quantity, solution: Solution) -> str:
    return quantity.text(solution[quantity])
