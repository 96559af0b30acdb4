"""Graphs of pumping: flow against pressure for this screw and the reference, and pump stiffness over the tip gap."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters import whole_head
from augerbook.chapters.pumping import (
    channel_conductance,
    channel_drag,
    channel_stiffness,
    pump_stiffness,
    reference_pump_stiffness,
    stiffness_ratio,
)
from augerbook.chapters.screw import tip_gap
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.screw import major_diameter
from augerbook.head.tube import bore_diameter

#: What is drawn over the gap.
_DRAWN = (pump_stiffness, channel_stiffness, channel_drag, channel_conductance)
_WIDEST, _LOWEST, _HIGHEST = 2.0, 1.0, 1e8
_GAPS = np.concatenate([[0.02, 0.04], np.linspace(0.07, _WIDEST, 34)])


def _alike() -> tuple[float, float]:
    """The ratios to the reference between which both margins are good."""
    return whole_head().margins["pumping.weak_pump"].good, whole_head().margins["pumping.hard_pump"].good


class PumpGraphs:
    """Flow of the screw against pressure on the left, its stiffness over the tip gap on the right; both move."""

    def __init__(self, solution: Solution) -> None:
        from matplotlib.ticker import MaxNLocator

        figure, (line, gaps) = graph(columns=2, height=360)
        plot = LivePlot(figure, alt="Flow against pressure, and pump stiffness over the gap between tip and wall.")
        self._line, self._end = line, self._bracket(solution)
        # Two spaces, for the brackets of the words end where those of the unit begin.
        frame(line, x=pump_stiffness.axis("pressure gradient / (η · 2π N) "), y="flow over drag flow (%)",
              xlim=(0, self._end), ylim=(0, 110), title="Flow against pressure")  # fmt: skip
        line.xaxis.set_major_locator(MaxNLocator(nbins=4))  # few enough for the five digits of a tight bore
        frame(gaps, x=f"{tip_gap.axis('gap between tip and wall')}, bore varied",
              y=pump_stiffness.axis("pump stiffness"), xlim=(0, _WIDEST), ylim=(_LOWEST, _HIGHEST), yscale="log",
              title="Stiffness over the gap")  # fmt: skip
        plot.curve(line, "own", "main", label="this screw")
        plot.curve(line, "other", "second", label="reference")
        low, high = _alike()
        plot.band(gaps, "alike", "band", label=f"{low:g} to {high:g} of the reference")
        plot.curve(gaps, "wide", "main", label="wide gap")
        plot.curve(gaps, "leaking", "third", label="channel with leak")
        plot.curve(gaps, "tight", "fourth", label="channel, no leak")
        plot.marker(gaps, "here", "here")
        plot.legend(line)
        plot.legend(gaps)
        self._plot = plot
        self(solution)

    @staticmethod
    def _bracket(solution: Solution) -> float:
        """A round end of the axis that holds both screws; it changes rarely, for it draws the frame anew."""
        largest = max(solution.shown(pump_stiffness), solution.shown(reference_pump_stiffness))
        power = 10.0 ** math.floor(math.log10(largest))
        return next(m * power for m in (1.5, 3.0, 6.0, 12.0) if m * power > 1.05 * largest)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        own, other = solution[pump_stiffness], solution[reference_pump_stiffness]
        if not own > 0:
            own = math.nan
        elif self._bracket(solution) != self._end:
            self._end = self._bracket(solution)
            self._plot.rescale(self._line, xlim=(0, self._end))
        over_gaps = solution.sweep(_DRAWN, [bore_diameter])
        wide, leaking, channel, along = over_gaps(solution[major_diameter] + 2 * tip_gap.si(_GAPS))
        self._plot.update(
            curves={
                "own": (pump_stiffness.shown(np.array([0.0, own])), np.array([100.0, 0.0])),
                "other": (pump_stiffness.shown(np.array([0.0, other])), np.array([100.0, 0.0])),
                "wide": (_GAPS, pump_stiffness.shown(np.where(wide > 0, wide, np.nan))),
                "leaking": (_GAPS, pump_stiffness.shown(leaking)),
                "tight": (_GAPS, pump_stiffness.shown(channel / (2 * np.pi * along))),
            },
            bands={"alike": (np.array([0.0, _WIDEST]), *(pump_stiffness.shown(other * end) for end in _alike()))},
            markers={"here": (solution.shown(tip_gap), float(pump_stiffness.shown(own)))},
            alt=(
                f"Left: the flow of this screw falls to nothing at {pump_stiffness.text(own)}, that of the reference "
                f"at {reference_pump_stiffness.text(other)}, a ratio of {stiffness_ratio.text(own / other)}. Right: "
                f"pump stiffness falls steeply as the gap between tip and wall grows; this build has "
                f"{solution.text(tip_gap)}. The classical channel without leak lies far above, the one with "
                "leak below."
            ),
        )
        return self._plot
