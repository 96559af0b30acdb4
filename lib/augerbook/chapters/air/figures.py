"""Figures of the chapter: a bed as a bundle of tubes, both ways unrolled, voids that close, pressures as bars."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from augerbook.chapters.air import (
    air_margin,
    air_margin_open,
    air_pressure,
    bed_drop,
    closing_factor,
    fusing_drop_open,
    helix_way,
    straight_way,
)
from augerbook.chapters.conveying import inlet_pressure
from augerbook.chapters.grains import grain_sauter
from augerbook.chapters.hopper import void_share
from augerbook.chapters.screw import helix_angle_mean
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.plastic import closing_share
from augerbook.head.printing import wanted_flow


def draw_tubes() -> Scene:
    """Draw a bed of grains and the bundle of tubes that stands for its voids, with the speed of the air in one."""
    scene = Scene(
        width=800, height=250, title="A bed of grains as a bundle of tubes",
        alt=(
            "On the left a bed of grains with air that winds through its voids. On the right straight tubes that hold "
            "as much air beside as much surface. In a tube the air stands still at the wall and is fastest in the "
            "middle: a parabola."
        ),
    )  # fmt: skip
    random = np.random.default_rng(3)
    apart, shift = 29.0, 14.5
    places = [(60 + apart * place + shift * (row % 2), 40 + 24.5 * row) for row in range(7) for place in range(9)]
    centres = np.array(places) + random.uniform(-1.5, 1.5, (len(places), 2))
    scene.circles(centres, random.uniform(9.0, 11.0, len(places)), "grain")
    # between the third row and the fourth: below the grains of the upper row, above those of the lower
    way = np.linspace(334.0, 46.0, 120)
    scene.arrow_along(np.column_stack([way, 101.25 + 3.5 * np.cos(2 * math.pi * (way - 60) / apart)]), "flow")
    scene.label((195, 14), "voids between grains", style="small")
    for row in range(4):
        scene.rectangle((450, 38 + 46 * row), 290, 10, "grain")
        if row < 3:
            scene.rectangle((450, 48 + 46 * row), 290, 36, "void")
    scene.rectangle((450, 38 + 46 * 3), 290, 10, "grain")
    across = np.linspace(-1, 1, 41)
    middle, half = 48 + 46 + 18, 18
    scene.polygon(np.column_stack([690 - 190 * (1 - across**2), middle + half * across]), "band")
    for step in (-0.62, 0.0, 0.62):
        scene.arrow((690, middle + half * step), (690 - 190 * (1 - step**2), middle + half * step), "motion")
    scene.label((595, 14), "straight tubes with as much air beside as much surface", style="small")
    return scene


def draw_unrolled_ways(solution: Solution) -> Scene:
    """Draw the tube unrolled: the channel between the flights at its helix angle, and the straight way over them."""
    angle = float(solution[helix_angle_mean])
    wide, high, turns = 700.0, 220.0, 5
    climb = wide / turns
    scene = Scene(
        width=800, height=330, origin=(-50, -70), title="Both ways, with the tube cut open and laid flat",
        alt=(
            f"The wall of the tube laid flat: flights as slanted bars, drawn steeper than their "
            f"{math.degrees(angle):.1f} degrees so that they can be seen. The channel between them is long and narrow: "
            f"as good as {solution.text(helix_way)} straight back. Over the flights the way is straight, with "
            f"{solution.text(straight_way)}."
        ),
    )  # fmt: skip
    scene.rectangle((0, 0), wide, high, "plastic")
    for turn in range(turns):
        left = turn * climb + 0.34 * climb
        scene.polygon([(left, 0), (left + 16, 0), (left + 16 + 0.5 * climb, high), (left + 0.5 * climb, high)], "screw")
    start = (4 * climb + 0.34 * climb + 0.25 * climb + 50, high / 2)
    scene.arrow(start, (20, high / 2), "flow")
    for turn in (2, 3):
        foot = turn * climb + 0.34 * climb + 0.55 * climb
        scene.arrow((foot + 0.47 * climb, 0.94 * high), (foot + 0.03 * climb, 0.06 * high), "motion")
    scene.label((0, -26), f"straight over the flights: {solution.text(straight_way)}", anchor="start", style="flow")
    scene.label((wide, -26), f"along the channel: as good as {solution.text(helix_way)}", anchor="end")
    scene.label((0, -52), "once round the tube from bottom to top; flights drawn steeper than they are", anchor="start",
                style="small")  # fmt: skip
    return scene


def draw_throttle(solution: Solution) -> LivePlot:
    """Draw how closing voids throttle the air, (1 - e) / e², from the loose bed to the share at which they close."""
    loose, closed, mean = (float(solution[q]) for q in (void_share, closing_share, closing_factor))
    shares = np.linspace(0.03, 0.75, 200)
    figure, (axes,) = graph(height=320)
    frame(
        axes, x="share of voids (%)", y="how much they throttle", xlim=(0, 75), ylim=(0, 250), title="Voids that close"
    )
    plot = LivePlot(
        figure,
        alt=(
            f"How much voids throttle the air, over their share: {(1 - loose) / loose**2:.2g} in the loose bed of "
            f"{100 * loose:.0f} %, {(1 - closed) / closed**2:.0f} where they close at {100 * closed:.0f} %; the mean "
            f"along the fusing zone is {mean:.3g}."
        ),
    )
    plot.curve(axes, "throttle", "main", label="(1 - e) / e²")
    plot.curve(axes, "mean", "second", label="mean along the zone")
    plot.marker(axes, "loose", "here")
    plot.marker(axes, "closed", "point")
    plot.legend(axes, "upper right")
    plot.update(
        curves={
            "throttle": (100 * shares, (1 - shares) / shares**2),
            "mean": (np.array([100 * closed, 100 * loose]), np.array([mean, mean])),
        },
        markers={
            "loose": (100 * loose, (1 - loose) / loose**2),
            "closed": (100 * closed, (1 - closed) / closed**2),
        },
    )
    return plot


def draw_pressures(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw what the air needs, gap open and sealed, and how hard the grains are pressed at the inlet, on one scale."""
    rows = [
        (
            name,
            (
                ("gap open", solution[bed_drop] + solution[fusing_drop_open], "wall", solution.text(air_margin_open)),
                ("gap sealed", solution[air_pressure], "soft", solution.text(air_margin)),
                ("grains, inlet", solution[inlet_pressure], "grain", ""),
            ),
        )
        for name, solution in solutions
    ]
    largest = max(value for _, bars in rows for _, value, _, _ in bars)
    long, left, high = 430.0, 190.0, 22.0
    told = "; ".join(
        f"{name}: " + ", ".join(f"{words} {inlet_pressure.text(value)}" for words, value, _, _ in bars)
        for name, bars in rows
    )
    scene = Scene(
        width=800, height=118 * len(rows) + 8, title="What the air needs, and what the grains are pressed with",
        alt=f"Bars of pressure. {told}.",
    )  # fmt: skip
    for place, (name, bars) in enumerate(rows):
        top = 118 * (len(rows) - place) - 6
        scene.label((16, top - 44), name, anchor="start", style="strong")
        for row, (words, value, style, margin) in enumerate(bars):
            y = top - 30 * (row + 1)
            scene.rectangle((left, y), max(long * value / largest, 1.0), high, style)
            scene.label((left - 10, y + high / 2), words, anchor="end", style="small")
            text = inlet_pressure.text(value) + (f", margin {margin}" if margin else "")
            scene.label(
                (left + max(long * value / largest, 1.0) + 10, y + high / 2), text, anchor="start", style="small"
            )
    return scene


