"""Graphs of the drive: torque over the speed of the screw, and over the ratio of the gear."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.drive import available_torque, corner_speed, drive_share
from augerbook.chapters.melt.picture import ceiling
from augerbook.chapters.operating import needed_torque, operating_speed
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.drive import gear_ratio

#: Ratios drawn, and how far beyond the corner the speeds go.
_RATIOS = (1.0, 40.0)
_BEYOND = 2.5


def speeds_drawn(solution: Solution) -> np.ndarray:
    """Return speeds of the screw (1/s) from nearly none to beyond the corner and beyond what is asked for."""
    corner = _BEYOND * solution[corner_speed] / solution[gear_ratio]
    asked = 1.6 * solution[operating_speed]
    most = max(0.05, *(speed for speed in (corner, asked) if math.isfinite(speed)), 0.05)
    return np.linspace(1e-3, ceiling(60 * most)[0] / 60, 121)


class TorqueGraphs:
    """What the drive brings over the speed of the screw on the left, over the ratio of the gear on the right."""

    def __init__(self, solution: Solution) -> None:
        figure, (over, ratio) = graph(columns=2, height=340)
        frame(over, x=operating_speed.axis("speed of the screw"), y=available_torque.axis("torque at the screw"),
              xlim=(0, 1), ylim=(0, 1), title="What the drive brings")  # fmt: skip
        frame(ratio, x="ratio of the gear", y=available_torque.axis("torque at the screw"), xlim=(0, _RATIOS[1]),
              ylim=(0, 1), title="At the speed of work")  # fmt: skip
        plot = LivePlot(figure, alt="Torque over speed and over the ratio of the gear.")
        plot.band(over, "reserve", "band", label="good: half of it")
        plot.curve(over, "drive", "main", label="motor and gear bring")
        plot.curve(over, "limit", "limit", label="four fifths")
        plot.marker(over, "need", "here", label="the screw needs")
        plot.legend(over, "upper right")
        plot.curve(ratio, "geared", "main", label="motor and gear bring")
        plot.curve(ratio, "needed", "second", label="the screw needs")
        plot.marker(ratio, "ratio_here", "here")
        plot.legend(ratio, "upper left")
        self._plot, self._axes = plot, (over, ratio)
        self._ends: tuple[tuple[float, float], ...] = ((1.0, 1.0),) * 2
        self(solution)

    def _rescale(self, ends: tuple[tuple[float, float], ...]) -> None:
        """Take new ends of the axes: round ones, so that the frame is drawn anew only rarely."""
        if ends == self._ends:
            return
        self._ends = ends
        (right, top), (_, high) = ends
        self._axes[1].set(ylim=(0, high))
        self._plot.rescale(self._axes[0], xlim=(0, right), ylim=(0, top))

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        speed, ratios = speeds_drawn(solution), np.geomspace(*_RATIOS, 101)
        there = [
            solution.sweep([available_torque], [over])(values)[0]
            for over, values in ((operating_speed, speed), (gear_ratio, ratios))
        ]
        brought, geared = (available_torque.shown(torques) for torques in there)
        need, at_work = float(available_torque.shown(solution[needed_torque])), solution[operating_speed]
        shown = operating_speed.shown(speed)
        most = [brought, geared, np.array([need])]
        tops = [float(np.nanmax(np.append(array, 1e-3))) for array in most]
        self._rescale((
            (float(shown[-1]), ceiling(1.35 * max(tops[0], tops[2]))[0]),
            (_RATIOS[1], ceiling(1.35 * max(tops[1], tops[2]))[0]),
        ))  # fmt: skip
        works = math.isfinite(need)
        told = (
            f"the screw needs {solution.text(needed_torque)} at {solution.text(operating_speed)}, "
            f"{solution.text(drive_share)} of what is there"
            if works
            else "the screw has no operating point"
        )
        self._plot.update(
            bands={"reserve": (shown, np.zeros_like(brought), brought / 2)},
            curves={
                "drive": (shown, brought),
                "limit": (shown, 0.8 * brought),
                "geared": (ratios, geared),
                "needed": (np.array(_RATIOS), np.array([need, need])),
            },
            markers={
                "need": (float(operating_speed.shown(at_work)) if works else math.nan, need),
                "ratio_here": (solution[gear_ratio], solution.shown(available_torque)),
            },
            alt=(
                "Left: torque at the screw over its speed. Motor and gear bring "
                f"{available_torque.text(float(there[0][0]))} up to a motor speed of {solution.text(corner_speed)}, "
                f"then less and less; {told}. Right: at that speed, over the ratio of the gear; the torque grows with "
                "the ratio until the motor turns too fast, and then falls."
            ),
        )
        return self._plot
