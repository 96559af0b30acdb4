"""Figures of the chapter: printed patches, turns counted in grains, a step and its echo, the line's section, causes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.melt import fusing_time
from augerbook.chapters.ripple import (
    friction_give,
    friction_part,
    fusing_turns,
    line_section,
    pocket_noise,
    pressure_part,
    ripple,
    time_constant,
    turn_line,
    turns_held,
    unevenness,
    wave_share,
    width_deviation,
)
from augerbook.chapters.ripple.picture import flow_of_turns
from augerbook.core.network import Solution
from augerbook.draw.bars import key_to_parts, parted_bar
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.printing import filling_swing, layer_height, line_width
from augerbook.head.tube import friction_barrel

Array = NDArray[np.float64]

#: A patch: length of its lines (mm), how many lie side by side, and the room above each for its words.
_PATCH, _ROWS, _WORDS = 40.0, 4, 2.4


def widths_along(solution: Solution, length: float) -> tuple[Array, Array]:
    """Return places along a line (mm) and its width there (mm), for an invented sequence of turns.

    Args:
        solution: of a build that conveys.
        length: of the line in mm; at most the line of twelve turns is drawn.
    """
    _, flow = flow_of_turns(solution[pocket_noise], solution[fusing_turns], solution[turns_held])
    places = np.linspace(0.0, 12 * solution.shown(turn_line), len(flow))
    # What the flow adds goes into the width: as much for each per cent as the deviation for the ripple.
    by_flow = solution.shown(width_deviation) / solution[ripple]
    width = np.maximum(solution.shown(line_width) + by_flow * (flow - 1), 0.02)
    along = np.linspace(0.0, min(length, places[-1]), 400)
    return along, np.interp(along, places, width)


def draw_patches(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw a few centimetres of neighbouring lines to scale, one patch for each named build."""
    heights = [_ROWS * s.shown(line_section) / s.shown(layer_height) for _, s in solutions]
    told = []
    for name, solution in solutions:
        _, width = widths_along(solution, _ROWS * _PATCH)
        told.append(
            f"{name}: {width.min():.2f} to {width.max():.2f} mm wide where {solution.text(line_width)} are wanted "
            f"(standard deviation over many turns {solution.text(width_deviation)})"
        )
    scene = Scene(
        width=_PATCH + 3, height=sum(heights) + len(heights) * (_WORDS + 0.7), origin=(-1.5, 0.0),
        title="Four neighbouring lines to scale: dark are gaps, light are ridges",
        alt=(
            "Patches of four neighbouring printed lines with the computed ripple by counting, turns invented. "
            f"Dark: gaps beside thin places. Light: ridges where wide neighbours overlap. {'; '.join(told)}."
        ),
    )  # fmt: skip
    top = scene.window[3]
    for (name, solution), high in zip(solutions, heights, strict=True):
        apart = high / _ROWS
        along, width = widths_along(solution, _ROWS * _PATCH)
        words = f"{name}: {solution.text(line_width)} wide, give or take {solution.text(width_deviation)}"
        scene.label((0, top - 0.55 * _WORDS), words, anchor="start", style="strong")
        scene.rectangle((0, top - _WORDS - high), _PATCH, high, "solid_ink")
        place = np.linspace(0.0, _PATCH, 160)
        edges = []
        for row in range(_ROWS):
            middle = top - _WORDS - (row + 0.5) * apart
            # Like a nozzle that goes to and fro.
            at = row * _PATCH + (place if row % 2 == 0 else _PATCH - place)
            half = np.interp(at, along, width) / 2
            half -= (solution.shown(line_width) - apart) / 2  # what round edges leave is filled by the neighbour
            edges.append((middle + half, middle - half))
            scene.polygon(_between(place, *edges[-1]), "melt")
        for (_, lower), (upper, _) in pairwise(edges):
            if (upper > lower).any():
                scene.polygon(_between(place, np.maximum(upper, lower), lower), "paper")
        top -= _WORDS + high + 0.7
    scene.scale_bar(5.0, "top right")
    return scene


def _between(place: Array, upper: Array, lower: Array) -> Array:
    return np.vstack([np.column_stack([place, upper]), np.column_stack([place, lower])[::-1]])


def draw_counts() -> Scene:
    """Draw three turns with five grains on average, and three with forty of half the size, numbers at random."""
    random = np.random.default_rng(167)
    side, gap, boxes = 10.0, 3.4, 3
    rows = (("five large ones", 5, 1.24), ("forty small ones", 40, 0.62))
    counts = [random.poisson(mean, boxes) for _, mean, _ in rows]
    told = "; ".join(
        f"{words} on average: {', '.join(str(k) for k in row)}" for (words, _, _), row in zip(rows, counts, strict=True)
    )
    scene = Scene(
        width=40 + boxes * (side + gap), height=2 * (side + 5.4), origin=(-30.0, -3.4),
        title="Three turns, the same plastic on average in each", alt=f"Grains in three turns at random. {told}.",
    )  # fmt: skip
    for row, (words, mean, size) in enumerate(rows):
        floor = (1 - row) * (side + 5.0)
        scene.label((-1.4, floor + 0.62 * side), words, anchor="end", style="strong")
        scene.label((-1.4, floor + 0.36 * side), f"scatter {100 / math.sqrt(mean):.0f} %", anchor="end")
        for box in range(boxes):
            left = box * (side + gap)
            scene.rectangle((left, floor), side, side, "void")
            scene.circles(
                _apart(random, int(counts[row][box]), side, size) + np.array([left, floor]), size * 0.95, "grain"
            )
            scene.label((left + side / 2, floor - 1.4), f"{counts[row][box]}")
    return scene