def draw_margin(solution: Solution) -> LivePlot:
    """Draw the margin, gap sealed, over flow and over grain size, each from a quarter to four times what it is."""
    factors = np.geomspace(0.25, 4.0, 41)
    over = [solution.sweep([air_margin], [q])(solution[q] * factors)[0] for q in (wanted_flow, grain_sauter)]
    figure, (axes,) = graph(height=320)
    frame(axes, x="times what it is now", y="margin, gap sealed", xlim=(0.25, 4), ylim=(0.1, 200), xscale="log",
          yscale="log", title="What the margin follows")  # fmt: skip
    axes.set_xticks((0.25, 0.5, 1, 2, 4), ("1/4", "1/2", "1", "2", "4"))
    axes.set_yticks((0.1, 1, 10, 100), ("0.1", "1", "10", "100"))
    axes.minorticks_off()
    ends = [f"{words} of a quarter {curve[0]:.2g}, of four times {curve[-1]:.2g}"
            for words, curve in zip(("flow", "grain size"), over, strict=True)]  # fmt: skip
    plot = LivePlot(figure, alt=f"Margin with the gap sealed, now {solution.text(air_margin)}; {'; '.join(ends)}.")
    plot.curve(axes, "flow", "main", label="flow")
    plot.curve(axes, "grain", "second", label="grain size")
    plot.curve(axes, "limit", "limit", label="limit")
    plot.marker(axes, "here", "here")
    plot.legend(axes, "upper center")
    plot.update(
        curves={"flow": (factors, over[0]), "grain": (factors, over[1]), "limit": (np.array([0.25, 4.0]), np.ones(2))},
        markers={"here": (1.0, solution[air_margin])},
    )
    return plot
