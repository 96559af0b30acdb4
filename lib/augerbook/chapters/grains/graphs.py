"""The sizes of the grains as graphs: the distribution with the gaps marked, and the laws fitted to a sieve table."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.grains import (
    grain_median,
    largest_passing_leaning,
    lognormal_median,
    lognormal_misfit,
    lognormal_spread,
    rosin_rammler_exponent,
    rosin_rammler_misfit,
    rosin_rammler_size,
)
from augerbook.chapters.grains.sizes import (
    LognormalSizes,
    SievedSizes,
    Sizes,
    below_meshes,
    rosin_rammler_below,
    sieved_sizes,
)
from augerbook.chapters.screw import core_gap, tip_gap
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.head.feedstock import SIEVED, ground_median, ground_spread, sieve_mesh, sieve_table, sizes_from

#: Shares that are shown as none and as all.
NONE, ALL = 0.0005, 0.995


def sizes_of(solution: Solution) -> Sizes:
    """Return the sizes behind a solution."""
    if solution.choices[sizes_from] == SIEVED:
        return sieved_sizes(solution.values[sieve_table], solution[sieve_mesh])
    return LognormalSizes(solution[ground_median], solution[ground_spread], solution[sieve_mesh])


def percent(share: float) -> str:
    """Return a share as words: whole per cent, below ten with one digit more."""
    return "none" if share < NONE else f"{100 * share:.0f} %" if share >= 0.095 else f"{100 * share:.1f} %"


_FROM, _TO = 0.05, 10.0
_TICKS = (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10)
_GRID = np.geomspace(_FROM, _TO, 301)
#: Each gap: what it is in full and in a word, the quantity, and the style of its line.
_GAPS = (
    ("tip", "gap over the tip", "over the tip", tip_gap, "second"),
    ("core", "gap over the core", "over the core", core_gap, "limit"),
    ("leaning", "largest that passes, leaning", "passes, leaning", largest_passing_leaning, "third"),
)
#: Heights to which the lines of the gaps rise, the narrowest first: each has its words left of its upper end, above
#: all curves, where no other line comes. A line nearer to the left edge than this has them on its right.
_TOPS, _HIGHEST, _NEAR_THE_EDGE = (112.0, 126.0, 140.0), 148.0, 0.24


@cache
def _plot() -> LivePlot:
    figure, (axes,) = graph(height=320)
    frame(
        axes, x=sieve_mesh.axis("size of the grain"), y="share below it (%)", xlim=(_FROM, _TO), ylim=(0, _HIGHEST),
        xscale="log",
    )  # fmt: skip
    axes.set_xticks(_TICKS, [f"{tick:g}" for tick in _TICKS])
    axes.set_yticks(range(0, 101, 20))
    axes.minorticks_off()
    plot = LivePlot(figure, alt="shares of the grains below each size")
    plot.band(axes, "over", "forbidden", label="too large to pass")
    plot.curve(axes, "mass", "main", label="of the mass")
    plot.curve(axes, "count", "fourth", label="of the number")
    plot.marker(axes, "sieves", "measured", label="weighed, if it was")
    for name, _, _, _, style in _GAPS:
        plot.curve(axes, name, style)
        plot.text(axes, f"{name}_left", style="small", anchor="end", shift=(-6.0, -5.0))
        plot.text(axes, f"{name}_right", style="small", shift=(6.0, -5.0))
    plot.legend(axes, "lower right")
    return plot


def draw_distribution(solution: Solution) -> LivePlot:
    """Draw the shares by mass and by number below each size, with the gaps and what lies above them."""
    plot, sizes = _plot(), sizes_of(solution)
    grid = sieve_mesh.si(_GRID)
    by_mass = np.where(grid < solution[sieve_mesh], sizes.share_below(grid), 1.0)
    by_number = np.where(grid < solution[sieve_mesh], sizes.share_below(grid, -3), 1.0)
    table = solution.values.get(sieve_table)
    sieves = (np.array([]), np.array([]))
    if table is not None and isinstance(sizes, SievedSizes):
        sieves = sieve_mesh.shown(table[0][:-1]), 100 * below_meshes(table[1])
    gaps = {name: solution.shown(quantity) for name, _, _, quantity, _ in _GAPS}
    above = {name: 1 - float(sizes.share_below(sieve_mesh.si(gap))) for name, gap in gaps.items()}
    tops = dict(zip(sorted(gaps, key=gaps.__getitem__), _TOPS, strict=True))
    texts = {}
    for name, _, brief, _, _ in _GAPS:
        near = gaps[name] < _FROM * (_TO / _FROM) ** _NEAR_THE_EDGE
        words = f"{brief}: {percent(above[name])} above"
        texts[f"{name}_left"] = ("" if near else words, gaps[name], tops[name])
        texts[f"{name}_right"] = (words if near else "", gaps[name], tops[name])
    plot.update(
        curves={
            "mass": (_GRID, 100 * by_mass),
            "count": (_GRID, 100 * by_number),
            **{name: (np.array([gap, gap]), np.array([0.0, tops[name]])) for name, gap in gaps.items()},
        },
        bands={"over": (np.array([gaps["leaning"], _TO]), 0.0, 104.0)},
        markers={"sieves": sieves},
        texts=texts,
        alt=_plot_alt(solution, gaps, above),
    )
    return plot


def _plot_alt(solution: Solution, gaps: dict[str, float], above: dict[str, float]) -> str:
    words = "; ".join(f"{percent(above[name])} above the {label} of {gaps[name]:.3g} mm" for name, label, *_ in _GAPS)
    median = solution.shown(grain_median)
    return (
        "Share of the grains below each size, by mass and by number. "
        f"Half of the mass is below {median:.3g} mm; {words}."
    )


def draw_fits(solution: Solution) -> LivePlot:
    """Draw a sieve table with the two laws fitted to it."""
    mesh, share = solution.values[sieve_table]
    passed, grid = mesh[0], np.geomspace(0.06 * mesh[0], mesh[0], 200)
    across = sieve_mesh.shown(grid)
    figure, (axes,) = graph(height=280)
    frame(
        axes, x=sieve_mesh.axis("size of the grain"), y="mass below it (%)", ylim=(0, 104), xscale="log",
        xlim=(float(across[0]), 1.1 * float(across[-1])),
    )  # fmt: skip
    ticks = [tick for tick in _TICKS if across[0] <= tick <= 1.1 * across[-1]]
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    axes.minorticks_off()
    off = [solution.shown(q) for q in (lognormal_misfit, rosin_rammler_misfit)]
    plot = LivePlot(
        figure,
        alt=(
            f"Shares of the mass below each mesh, weighed, with two fitted laws. The lognormal law is off by at most "
            f"{off[0]:.1f} %, that of Rosin and Rammler by at most {off[1]:.1f} %."
        ),
    )
    plot.curve(axes, "table", "faint", label="straight between the meshes")
    plot.curve(axes, "lognormal", "second", label="lognormal")
    plot.curve(axes, "rosin_rammler", "third", label="Rosin and Rammler")
    plot.marker(axes, "sieves", "measured", label="weighed on sieves")
    plot.legend(axes, "upper left")
    laws = {
        "table": SievedSizes(mesh, share).share_below(grid),
        "lognormal": LognormalSizes(solution[lognormal_median], solution[lognormal_spread], passed).share_below(grid),
        "rosin_rammler": rosin_rammler_below(
            grid, solution[rosin_rammler_size], solution[rosin_rammler_exponent], passed
        ),
    }
    plot.update(
        curves={name: (across, 100 * below) for name, below in laws.items()},
        markers={"sieves": (sieve_mesh.shown(mesh[:-1]), 100 * below_meshes(share))},
    )
    return plot


@cache
def _table_plot() -> LivePlot:
    figure, (axes,) = graph(height=240)
    frame(axes, x=sieve_mesh.axis("size of the grain"), y="mass below it (%)", xlim=(_FROM, _TO), ylim=(0, 104),
          xscale="log")  # fmt: skip
    axes.set_xticks(_TICKS, [f"{tick:g}" for tick in _TICKS])
    axes.set_yticks(range(0, 101, 20))
    axes.minorticks_off()
    plot = LivePlot(figure, alt="share of the mass below each mesh")
    plot.curve(axes, "table", "main", label="straight between the meshes")
    plot.marker(axes, "sieves", "measured", label="weighed on sieves")
    plot.legend(axes, "upper left")
    return plot


def draw_sieve_table(mesh: NDArray[np.float64], share: NDArray[np.float64]) -> LivePlot:
    """Draw a sound sieve table (mesh in m, share on each): the mass below each size, on a scale that stays."""
    plot, sizes = _table_plot(), SievedSizes(mesh, share)
    grid = np.union1d(sieve_mesh.si(_GRID), mesh[mesh > 0])
    below = 100 * sizes.share_below(grid)
    half = 1e3 * float(sizes.size_at(0.5))
    plot.update(
        curves={"table": (sieve_mesh.shown(grid), below)},
        markers={"sieves": (sieve_mesh.shown(mesh[:-1]), 100 * sizes.share_below(mesh[:-1]))},
        alt=f"Share of the mass below each mesh, {len(mesh) - 1} meshes and the pan. Half is below {half:.3g} mm.",
    )
    return plot
