"""Graphs of conveying: grip and efficiency over the friction of the wall."""

from __future__ import annotations

import numpy as np

from augerbook.chapters.conveying import (
    conveying_efficiency,
    efficiency_carried,
    efficiency_lining,
    grip_carried,
    grip_exponent,
    grip_lining,
    needed_exponent,
)
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.tube import friction_barrel

_FROM, _TO = 0.05, 0.9
_DRAWN = (
    grip_exponent, grip_carried, grip_lining, needed_exponent,
    efficiency_carried, efficiency_lining, conveying_efficiency,
)  # fmt: skip


def along_friction(solution: Solution, friction: np.ndarray) -> dict[Quantity, np.ndarray]:
    """Return what is drawn (SI) for an array of frictions of the wall, all else as in ``solution``."""
    found = solution.sweep(_DRAWN, [friction_barrel])(friction)
    return dict(zip(_DRAWN, found, strict=True))


class GripGraphs:
    """The largest exponent and the efficiency over the friction of the wall, drawn once and moved by each solution."""

    def __init__(self, solution: Solution) -> None:
        figure, (grip, moved) = graph(columns=2, height=340)
        known = along_friction(solution, np.array([_TO]))
        highest = max(float(np.ravel(grip_lining.shown(known[grip_lining]))[0]), 0.5)
        frame(grip, x="friction on the wall", y=grip_exponent.axis("exponent"), xlim=(0, _TO),
              ylim=(-0.1 * highest, 1.65 * highest), title="What the plug can press")  # fmt: skip
        frame(moved, x="friction on the wall", y="conveying efficiency", xlim=(0, _TO), ylim=(-0.02, 1.05),
              title="How far it moves in a turn")  # fmt: skip
        plot = LivePlot(figure, alt="Largest exponent and conveying efficiency over the friction of the wall.")
        # What holds is drawn first: the broken lines of the two bounds then show where they coincide with it.
        plot.curve(grip, "largest", "main", label="largest exponent")
        plot.curve(grip, "carried_grip", "third", label="plug presses the ring")
        plot.curve(grip, "lining_grip", "second", label="wall holds the ring")
        plot.curve(grip, "needed", "limit", label="needed")
        plot.marker(grip, "grip_here", "here")
        plot.legend(grip, "upper left")
        plot.curve(moved, "state", "main", label="the state that holds")
        plot.curve(moved, "carried", "third", label="ring comes along")
        plot.curve(moved, "lining", "second", label="ring stays behind")
        plot.marker(moved, "moved_here", "here")
        plot.legend(moved, "lower right")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        friction = np.linspace(_FROM, _TO, 171)
        known = along_friction(solution, friction)

        def line(quantity: Quantity) -> tuple[np.ndarray, np.ndarray]:
            return friction, quantity.shown(known[quantity])

        here = solution[friction_barrel]
        self._plot.update(
            curves={
                "largest": line(grip_exponent),
                "carried_grip": line(grip_carried),
                "lining_grip": line(grip_lining),
                "needed": line(needed_exponent),
                "carried": line(efficiency_carried),
                "lining": line(efficiency_lining),
                "state": line(conveying_efficiency),
            },
            markers={
                "grip_here": (here, solution.shown(grip_exponent)),
                "moved_here": (here, solution[conveying_efficiency]),
            },
            alt=(
                f"Left: the largest exponent over the friction of the wall; at {here:.2g} it is "
                f"{solution.text(grip_exponent)}, {solution.text(needed_exponent)} are "
                f"needed. If the plug must press the ring it would be {solution.text(grip_carried)}, if the wall holds "
                f"the ring {solution.text(grip_lining)}. Right: the conveying efficiency, here "
                f"{solution.text(conveying_efficiency)}; it is zero where the plug slips."
            ),
        )
        return self._plot
