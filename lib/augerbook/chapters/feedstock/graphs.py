"""The graph of drying: water over time, as it is and ten degrees warmer, against the limit."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.feedstock import diffusion_time, moisture_air, moisture_dried
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.feedstock import (
    drying_temperature,
    drying_time,
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
        self._longest = max(4.0, 2 * math.ceil(1.2 * solution.shown(drying_time)))
        lowest = solution.shown(moisture_limit) / 10
        highest = 4 * solution.shown(moisture_start)
        frame(axes, x=drying_time.axis("drying time"), y="water (% of the mass)", xlim=(0, self._longest),
              ylim=(lowest, highest), yscale="log", title="Water left in the granules")  # fmt: skip
        axes.yaxis.set_major_formatter("{x:g}")
        plot = LivePlot(figure, alt="Water in the granules over drying time.")
        plot.curve(axes, "now", "main", label="as given")
        plot.curve(axes, "warmer", "second", label="10 °C warmer")
        plot.curve(axes, "limit", "limit", label="limit of the plastic")
        plot.curve(axes, "air", "faint", label="what the air leaves in")
        plot.marker(axes, "here", "here")
        plot.legend(axes, "upper right", columns=2)
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        hours = np.linspace(0.0, self._longest, 161)
        air, limit = (solution.shown(q) for q in (moisture_air, moisture_limit))
        over = solution.sweep([moisture_dried, diffusion_time], [drying_time, drying_temperature])
        degrees = np.full(hours.size, solution[drying_temperature])
        time = drying_time.si(hours)
        (now, slow), (warmer, quick) = over(time, degrees), over(time, degrees + _WARMER)
        faster = slow[0] / quick[0]
        both = (0.0, self._longest)
        self._plot.update(
            curves={
                "now": (hours, moisture_dried.shown(now)),
                "warmer": (hours, moisture_dried.shown(warmer)),
                "limit": (both, (limit, limit)),
                "air": (both, (air, air) if air > 0 else (np.nan, np.nan)),
            },
            markers={
                "here": (
                    solution.shown(drying_time),
                    solution.shown(moisture_dried),
                ),
            },
            alt=(
                f"Water falls from {solution.text(moisture_start)} to {solution.text(moisture_dried)} after "
                f"{solution.text(drying_time)}; the limit is {solution.text(moisture_limit)}, and the air leaves "
                f"{solution.text(moisture_air)} in for ever. Ten degrees warmer it is {faster:.2g} times as fast."
            ),
        )
        return self._plot