def _apart(random: np.random.Generator, count: int, side: float, radius: float) -> Array:
    """Return places of circles in a square that do not overlap, or least so where there is no room."""
    placed = np.empty((0, 2))
    for _ in range(count):
        trial = random.uniform(radius, side - radius, (400, 2))
        if len(placed):
            nearest = np.min(np.hypot(*(trial[:, None, :] - placed[None, :, :]).transpose(2, 0, 1)), axis=1)
            free = np.flatnonzero(nearest >= 2 * radius)
            trial = trial[[free[0] if len(free) else int(nearest.argmax())]]
        placed = np.vstack([placed, trial[:1]])
    return placed


def draw_echo(solution: Solution) -> LivePlot:
    """Draw how the nozzle follows when the flights suddenly bring more, and what a wave keeps of its height."""
    fusing, holding = (time_constant.shown(solution[q]) for q in (fusing_time, time_constant))
    turns = solution.shown(turns_held)
    late = 1.6 * max(fusing, 3 * holding)
    time = np.linspace(0.0, late, 801)
    keep = math.exp(-time[1] / holding)
    window = max(round(fusing / time[1]), 1)
    passed = np.arange(1, len(time) + 1)
    held, fused = 1 - keep**passed, np.minimum(passed / window, 1.0)
    before = -0.12 * late
    constants = np.geomspace(0.01, 30.0, 121)
    (waves,) = solution.sweep([wave_share], [time_constant])(time_constant.si(constants))
    figure, (left, right) = graph(columns=2, height=270)
    frame(left, x=time_constant.axis("time after the step"), y="part that has come through (%)", xlim=(before, late),
          ylim=(0, 125), title="A step and its echo")  # fmt: skip
    frame(right, x=time_constant.axis("time constant"), y=wave_share.axis("height of a wave left"), xlim=(0.01, 30),
          ylim=(0, 115), xscale="log", title="A wave with the rhythm of a turn")  # fmt: skip
    right.set_xticks((0.01, 0.1, 1, 10), ("0.01", "0.1", "1", "10"))
    right.minorticks_off()
    plot = LivePlot(figure, alt=(
        f"Left: after a step in the flow, melt and springs alone let 63 % through in "
        f"{solution.text(time_constant)}; the fusing zone makes a straight ramp that takes "
        f"{solution.text(fusing_time)}. "
        f"Right: with a time constant of {solution.text(time_constant)}, {turns:.2g} turns, a wave of one turn keeps "
        f"{solution.text(wave_share)} of its height; a longer one leaves less."
    ))  # fmt: skip
    plot.curve(left, "step", "limit", label="brought by the flights")
    plot.curve(left, "held", "second", label="melt and springs alone")
    plot.curve(left, "fused", "main", label="fusing alone")
    plot.legend(left, "lower right")
    plot.curve(right, "wave", "main")
    plot.marker(right, "wave_here", "here")
    start = np.array([before, 0.0])
    nothing = np.zeros(2)
    plot.update(
        curves={
            "step": (np.array([before, 0, 0, late]), np.array([0, 0, 100, 100])),
            "held": (np.append(start, time), 100 * np.append(nothing, held)),
            "fused": (np.append(start, time), 100 * np.append(nothing, fused)),
            "wave": (constants, wave_share.shown(waves)),
        },
        markers={"wave_here": (holding, solution.shown(wave_share))},
    )
    return plot


def draw_bead(solution: Solution) -> Scene:
    """Draw the section of the printed line to scale, and how wide it is with one deviation more and less."""
    width, deviation, height = (solution.shown(q) for q in (line_width, width_deviation, layer_height))
    scene = Scene(
        width=3.0 * width, height=2.5 * height, origin=(-1.25 * width, -0.95 * height),
        title="The line, cut across",
        alt=(
            f"The section of the line to scale: {width:.3g} mm wide and {height:.3g} mm high with round edges, "
            f"{solution.text(line_section)}. Dashed: the same with one standard deviation more and less, "
            f"{solution.text(width_deviation)} in the width."
        ),
    )  # fmt: skip
    scene.polygon(_bead(width, height), "melt")
    for sign in (-1, 1):
        scene.path(_bead(max(width + sign * deviation, height), height, closed=True), "hidden")
    scene.line((-1.25 * width, 0), (1.75 * width, 0), "outline")
    below = -0.55 * height
    scene.dimension((-width / 2, below), (width / 2, below), f"w {width:.3g} mm")
    scene.dimension((-0.62 * width, 0), (-0.62 * width, height), f"{height:.3g} mm", text_at="left")
    scene.leader((width / 2 + deviation / 2, height / 2), (0.75 * width, 1.2 * height),
                 f"± {solution.text(width_deviation)} in the width")  # fmt: skip
    scene.label((0, height / 2), solution.text(line_section), style="strong")
    return scene


