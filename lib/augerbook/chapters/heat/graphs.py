"""Graphs of heat: the temperatures of screw, plastic and tube along the head, while it prints and in a pause."""

from __future__ import annotations

import numpy as np

from augerbook.chapters.heat import melt_temperature, pause_softened_length, pause_tip_temperature, softened_length
from augerbook.chapters.heat.budget import FLOW, PAUSE
from augerbook.chapters.heat.picture import temperatures_in
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.heating import heated_length, set_temperature
from augerbook.head.plastic import softening_temperature
from augerbook.head.tube import tube_length

_BODIES = (("screw", "main"), ("plastic", "second"), ("tube", "third"))
_HIGHEST = 350.0


class HeatGraphs:
    """Temperatures along the head, printing on the left and after a long pause on the right, moved by each solution."""

    def __init__(self, solution: Solution) -> None:
        self._end = self._length(solution)
        figure, panels = graph(columns=2, height=340)
        plot = LivePlot(figure, alt="Temperatures of screw, plastic and tube along the head, printing and in a pause.")
        self._panels = dict(zip((FLOW, PAUSE), panels, strict=True))
        for state, axes in self._panels.items():
            frame(axes, x="place from the throat (mm)", y="temperature (°C)", xlim=(0, self._end), ylim=(0, _HIGHEST),
                  title=state[0].upper() + state[1:])  # fmt: skip
            name = self._name(state)
            plot.band(axes, f"{name}_block", "forbidden", label="heated block")
            for body, style in _BODIES:
                plot.curve(axes, f"{name}_{body}", style, label=body)
            plot.curve(axes, f"{name}_softens", "limit", label="softens")
            plot.legend(axes, "upper left")
        self._plot = plot
        self(solution)

    @staticmethod
    def _name(state: str) -> str:
        return "flow" if state == FLOW else "pause"

    @staticmethod
    def _length(solution: Solution) -> float:
        return float(tube_length.shown(solution[tube_length] + solution[heated_length]))

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution; the frame is drawn anew only when the head's length changes."""
        end = self._length(solution)
        if abs(end - self._end) > 1e-6:
            self._end = end
            for axes in self._panels.values():
                self._plot.rescale(axes, xlim=(0, end))
        softens = solution.shown(softening_temperature)
        block = solution.shown(tube_length)
        curves, bands = {}, {}
        for state in self._panels:
            name = self._name(state)
            found = temperatures_in(solution, state)
            for body, _ in _BODIES:
                curves[f"{name}_{body}"] = (1e3 * found.place[0], set_temperature.shown(getattr(found, body)[0]))
            curves[f"{name}_softens"] = (np.array([0.0, end]), np.array([softens, softens]))
            bands[f"{name}_block"] = (np.array([block, end]), 0.0, _HIGHEST)
        texts = [solution.text(q) for q in (softened_length, melt_temperature)]
        texts += [solution.text(q) for q in (pause_softened_length, pause_tip_temperature)]
        self._plot.update(
            curves=curves,
            bands=bands,
            alt=(
                f"Temperatures of screw, plastic and tube from the throat to the screw's tip. While it prints the "
                f"plastic is soft over {texts[0]} of tube and has {texts[1]} at the tip; after a long pause "
                f"{texts[2]} and {texts[3]}."
            ),
        )
        return self._plot
