"""Figures of the chapter: one screw against itself, the spread over the length of a weighing, and weighings needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import special

from augerbook.chapters.trials import (
    counting_part,
    effect_ratio,
    false_alarm,
    swing_part,
    weighing_spread,
    weighings_needed,
)
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.trials import confidence_wanted, effect_wanted, screws_compared, weighing_time

Array = NDArray[np.float64]
Named = Sequence[tuple[str, Solution]]

_STYLES = ("main", "second", "third", "fourth")


def thumb(ratio: Array | float) -> Array | float:
    """Return the rule of thumb: weighings of each screw for a difference in standard deviations of one weighing."""
    return 16 / np.square(ratio) + 1


def differences_of_one(spread: float, weighings: int, trials: int, seed: int) -> Array:
    """Return differences (share) that trials of one screw against itself find, by chance alone.

    Args:
        spread: standard deviation of one weighing over its mean.
        weighings: of each of the two 'screws'.
        trials: how many.
        seed: of the chance.
    """
    random = np.random.default_rng(seed)
    means = 1 + spread * random.standard_normal((trials, 2, weighings)).mean(axis=2)
    return np.asarray(means[:, 1] / means[:, 0] - 1, dtype=np.float64)


def draw_one_screw(name: str, solution: Solution, seed: int = 5) -> LivePlot:
    """Draw thirty trials in which one screw was weighed as if it were two, three weighings each and twelve each."""
    spread, trials = solution[weighing_spread], 30
    figure, (axes,) = graph(height=240)
    few, many = (100 * differences_of_one(spread, n, trials, seed) for n in (3, 12))
    plot = LivePlot(
        figure,
        alt=(
            f"Thirty invented trials of one and the same screw of {name} against itself. With three weighings on each "
            f"side the difference found goes from {few.min():.1f} to {few.max():.1f} %, with twelve from "
            f"{many.min():.1f} to {many.max():.1f} %."
        ),
    )
    reach = 1.25 * float(np.abs(few).max())
    frame(axes, x="trial", y="difference found (%)", xlim=(0, trials + 1), ylim=(-reach, 1.45 * reach),
          title=f"One screw against itself: nothing but noise ({name}, invented)")  # fmt: skip
    plot.curve(axes, "none", "limit")
    plot.marker(axes, "few", "here", label="three weighings on each side")
    plot.marker(axes, "many", "point", label="twelve on each side")
    plot.legend(axes, columns=2)
    at = np.arange(1, trials + 1)
    plot.update(
        curves={"none": (np.array([0, trials + 1]), np.zeros(2))}, markers={"few": (at, few), "many": (at, many)}
    )
    return plot


def draw_over_time(solutions: Named) -> LivePlot:
    """Draw the spread of a weighing over its length, with its two largest parts for the first build."""
    figure, (axes,) = graph(height=270)
    across = np.geomspace(10, 1800, 61)
    times = weighing_time.si(across)
    swept = [s.sweep([weighing_spread, counting_part, swing_part], [weighing_time])(times) for _, s in solutions]
    told = "; ".join(
        f"{name}: {weighing_spread.text(float(found[0][0]))} for 10 s, {s.text(weighing_spread)} for "
        f"{s.text(weighing_time)}, {weighing_spread.text(float(found[0][-1]))} for half an hour"
        for (name, s), found in zip(solutions, swept, strict=True)
    )
    plot = LivePlot(figure, alt=f"Spread of one weighing over its length: it falls, then levels out. {told}.")
    frame(axes, x=weighing_time.axis("length of a weighing"), y=weighing_spread.axis("spread"), xlim=(10, 1800),
          ylim=(0.5, 40), xscale="log", yscale="log",
          title="Longer weighings scatter less, down to what differs from run to run")  # fmt: skip
    curves: dict[str, tuple[Array, Array]] = {}
    markers = {}
    for (name, solution), found, style in zip(solutions, swept, ("main", "second"), strict=True):
        plot.curve(axes, name, style, label=name)
        plot.marker(axes, f"{name}_here", "here")
        curves[name] = (across, weighing_spread.shown(found[0]))
        markers[f"{name}_here"] = (solution.shown(weighing_time), solution.shown(weighing_spread))
    first = solutions[0][0]
    for part, column, style in (("counting", 1, "third"), ("swing", 2, "fourth")):
        words = "counting" if part == "counting" else "slow changes"
        plot.curve(axes, part, style, label=f"{words}, {first}")
        curves[part] = (across, weighing_spread.shown(swept[0][column]))
    plot.legend(axes, columns=2)
    plot.update(curves=curves, markers=markers)
    return plot


def draw_needed(solutions: Named) -> LivePlot:
    """Draw the weighings needed over the difference worth knowing, with the rule of thumb as dots."""
    figure, (axes,) = graph(height=290)
    effects = np.geomspace(0.01, 0.3, 61)
    swept = [s.sweep([weighings_needed, effect_ratio], [effect_wanted])(effects) for _, s in solutions]
    told = "; ".join(f"{name}: {s.text(weighings_needed)} for {s.text(effect_wanted)}" for name, s in solutions)
    plot = LivePlot(figure, alt=f"Weighings of each screw that are needed, over the difference worth knowing. {told}.")
    frame(axes, x=effect_wanted.axis("difference worth knowing"), y="weighings of each screw", xlim=(1, 30),
          ylim=(2, 1000), xscale="log", yscale="log",
          title="Half the difference takes four times the weighings")  # fmt: skip
    curves: dict[str, tuple[Array, Array]] = {}
    markers: dict[str, tuple[float | Array, float | Array]] = {}
    for (name, solution), (needed, _), style in zip(solutions, swept, ("main", "second"), strict=True):
        screws = solution.shown(screws_compared)
        plot.curve(axes, name, style, label=f"{name}, {screws:.0f} screws")
        plot.marker(axes, f"{name}_here", "here")
        curves[name] = (effect_wanted.shown(effects), needed)
        markers[f"{name}_here"] = (solution.shown(effect_wanted), solution[weighings_needed])
    plot.marker(axes, "thumb", "point", label=f"rule of thumb, {solutions[0][0]}")
    some = slice(4, None, 8)
    markers["thumb"] = (effect_wanted.shown(effects[some]), thumb(swept[0][1][some]))
    plot.legend(axes)
    plot.update(curves=curves, markers=markers)
    return plot


def draw_looks(solution: Solution) -> LivePlot:
    """Draw how the chance of a false alarm grows with the number of screws: at most, and by the studentized range.

    The second is exact for many weighings: pairs that share a screw err together.
    """
    from scipy import stats  # slow to import, and only this picture needs it

    figure, (axes,) = graph(height=220)
    screws = np.arange(2.0, 11.0)
    chance = false_alarm.shown(solution.sweep([false_alarm], [screws_compared])(screws)[0])
    apart = math.sqrt(2) * special.ndtri((1 + solution[confidence_wanted]) / 2)
    shared = false_alarm.shown(stats.studentized_range.sf(apart, screws, np.inf))
    told = ", ".join(f"{k:.0f} screws {a:.0f} and {b:.0f} %" for k, a, b in zip(screws, chance, shared, strict=True))
    plot = LivePlot(
        figure,
        alt="Chance of at least one false alarm over the number of screws, as if each pair had weighings of its own, "
        f"and with the shared ones that it has: {told}.",
    )
    frame(axes, x="screws compared, all alike", y=false_alarm.axis("false alarm"), xlim=(1.5, 10.5), ylim=(0, 100),
          title=f"Each pair judged by itself at {solution.text(confidence_wanted)} confidence")  # fmt: skip
    plot.marker(axes, "chance", "measured")
    plot.curve(axes, "line", "faint", label="at most")
    plot.curve(axes, "shared", "main", label="pairs that share screws")
    plot.legend(axes, "upper left")
    plot.update(curves={"line": (screws, chance), "shared": (screws, shared)}, markers={"chance": (screws, chance)})
    return plot


def draw_cuts(solution: Solution, whole: float) -> LivePlot:
    """Draw what becomes of one amount of plastic, ``whole`` seconds of it, when it is cut into ever more weighings."""
    figure, (axes,) = graph(height=240)
    counts = np.unique(np.concatenate([np.geomspace(1, 60, 61), [10.0]]))
    one = solution.sweep([weighing_spread], [weighing_time])(whole / counts)[0]
    mean = one / np.sqrt(counts)
    some = [int(np.abs(counts - n).argmin()) for n in (1, 10, 60)]
    told = "; ".join(
        f"{counts[i]:.0f} of {weighing_time.text(whole / counts[i])}: one scatters by {100 * one[i]:.1f} %, their mean "
        f"by {100 * mean[i]:.2f} %"
        for i in some
    )
    plot = LivePlot(figure, alt=f"Spread of one weighing, and of the mean of all, over their number. {told}.")
    frame(axes, x="weighings that the plastic is cut into", y=weighing_spread.axis("spread"), xlim=(1, 60),
          ylim=(0, 10), xscale="log", title="The same plastic, weighed once or often")  # fmt: skip
    plot.curve(axes, "one", "second", label="one weighing")
    plot.curve(axes, "mean", "main", label="mean of all of them")
    plot.marker(axes, "some", "here")
    plot.legend(axes, "upper left")
    plot.update(
        curves={"one": (counts, weighing_spread.shown(one)), "mean": (counts, weighing_spread.shown(mean))},
        markers={"some": (counts[some], weighing_spread.shown(mean[some]))},
    )
    return plot
