"""Figures of the chapter: water left over time, the dryer's air, what water costs, and how old the feed gets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from augerbook.chapters.feedstock import (
    drying_humidity,
    fourier_ball,
    fourier_flake,
    fourier_number,
    left_ball,
    left_flake,
    left_wanted,
    moisture_air,
    moisture_dried,
    share_worn,
    viscosity_wet,
)
from augerbook.core.network import Solution
from augerbook.core.units import number
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.style import Anchor
from augerbook.head.feedstock import (
    air_humidity,
    drying_temperature,
    humidity_temperature,
    moisture_limit,
    moisture_saturated,
    molar_mass,
    passes_allowed,
    recycled_share,
)
from augerbook.tables import read_table

_STYLES = ("main", "second", "third", "fourth")
#: Half of the water, for the times that the chapter names.
_HALF = 0.5


def draw_left(solution: Solution) -> LivePlot:
    """Draw the water left in a ball and a flake, of what can leave, over the drying time in units of a**2/D."""
    figure, (axes,) = graph(height=270)
    frame(axes, x="drying time × D / a²   (a: radius, or half the thickness)", y=left_ball.axis("water left"),
          xlim=(0, 1.6), ylim=(1, 100), yscale="log", title="How a grain gets dry")  # fmt: skip
    axes.yaxis.set_major_formatter("{x:g}")
    plot = LivePlot(figure, alt="Water left in a ball and in a flake over time.")
    times = np.linspace(0.0, 1.6, 161)
    curves, halves = {}, []
    for name, style, left, need in (
        ("flake", "main", left_flake, fourier_flake),
        ("ball", "second", left_ball, fourier_ball),
    ):
        (shares,) = solution.sweep([left], [fourier_number])(times)
        (half,) = solution.sweep([need], [left_wanted])(np.array([_HALF]))
        plot.curve(axes, name, style, label=name)
        curves[name] = (times, left.shown(shares))
        halves.append(f"half of a {name}'s water after {half[0]:.3g}")
    plot.curve(axes, "half", "faint", label="half of it")
    curves["half"] = (np.array([0.0, 1.6]), np.full(2, left_ball.shown(_HALF)))
    plot.legend(axes, "upper right")
    plot.update(curves=curves, alt=f"Water left falls fast, then along a straight line: {', '.join(halves)}.")
    return plot


class Air(NamedTuple):
    """Air as it is read: a name, the temperature in °C and the relative humidity in %."""

    name: str
    celsius: float
    percent: float


#: The airs that the chapter compares.
AIRS = (
    Air("room, 22 °C, 50 %", 22, 50),
    Air("dew point 0 °C", 0, 100),
    Air("dew point −25 °C", -25, 100),
    Air("dew point −40 °C", -40, 100),
)
#: Where a plastic's name stands beside its bar, so that neighbours do not collide.
_PLACES: dict[str, tuple[Anchor, tuple[float, float], bool]] = {
    "PET": ("end", (-8, 0), True),
    "PLA pellets": ("middle", (0, -14), False),
    "PLA": ("end", (-8, 0), True),
    "PETG": ("end", (-8, -2), True),
}


def draw_air(solution: Solution, airs: Sequence[Air] = AIRS) -> LivePlot:
    """Draw how damp each air is once it is warm, and for each plastic the damp at which it keeps half its limit to all.

    An air dries a plastic when its curve passes below that plastic's bar, at the temperature it is dried at.
    """
    figure, (axes,) = graph(height=430)
    frame(axes, x=drying_temperature.axis("temperature while drying"),
          y=drying_humidity.axis("relative humidity of the warm air"), xlim=(20, 130), ylim=(0.003, 130), yscale="log",
          title="The dryer's air, and how damp each plastic bears it")  # fmt: skip
    axes.yaxis.set_major_formatter("{x:g}")
    plot = LivePlot(figure, alt="Relative humidity over temperature.")
    warm = drying_temperature.si(np.linspace(20, 130, 111))
    humid = solution.sweep([drying_humidity], [drying_temperature, humidity_temperature, air_humidity])
    curves, told = {}, []
    for place, air in enumerate(airs):
        read = humidity_temperature.si(air.celsius), air_humidity.si(air.percent)
        (damp,) = humid(*np.broadcast_arrays(warm, *read))
        plot.curve(axes, f"air_{place}", _STYLES[place], label=air.name)
        curves[f"air_{place}"] = (drying_temperature.shown(warm), drying_humidity.shown(damp))
    keeps = solution.sweep([moisture_air], [moisture_saturated, drying_humidity])
    grid = np.geomspace(1e-4, 2.0, 400)
    for place, row in enumerate(read_table("plastics_drying").rows.values()):
        saturated, limit = row.si("moisture_saturated"), row.si("moisture_limit")
        at = row.si("drying_temperature")
        if saturated is None or limit is None or at is None:
            continue
        (kept,) = keeps(*np.broadcast_arrays(saturated, grid))
        half, all_of_it = (float(np.interp(part * limit, kept, grid)) for part in (0.5, 1.0))
        x = float(drying_temperature.shown(at))
        low, high = (float(drying_humidity.shown(share)) for share in (half, all_of_it))
        plot.curve(axes, f"bar_{place}", "heavy")
        curves[f"bar_{place}"] = (np.array([x, x]), np.array([low, high]))
        anchor, shift, beside = _PLACES.get(row.name, ("start", (8, 0), True))
        plot.text(axes, f"name_{place}", style="small", anchor=anchor, shift=shift)
        plot.update(texts={f"name_{place}": (row.name, x, (low * high) ** 0.5 if beside else low)})
        told.append(f"{row.name} at {x:.0f} °C {number(low, 2)} to {number(high, 2)} %")
    plot.legend(axes, "lower left")
    plot.update(
        curves=curves,
        alt=(
            "Relative humidity of four airs over the temperature they are warmed to. Each plastic keeps half its limit "
            f"to all of it in air of: {', '.join(told)}."
        ),
    )
    return plot


def draw_cuts(solution: Solution) -> LivePlot:
    """Draw the least share of the viscosity that water leaves, over the water, for chains of three lengths."""
    figure, (axes,) = graph(height=270)
    frame(axes, x="water left in the granules (% of the mass)", y=viscosity_wet.axis("viscosity left, at least"),
          xlim=(0.001, 0.2), ylim=(0, 105), xscale="log", title="If all of the water cuts chains")  # fmt: skip
    axes.xaxis.set_major_formatter("{x:g}")
    plot = LivePlot(figure, alt="Viscosity left over the water in the granules.")
    water = np.geomspace(1e-5, 2e-3, 80)
    cut = solution.sweep([viscosity_wet], [moisture_dried, molar_mass])
    curves, told = {}, []
    for place, times in enumerate((0.5, 1.0, 2.0)):
        chain = times * solution[molar_mass]
        (left,) = cut(water, np.full(water.size, chain))
        (at_limit,) = cut(np.array([solution[moisture_limit]]), np.array([chain]))
        plot.curve(axes, f"chain_{place}", _STYLES[place], label=molar_mass.text(chain, digits=2))
        curves[f"chain_{place}"] = (moisture_dried.shown(water), viscosity_wet.shown(left))
        told.append(f"{viscosity_wet.text(float(at_limit[0]))} with chains of {molar_mass.text(chain, digits=2)}")
    plot.curve(axes, "limit", "limit", label="limit of the plastic")
    limit = solution.shown(moisture_limit)
    curves["limit"] = (np.array([limit, limit]), np.array([0.0, 105.0]))
    plot.marker(axes, "here", "here")
    plot.legend(axes, "upper right")
    plot.update(
        curves=curves,
        markers={"here": (solution.shown(moisture_dried), solution.shown(viscosity_wet))},
        alt=(
            f"Viscosity left if all water cuts chains. At the limit of {solution.text(moisture_limit)}: "
            f"{', '.join(told)}. This build: {solution.text(viscosity_wet)} at {solution.text(moisture_dried)}."
        ),
    )
    return plot


def draw_ages(solution: Solution, shares: Sequence[float] = (0.25, 0.5)) -> LivePlot:
    """Draw which part of the feed was melted at least so many times before, for some shares printed before and its own.

    ``shares`` are plain numbers from 0 to 1.
    """
    figure, (axes,) = graph(height=270)
    frame(axes, x="melted before, at least so many times", y=share_worn.axis("part of the feed"), xlim=(0.8, 8.2),
          ylim=(0, 100), title="How old the feed gets")  # fmt: skip
    plot = LivePlot(figure, alt="Part of the feed over how often it was melted.")
    counts = np.arange(1.0, 9.0)
    old = solution.sweep([share_worn], [recycled_share, passes_allowed])
    curves, told = {}, []
    for place, share in enumerate(sorted({*shares, solution[recycled_share]})):
        (parts,) = old(*np.broadcast_arrays(share, counts))
        plot.curve(
            axes, f"share_{place}", _STYLES[place], label=f"{recycled_share.text(share, digits=2)} printed before"
        )
        plot.marker(axes, f"dots_{place}", "point")
        curves[f"share_{place}"] = (counts, share_worn.shown(parts))
        told.append(f"with {recycled_share.text(share, digits=2)} {share_worn.text(float(parts[2]), digits=2)}")
    plot.legend(axes, "upper right")
    plot.update(
        curves=curves,
        markers={f"dots_{place}": curves[f"share_{place}"] for place in range(len(told))},
        alt=f"Part of the feed that was melted at least three times before: {', '.join(told)}.",
    )
    return plot