def _bead(width: float, height: float, closed: bool = False) -> Array:
    turn = np.linspace(-math.pi / 2, math.pi / 2, 31)
    edge = np.column_stack([np.cos(turn), np.sin(turn)]) * height / 2
    right = edge + np.array([(width - height) / 2, height / 2])
    outline = np.vstack([right, (right * [-1, 1])[::-1]])
    return np.vstack([outline, outline[:1]]) if closed else outline


#: The causes in the order of the bars, with how they look.
CAUSES = ((ripple, "counting", "grain"), (friction_part, "friction", "screw"), (filling_swing, "filling", "melt"),
          (pressure_part, "pressure", "solid_ink"))  # fmt: skip


def shares_of(solution: Solution) -> list[float]:
    """Return the shares of counting, friction, filling and pressure in the square of the unevenness."""
    squares = [solution[part] ** 2 for part, _, _ in CAUSES]
    return [square / solution[unevenness] ** 2 for square in squares]


def draw_shares(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw for each named build which share the causes have in the square of its unevenness."""
    told = []
    long, high, left, each = 470.0, 34.0, 180.0, 58.0
    scene_height = 60 + each * len(solutions)
    for name, solution in solutions:
        shares = ", ".join(
            f"{words} {_percent(share)}" for (_, words, _), share in zip(CAUSES, shares_of(solution), strict=True)
        )
        told.append(f"{name}: {solution.text(unevenness)} in all, by {shares}")
    scene = Scene(
        width=800, height=scene_height, title="What makes the line uneven",
        alt=f"Bars of equal length, parted by the shares in the square of the unevenness. {'; '.join(told)}.",
    )  # fmt: skip
    for place, (name, solution) in enumerate(solutions):
        y = scene_height - each * (place + 1) + 8
        scene.label((left - 14, y + high / 2), name, anchor="end", style="strong")
        parts = [(share, style) for (_, _, style), share in zip(CAUSES, shares_of(solution), strict=True)]
        for (share, _), (at, part) in zip(
            parts, parted_bar(scene, (left, y), long, high, parts, whole=1.0), strict=True
        ):
            if part > 40:
                scene.label((at + part / 2, y + high / 2), _percent(share), style="strong")
        scene.label((left + long + 12, y + high / 2 + 9), solution.text(unevenness), anchor="start", style="strong")
        scene.label((left + long + 12, y + high / 2 - 10), "unevenness", anchor="start", style="small")
    key_to_parts(scene, (left, 18), 124, [(words, style) for _, words, style in CAUSES])
    return scene


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.01 else "below 1 %"


class NearSlipping:
    """Unevenness over the friction on the wall of the bore: all causes together, and counting alone."""

    def __init__(self, solution: Solution) -> None:
        figure, (axes,) = graph(height=270)
        frame(axes, x="friction of the plastic on the wall of the bore", y=unevenness.axis("unevenness of the flow"),
              xlim=(0.1, 0.8), ylim=(0, 45))  # fmt: skip
        plot = LivePlot(figure, alt="Unevenness over the friction on the wall.")
        plot.curve(axes, "whole", "main", label="all causes")
        plot.curve(axes, "counting", "second", label="counting alone")
        plot.marker(axes, "here", "here")
        plot.legend(axes, "upper right")
        self._plot = plot
        self(solution)

    def __call__(self, solution: Solution) -> LivePlot:
        """Move the curves to a solution."""
        frictions = np.linspace(0.1, 0.8, 281)
        whole, counting = solution.sweep([unevenness, ripple], [friction_barrel])(frictions)
        flows = np.isfinite(whole)
        slips = f"below {frictions[flows][0]:.2f} the plug slips and nothing comes out" if flows.any() else "it slips"
        here = solution.shown(unevenness)
        self._plot.update(
            curves={
                "whole": (frictions, np.where(flows, unevenness.shown(whole), np.nan)),
                "counting": (frictions, np.where(flows, unevenness.shown(counting), np.nan)),
            },
            markers={"here": (solution[friction_barrel], here if math.isfinite(here) else math.nan)},
            alt=(
                f"Unevenness over the friction on the wall of the bore: at {solution.text(friction_barrel)} it is "
                f"{solution.text(unevenness)}, and the plug answers one per cent of friction with "
                f"{solution.text(friction_give)} per cent of flow; {slips}. Just above, the curve of all causes shoots "
                "up from that of counting alone."
            ),
        )
        return self._plot
