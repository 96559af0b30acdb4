"""Pictures of trials: what chance alone makes of two screws, and what the spread of a weighing is made of."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import special

from augerbook.chapters.trials import (
    balance_part,
    counting_part,
    effect_ratio,
    swing_part,
    timing_part,
    trial_power,
    weighing_spread,
)
from augerbook.core.network import Solution
from augerbook.draw.bars import key_to_parts, parted_bar
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.trials import (
    confidence_wanted,
    effect_wanted,
    run_repeatability,
    screws_compared,
    weighing_time,
    weighings,
)

Array = NDArray[np.float64]

#: How far apart is drawn, in what chance alone makes of it, with how many places.
_FARTHEST, _PLACES = 7.0, 181
#: A curve higher than this leaves the frame.
_HIGHEST = 1.25


def curves_of_trial(solution: Solution) -> tuple[Array, Array, Array, float]:
    """Return places and densities of how far apart the means of a trial come out, and the bound; plain numbers.

    The places are roots of F: one is as far as noise puts alike screws on average. The densities are for screws that
    are alike and for two that differ by what is worth knowing; beyond the bound they are called different.
    """
    between, within = _freedom(solution)
    place = np.linspace(0.0, _FARTHEST, _PLACES)
    apart = solution[weighings] * solution[effect_ratio] ** 2 / 2
    with np.errstate(all="ignore"):
        steps = special.fdtr(between, within, place**2), special.ncfdtr(between, within, apart, place**2)
    # Densities as differences of the laws: twenty times as fast as SciPy's own.
    alike, differ = (np.gradient(np.nan_to_num(step), place) for step in steps)
    return place, alike, differ, float(np.sqrt(special.fdtri(between, within, solution[confidence_wanted])))


def _freedom(solution: Solution) -> tuple[float, float]:
    return solution[screws_compared] - 1, solution[screws_compared] * (solution[weighings] - 1)


@cache
def _plot() -> LivePlot:
    figure, (axes,) = graph(height=300)
    frame(
        axes, x="how far apart the means come out (1: as noise alone puts them)", y="how often",
        xlim=(0, _FARTHEST), ylim=(0, _HIGHEST), title="Alike, or apart by what is worth knowing?",
    )  # fmt: skip
    plot = LivePlot(figure, alt="how far apart the means of a trial come out")
    plot.band(axes, "shown", "band", label="a difference, and shown")
    plot.band(axes, "alarm", "forbidden", label="none, and yet called one")
    plot.curve(axes, "alike", "second", label="screws alike")
    plot.curve(axes, "apart", "main", label="screws that differ")
    plot.curve(axes, "bound", "limit", label="called different from here on")
    plot.text(axes, "power", at=(0.985, 0.42), style="flow", anchor="end")
    plot.text(axes, "told", at=(0.985, 0.33), style="note", anchor="end")
    plot.legend(axes, "upper right")
    return plot


def draw_trial(solution: Solution) -> LivePlot:
    """Draw how far apart the means of a trial come out, for screws that are alike and for screws that differ."""
    plot = _plot()
    place, alike, differ, bound = curves_of_trial(solution)
    beyond = np.where(place >= bound, 1.0, np.nan)
    shows, effect = solution.text(trial_power), solution.text(effect_wanted)
    plot.update(
        curves={
            "alike": (place, alike),
            "apart": (place, differ),
            "bound": (np.array([bound, bound]), np.array([0.0, _HIGHEST])),
        },
        bands={"shown": (place, 0 * beyond, differ * beyond), "alarm": (place, 0 * beyond, alike * beyond)},
        texts={"power": f"shown: {shows}", "told": f"of trials of screws {effect} apart"},
        alt=(
            "Two humped curves over how far apart the means of a trial come out, where one is as far as noise alone "
            "puts them. The left one is for screws that are alike, the right one for two screws that differ by "
            f"{effect}. Beyond {bound:.2f} they are called different, which happens in {shows} of trials of the latter."
        ),
    )
    return plot


#: What the spread is made of: quantity, words and style, in the order of the bars.
_PARTS = (
    (counting_part, "counting", "grain"),
    (swing_part, "slow changes", "soft"),
    (run_repeatability, "run to run", "metal"),
    (balance_part, "balance", "void"),
    (timing_part, "start and stop", "solid_ink"),
)
#: How long a weighing of each bar takes, over the planned time.
TIMES = ((0.25, "a quarter of it"), (1.0, "as planned"), (4.0, "four times it"))


def squares_over_time(solution: Solution) -> Array:
    """Return the squares of the parts of the spread (plain numbers), one row a part, one column each of `TIMES`."""
    times = np.array([factor for factor, _ in TIMES]) * solution[weighing_time]
    moving = [q for q, _, _ in _PARTS if q is not run_repeatability]
    swept = dict(zip(moving, solution.sweep(moving, [weighing_time])(times), strict=True))
    still = np.full(len(times), solution[run_repeatability])
    return np.array([np.broadcast_to(swept.get(q, still), len(times)) ** 2 for q, _, _ in _PARTS])


def draw_parts(solution: Solution) -> Scene:
    """Draw bars of what the spread of a weighing is made of, for three lengths of a weighing; squares add up."""
    squares = squares_over_time(solution)
    spreads = 100 * np.sqrt(squares.sum(axis=0))
    told = "; ".join(
        f"{weighing_time.text(factor * solution[weighing_time])}: {spread:.2g} %, of its square "
        + ", ".join(
            f"{100 * part / column.sum():.0f} % by {words}" for (_, words, _), part in zip(_PARTS, column, strict=True)
        )
        for (factor, _), spread, column in zip(TIMES, spreads, squares.T, strict=True)
    )
    scene = Scene(
        width=800, height=206, title="What one weighing scatters by: squares add up, so bars are squares",
        alt=f"Bars as long as the square of the spread of one weighing, parted by cause. {told}.",
    )  # fmt: skip
    scale = 470.0 / float(squares.sum(axis=0).max())
    for row, ((factor, words), spread, column) in enumerate(zip(TIMES, spreads, squares.T, strict=True)):
        y = 150.0 - 52.0 * row
        time = weighing_time.text(factor * solution[weighing_time])
        scene.label((176, y + 26), words, anchor="end", style="strong")
        scene.label((176, y + 8), time, anchor="end", style="note")
        parts = [(float(part), style) for part, (_, _, style) in zip(column, _PARTS, strict=True)]
        whole = float(column.sum())
        parted_bar(scene, (190.0, y), whole * scale, 34.0, parts)
        scene.label((200.0 + whole * scale, y + 17), f"{spread:.2g} %", anchor="start", style="strong")
    key_to_parts(scene, (24.0, 4.0), 156.0, [(words, style) for _, words, style in _PARTS])
    return scene


PICTURES = (
    Picture(
        "What the trial can tell",
        needs=(trial_power, weighing_spread),
        draw=draw_trial,
    ),
    Picture(
        "What a weighing scatters by",
        needs=(weighing_spread,),
        draw=draw_parts,
    ),
)
