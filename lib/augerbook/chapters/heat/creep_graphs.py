"""How the soft zone creeps once the flow stops, and once the cooler's fan stops too: lengths over time."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from augerbook.chapters.heat import HEAD_INPUTS, softened_length
from augerbook.chapters.heat.creep import HELD, Creep, creep_of_one, held_by, stopped, time_to_rest, time_until
from augerbook.chapters.heat.grid import Head
from augerbook.core.network import Solution
from augerbook.core.units import number
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.picture import Picture
from augerbook.head.plastic import softening_temperature
from augerbook.head.tube import tube_length

_FROM, _TO = 1.0, 2e4
_STATES = (("flow", "flow stops", "main", "second"), ("fan", "fan stops too", "third", "fourth"))


def duration(seconds: float) -> str:
    """Return a time in words: ``"46 s"``, ``"3.7 min"``, ``"2.1 h"``, or ``"never"``."""
    if math.isinf(seconds):
        return "never"
    for unit, size in (("h", 3600.0), ("min", 60.0)):
        if seconds >= 2 * size:
            return f"{number(seconds / size, 2)} {unit}"
    return f"{number(seconds, 2)} s"


def _when(words: str) -> str:
    return {"never": "never", "0 s": "from the start"}.get(words, f"after {words}")


def _way(found: Creep, rest: str) -> str:
    """Where the soft plastic goes: up, back, or nowhere that a reader would notice."""
    first, last = softened_length.text(found.softened_length[0]), softened_length.text(found.rest[0])
    if first == last:
        return f"stays at {first}"
    goes = "grows" if found.rest[0] > found.softened_length[0] else "shrinks"
    return f"{goes} from {first} to {last}, nine tenths of it {_when(rest)}"


def pause_of(solution: Solution, *, fan: bool = True) -> Creep:
    """Return how the soft zone creeps in a pause that follows printing; without ``fan`` the cooler cools no more.

    Raises:
        ValueError: the temperatures are not defined, or cannot be followed; the message says why.
    """
    head = Head(*(solution[q] for q in HEAD_INPUTS))
    if not math.isfinite(solution[softened_length]):
        raise ValueError("the screw leaves no room for plastic in this bore")
    try:
        return creep_of_one(head, stopped(head, fan=fan), held_by(solution))
    except ArithmeticError as error:
        raise ValueError(str(error)) from error


def creep_words(solution: Solution, found: Creep) -> tuple[str, str, str]:
    """Return in words when nine tenths of the way are done, half of the tube is soft, and the throat is hot."""
    half = time_until(found.times, found.softened_length, solution[tube_length] / 2)
    throat = time_until(found.times, found.screw_at_throat, solution[softening_temperature])
    rest = time_to_rest(found.times, found.softened_length, found.rest[0])
    return duration(rest), duration(half), duration(throat)


class CreepGraph:
    """Softened lengths of plastic and screw over the time since the flow stopped, drawn once and moved."""

    def __init__(self, longest: float) -> None:
        self._longest = longest
        figure, (axes,) = graph(height=380)
        frame(axes, x="time since the flow stopped (s)", y=softened_length.axis("soft before the block"),
              xlim=(_FROM, _TO), ylim=(0, self._longest), xscale="log", title="The pause in time")  # fmt: skip
        axes.set_xticks((1, 10, 100, 1000, 10_000), ("1", "10", "100", "1000", "10 000"))
        plot = LivePlot(figure, alt="Softened lengths over the time since the flow stopped.")
        for name, words, plastic, screw in _STATES:
            plot.curve(axes, f"{name}_plastic", plastic, label=f"plastic, {words}")
            plot.curve(axes, f"{name}_screw", screw, label=f"screw, {words}")
        plot.curve(axes, "half", "limit", label="half of the tube")
        for row, (name, *_) in enumerate(_STATES):
            plot.text(axes, f"{name}_told", at=(0.985, 0.94 - 0.16 * row), style="small", anchor="end")
            plot.text(axes, f"{name}_throat", at=(0.985, 0.87 - 0.16 * row), style="small", anchor="end")
        plot.legend(axes, "upper left")
        self._plot, self._axes = plot, axes

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution; the frame is drawn anew only when the tube's length changes."""
        length = solution.shown(tube_length)
        longest = 1.6 * length  # the legend stands above the curves
        if abs(longest - self._longest) > 1e-6:
            self._longest = longest
            self._plot.rescale(self._axes, ylim=(0, longest))
        curves = {"half": (np.array([_FROM, _TO]), np.full(2, length / 2))}
        told, texts = [], {}
        for name, words, _, _ in _STATES:
            found = pause_of(solution, fan=name == "flow")
            shown = found.times >= _FROM
            curves[f"{name}_plastic"] = (found.times[shown], softened_length.shown(found.softened_length[shown]))
            curves[f"{name}_screw"] = (found.times[shown], softened_length.shown(found.screw_soft_length[shown]))
            rest, half, throat = creep_words(solution, found)
            way, half_soft, hot = _way(found, rest), _when(half), _when(throat)
            texts[f"{name}_told"] = f"{words}: {way},"
            texts[f"{name}_throat"] = f"half of the tube soft: {half_soft}, screw hot at the throat: {hot}"
            told.append(
                f"When the {words}, the soft plastic {way}; half of the tube is soft: {half_soft}; the screw softens "
                f"plastic at the throat: {hot}."
            )
        self._plot.update(curves=curves, texts=texts, alt=" ".join(told))
        return self._plot


@cache
def _graph() -> CreepGraph:
    return CreepGraph(100.0)


def draw_creep(solution: Solution) -> LivePlot:
    """Draw the lengths over time.

    Raises:
        ValueError: the temperatures cannot be computed.
    """
    return _graph()(solution)


CREEP_PICTURE = Picture("The pause in time", needs=(*HEAD_INPUTS, *HELD, softened_length), draw=draw_creep)
