"""Figures of the chapter: tube and screw alone, and what is soft: as bars, over time, over torque."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes

from augerbook.chapters.conveying import grip_length
from augerbook.chapters.heat import (
    creep_soft_length,
    fin_length,
    fin_soft_length,
    screw_soft_length,
    softened_length,
    softened_share,
)
from augerbook.chapters.heat.coolers import cooler_film
from augerbook.chapters.heat.creep_graphs import creep_words, pause_of
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.drive import running_torque
from augerbook.head.heating import film_coefficient, room_temperature, set_temperature, throat_temperature
from augerbook.head.plastic import softening_temperature
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import screw_conductivity
from augerbook.head.tube import tube_length

Floats = npt.NDArray[np.float64]
_STYLES = ("main", "second", "third", "fourth")
#: A film for each curve of the bare tube, over its own film: four times the film halves the length.
_TIMES = (1.0, 4.0, 16.0)
#: So little is fed that it carries nothing (m**3/s).
_NO_FEED = 1e-15


def draw_alone(solution: Solution, conductivities: Mapping[str, float]) -> LivePlot:
    """Draw how a bare tube and a screw in a cold tube cool away from the block.

    The tube has its own film, four and sixteen times as much; the screw named conductivities (W/m/K), and its own with
    nothing fed. Each temperature stands as far from the block as plastic would soften that softens there.
    """
    figure, (tube, screw) = graph(columns=2, height=262)
    longest, highest = solution.shown(tube_length), solution.shown(set_temperature)
    plot = LivePlot(figure, alt="Temperatures of a bare tube and of a screw in a cold tube.")
    curves: dict[str, tuple[Floats, Floats]] = {}
    places = np.linspace(0.0, solution[tube_length], 25)

    def draw(axes: Axes, name: str, style: str, words: str, temperatures: Floats, lengths: Floats) -> None:
        at = np.interp(places, lengths, temperatures)
        plot.curve(axes, name, style, label=words)
        curves[name] = (tube_length.shown(places), set_temperature.shown(at))

    for axes, title in ((tube, "The tube alone"), (screw, "The screw in a cold tube")):
        frame(axes, x=tube_length.axis("distance from the block"), y=set_temperature.axis("temperature"),
              xlim=(0, longest), ylim=(0, 2.0 * highest), title=title)  # fmt: skip
    softens = solution[softening_temperature]
    of_tube, of_screw = [], []

    fin = solution.sweep([fin_soft_length, fin_length], [softening_temperature, film_coefficient])
    hottest_first = np.linspace(solution[set_temperature], solution[room_temperature] + 0.2, 600)
    for place, times in enumerate(_TIMES):
        film = times * solution[film_coefficient]
        lengths, decay = fin(np.append(hottest_first, softens), np.full(hottest_first.size + 1, film))
        words = f"{film_coefficient.text(film)}, λ {fin_length.text(float(decay[0]))}"
        within = lengths[:-1] < solution[tube_length]
        draw(tube, f"film_{place}", _STYLES[place], words, hottest_first[within], lengths[:-1][within])
        of_tube.append(f"with {words}, {fin_soft_length.text(float(lengths[-1]))}")

    creep = solution.sweep([creep_soft_length], [softening_temperature, screw_conductivity, wanted_flow])
    hottest_first = np.linspace(solution[set_temperature], solution[throat_temperature] + 0.2, 600)
    flow, own = solution[wanted_flow], solution[screw_conductivity]
    nearest = min(conductivities, key=lambda name: abs(conductivities[name] - own))
    kinds = [(name, conductivity, flow) for name, conductivity in conductivities.items()]
    for place, (name, conductivity, fed) in enumerate([*kinds, (f"{nearest}, no feed", own, _NO_FEED)]):
        (lengths,) = creep(*np.broadcast_arrays(np.append(hottest_first, softens), conductivity, fed))
        draw(screw, f"screw_{place}", _STYLES[place], name, hottest_first, lengths[:-1])
        of_screw.append(f"{name} {creep_soft_length.text(float(lengths[-1]))}")

    for axes, name in ((tube, "tube_softens"), (screw, "screw_softens")):
        plot.curve(axes, name, "limit", label=f"softens at {set_temperature.shown(softens):.0f} °C")
        curves[name] = (np.array([0.0, longest]), np.full(2, set_temperature.shown(softens)))
        plot.legend(axes, "upper right")
    plot.update(
        curves=curves,
        alt=(
            f"Temperatures over the distance from the block. Hot enough to soften, of {solution.text(tube_length)} "
            f"of bare tube, {', '.join(of_tube)}; of a screw in a cold tube, {', '.join(of_screw)}."
        ),
    )
    return plot


def draw_soft(rows: Sequence[tuple[str, Solution]], title: str, beside: Quantity = cooler_film) -> Scene:
    """Draw for each named solution the tube from the throat to the block as a bar, with what is soft in it.

    A thinner bar below shows where the screw is hot, a line how far the shortest plug that holds reaches. ``beside``
    is told at the right of each bar.
    """
    left, long, high, thin, step, foot = 200.0, 400.0, 17.0, 7.0, 42.0, 42.0
    scale = long / max(solution.shown(tube_length) for _, solution in rows)
    told = "; ".join(
        f"{name}: {solution.text(beside)}, plastic soft over {solution.text(softened_length)}, screw over "
        f"{solution.text(screw_soft_length)}"
        for name, solution in rows
    )
    scene = Scene(
        width=800, height=foot + 24 + step * len(rows), title=title,
        alt=f"Bars from throat to block, as long as the tube. {told}.",
    )  # fmt: skip
    top = foot + step * len(rows)
    scene.label((left, top + 10), "throat", anchor="start", style="small")
    scene.label((left + long, top + 10), "block", anchor="end", style="small")
    for place, (name, solution) in enumerate(rows):
        y = top - step * place - high - 4
        end = left + scale * solution.shown(tube_length)
        front, hot = (
            max(left, end - scale * solution.shown(length)) for length in (softened_length, screw_soft_length)
        )
        for low, thick, start, cold, warm in (
            (y, high, front, "grain", "soft"),
            (y - thin, thin, hot, "screw", "hot"),
        ):
            scene.rectangle((left, low), start - left, thick, cold)
            scene.rectangle((start, low), end - start, thick, warm)
        plug = left + scale * solution.shown(grip_length)
        scene.line((plug, y - thin - 4), (plug, y + high + 4), "heavy")
        scene.label((left - 12, y + high / 2 - thin / 2), name, anchor="end")
        scene.label((end + 12, y + high / 2 + 5), f"soft {solution.text(softened_length)}", anchor="start",
                    style="small")  # fmt: skip
        scene.label((end + 12, y + high / 2 - 13), solution.text(beside), anchor="start", style="note")
    x = left - 130
    for words, style in (
        ("hard plastic", "grain"),
        ("soft plastic", "soft"),
        ("screw", "screw"),
        ("hot screw", "hot"),
    ):
        scene.rectangle((x, 12), 22, 14, style)
        scene.label((x + 28, 19), words, anchor="start", style="small")
        x += 62 + 7.2 * len(words)
    scene.line((x + 8, 8), (x + 8, 30), "heavy")
    scene.label((x + 18, 19), "shortest plug that holds", anchor="start", style="small")
    return scene


def draw_pause(solutions: Sequence[tuple[str, Solution]]) -> LivePlot:
    """Draw which share of the tube of named builds is soft once the flow has stopped, with and without fan.

    Raises:
        ValueError: the temperatures cannot be computed.
    """
    figure, (axes,) = graph(height=270)
    frame(axes, x="time since the flow stopped (s)", y=softened_share.axis("soft share of the tube"), xlim=(1, 3600),
          ylim=(0, 155), xscale="log", title="The pause in time")  # fmt: skip
    axes.set_xticks((1, 10, 100, 1000), ("1", "10", "100", "1000"))
    plot = LivePlot(figure, alt="Soft share of the tube over the time since the flow stopped.")
    times = np.geomspace(1, 3600, 40)
    curves, told = {}, []
    for place, (name, solution) in enumerate(solutions):
        for runs, words in ((True, "fan runs on"), (False, "fan stops too")):
            found = pause_of(solution, fan=runs)
            share = np.interp(times, found.times, found.softened_length) / solution[tube_length]
            key = f"{'on' if runs else 'off'}_{place}"
            plot.curve(axes, key, _STYLES[2 * place + (not runs)], label=f"{name}, {words}")
            curves[key] = (times, softened_share.shown(share))
            first, last = (softened_length.text(float(end)) for end in (found.softened_length[0], found.rest[0]))
            half = creep_words(solution, found)[1]
            told.append(f"{name}, {words}: from {first} to {last}, half of the tube soft after {half}")
    plot.legend(axes, "upper left")
    plot.update(
        curves=curves,
        alt=f"Soft part of the tube once the flow stops. {'; '.join(told).replace('after never', 'never')}.",
    )
    return plot


class TorqueGraph:
    """Soft plastic over the torque that the screw takes, with everything else as in the solution."""

    def __init__(self, solution: Solution) -> None:
        self._longest = 0.0
        figure, (axes,) = graph(height=260)
        self._torques = running_torque.si(np.linspace(0.05, 6.0, 60))
        frame(axes, x=running_torque.axis("torque of the screw"), y=softened_length.axis("soft before the block"),
              xlim=(0, 6), ylim=(0, 1), title="Friction that feeds itself")  # fmt: skip
        plot = LivePlot(figure, alt="Soft lengths over the torque of the screw.")
        plot.curve(axes, "plastic", "main", label="soft plastic")
        plot.curve(axes, "most", "limit", label="longest that leaves enough plug")
        plot.marker(axes, "here", "here")
        plot.legend(axes, "lower right")
        self._plot, self._axes = plot, axes
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution; the frame is drawn anew only when the tube's length changes."""
        longest = solution.shown(tube_length)
        if abs(longest - self._longest) > 1e-6:
            self._longest = longest
            self._plot.rescale(self._axes, ylim=(0, 1.1 * longest))
        plastic = softened_length.shown(solution.sweep([softened_length], [running_torque])(self._torques)[0])
        torques, most = running_torque.shown(self._torques), longest - solution.shown(grip_length)
        self._plot.update(
            curves={
                "plastic": (torques, plastic),
                "most": (np.array([0.0, 6.0]), np.array([most, most])),
            },
            markers={"here": (solution.shown(running_torque), solution.shown(softened_length))},
            alt=(
                f"Over the torque, from {torques[0]:.2g} to {torques[-1]:.2g} N·m, the soft plastic grows from "
                f"{plastic[0]:.1f} to {plastic[-1]:.1f} mm of {longest:.3g} mm of tube; at "
                f"{solution.text(running_torque)} it is {solution.text(softened_length)}. Above {most:.1f} mm the plug "
                f"is too short."
            ),
        )
        return self._plot
