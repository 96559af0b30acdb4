"""Pictures of ripple: turns of plastic above the line they make, and what evens them out as graphs."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters import whole_head
from augerbook.chapters.grains import grain_volume_ratio
from augerbook.chapters.ripple import (
    SUBJECT,
    fused_share,
    fusing_turns,
    held_share,
    pocket_noise,
    ripple,
    turn_line,
    turns_held,
    wave_share,
    width_deviation,
)
from augerbook.core.network import Solution
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.printing import line_width

Array = NDArray[np.float64]

#: Steps a turn, turns shown, and turns before and after them that the longest mean shown may reach.
_STEPS, _SHOWN, _REACH = 24, 12, 40
_NORMAL = np.random.default_rng(10).standard_normal((_REACH + _SHOWN + _REACH, _STEPS))

_WIDTH, _HEIGHT = 800.0, 372.0
_LEFT, _LONG = 40.0, 720.0
#: Heights of the mean turn and of the mean width, and where bars and line stand.
_MEAN_BAR, _MEAN_WIDTH, _BARS, _LINE = 52.0, 64.0, 200.0, 98.0
#: Bars end at this many means.
_HIGHEST = 2.1


def flow_of_turns(noise: float, fusing: float, holding: float) -> tuple[Array, Array]:
    """Return an invented sequence of turns over their mean, and the flow they make where they land on average.

    Args:
        noise: standard deviation of a turn over its mean.
        fusing, holding: turns that fuse together, and the time constant in turns.

    Returns:
        turns (12,) and flow (12 * 24 + 1,), both over the mean.
    """
    from scipy.signal import lfilter  # half a second to import, and most pages draw another picture first

    fusing, holding = min(max(fusing, 1 / _STEPS), _REACH), min(max(holding, 1e-3), _REACH / 2)
    # Each step takes in what chance gives it: a turn, the mean of its steps, then differs as much as it should.
    spread = math.sqrt(math.log1p(_STEPS * noise**2))
    taken = np.exp(spread * _NORMAL - spread**2 / 2)
    time = np.arange(taken.size + 1) / _STEPS
    brought = np.concatenate([[0.0], np.cumsum(taken)]) / _STEPS
    # The plastic of turns before the first one shown is taken as the mean: far enough back not to matter.
    earlier = np.where(time < fusing, time - fusing, np.interp(time - fusing, time, brought))
    mean = (brought - earlier) / fusing
    keep = math.exp(-1 / (_STEPS * holding))
    flow = 1 + lfilter([1 - keep], [1, -keep], mean - 1)
    late = _REACH + min(fusing / 2 + holding, _REACH - 1)
    places = late + np.arange(_SHOWN * _STEPS + 1) / _STEPS
    return taken.mean(axis=1)[_REACH : _REACH + _SHOWN], np.interp(places, time, flow)


def draw_line(solution: Solution) -> Scene:
    """Draw a dozen turns of plastic as bars, and below them the printed line that they make."""
    noise, deviation = solution[pocket_noise], solution[width_deviation]
    flows = math.isfinite(noise) and math.isfinite(deviation)
    words = "nothing comes out: the plug slips"
    if flows:
        words = (
            f"the turns differ by {solution.text(pocket_noise)} (standard deviation), the flow at the nozzle by "
            f"{solution.text(ripple)}, and the width of {solution.text(line_width)} by "
            f"{solution.text(width_deviation)}"
        )
    scene = Scene(
        width=_WIDTH, height=_HEIGHT, title="A dozen turns, and the line they print",
        alt=f"Bars for the plastic of twelve turns, invented at random, above the line that they make: {words}.",
    )  # fmt: skip
    if not flows:
        scene.label((_WIDTH / 2, _HEIGHT / 2), "Nothing comes out: the plug slips.", style="force")
        return scene
    turns, flow = flow_of_turns(noise, solution[fusing_turns], solution[turns_held])
    _bars(scene, turns, f"taken in: the turns differ by {solution.text(pocket_noise)}")
    _line(scene, flow, solution)
    return scene


def _bars(scene: Scene, turns: Array, words: str) -> None:
    each = _LONG / _SHOWN
    for place, turn in enumerate(turns):
        height = _MEAN_BAR * min(turn, _HIGHEST)
        scene.rectangle((_LEFT + place * each + 3, _BARS), each - 6, height, "plastic")
    scene.line((_LEFT, _BARS), (_LEFT + _LONG, _BARS), "outline")
    scene.line((_LEFT - 8, _BARS + _MEAN_BAR), (_LEFT + _LONG + 8, _BARS + _MEAN_BAR), "hidden")
    scene.label((_LEFT, _BARS + _HIGHEST * _MEAN_BAR + 20), words, anchor="start", style="strong")
    scene.label((_LEFT + _LONG, _BARS + _HIGHEST * _MEAN_BAR + 20), "dashed: the mean", anchor="end", style="note")


def _line(scene: Scene, flow: Array, solution: Solution) -> None:
    width, deviation = (solution.shown(q) for q in (line_width, width_deviation))
    relative = deviation / solution[ripple] / width
    half = _MEAN_WIDTH / 2 * np.clip(1 + (flow - 1) * relative, 0.03, 2.0)
    along = np.linspace(_LEFT, _LEFT + _LONG, len(half))
    outline = np.vstack([np.column_stack([along, _LINE + half]), np.column_stack([along, _LINE - half])[::-1]])
    scene.polygon(outline, "melt")
    for sign in (-1.0, 1.0):
        for edge in (1 - deviation / width, 1 + deviation / width):
            y = _LINE + sign * _MEAN_WIDTH / 2 * min(max(edge, 0.0), 2.0)
            scene.line((_LEFT - 8, y), (_LEFT + _LONG + 8, y), "hidden")
    words = f"printed: {solution.text(line_width)} wide, give or take {solution.text(width_deviation)} (dashed)"
    scene.label((_LEFT, _BARS - 24), words, anchor="start", style="strong")
    wave = solution.shown(turn_line)
    larger = (_MEAN_WIDTH / width) / (_LONG / (_SHOWN * wave))
    floor = _LINE - _MEAN_WIDTH - 8
    scene.dimension((_LEFT, floor), (_LEFT + _LONG / _SHOWN, floor), f"one turn: {solution.text(turn_line)}",
                    text_at="q")  # fmt: skip
    scene.label(
        (_LEFT + _LONG, floor), f"width drawn {larger:.2g} times as large as length", anchor="end", style="note"
    )


_TURNS = np.geomspace(0.01, 100.0, 161)
_SIZES = np.geomspace(0.1, 5.0, 41)


@cache
def _plot() -> LivePlot:
    margin = SUBJECT.margins[0]
    figure, (left, right) = graph(columns=2, height=340)
    frame(left, x="turns that fuse together, or are held", y=fused_share.axis("left of the noise of a turn"),
          xlim=(0.01, 100), ylim=(1, 1000), xscale="log", yscale="log")  # fmt: skip
    frame(right, x="diameter of the mean grain (mm)", y=ripple.axis("ripple"), xlim=(0.1, 5), ylim=(0.5, 100),
          xscale="log", yscale="log")  # fmt: skip
    left.set_xticks((0.01, 0.1, 1, 10, 100), ("0.01", "0.1", "1", "10", "100"))
    left.set_yticks((1, 10, 100, 1000), ("1", "10", "100", "1000"))
    right.set_xticks((0.1, 0.2, 0.5, 1, 2, 5), ("0.1", "0.2", "0.5", "1", "2", "5"))
    right.set_yticks((0.5, 1, 2, 5, 10, 20, 50, 100), ("0.5", "1", "2", "5", "10", "20", "50", "100"))
    for axes in (left, right):
        axes.minorticks_off()
    plot = LivePlot(figure, alt="what evens out the turns, and ripple over the size of the grains")
    plot.curve(left, "fused", "main", label="fused together")
    plot.curve(left, "held", "second", label="held by melt, springs")
    plot.curve(left, "wave", "third", label="held: wave of a turn")
    plot.marker(left, "fused_here", "here")
    plot.marker(left, "held_here", "point")
    plot.legend(left, "upper right")
    plot.curve(right, "sizes", "main", label="as the build is")
    plot.curve(right, "good", "faint", label=f"good: {margin.good:g} %")
    plot.curve(right, "limit", "limit", label=f"limit: {margin.limit:g} %")
    plot.marker(right, "size_here", "here")
    plot.legend(right, "lower right")
    passed = {"fused": (fused_share, fusing_turns), "held": (held_share, turns_held), "wave": (wave_share, turns_held)}
    shares = {name: whole_head().compile([share], [over], {})(_TURNS)[0] for name, (share, over) in passed.items()}
    levels = {"good": margin.good, "limit": margin.limit}
    plot.update(
        curves={
            **{name: (_TURNS, fused_share.shown(share)) for name, share in shares.items()},
            **{name: ([0.1, 5.0], [level, level]) for name, level in levels.items()},
        }
    )
    return plot


def draw_evening(solution: Solution) -> LivePlot:
    """Draw what fusing and holding leave of the noise, and the ripple over the size of the grains."""
    plot = _plot()
    size = 1e3 * (6 * solution[grain_volume_ratio] / math.pi) ** (1 / 3)
    (over_sizes,) = solution.sweep([ripple], [grain_volume_ratio])(math.pi / 6 * (1e-3 * _SIZES) ** 3)
    percent = {q: solution.shown(q) for q in (fused_share, held_share, ripple)}
    plot.update(
        curves={"sizes": (_SIZES, ripple.shown(over_sizes))},
        markers={
            "fused_here": (solution[fusing_turns], percent[fused_share]),
            "held_here": (solution[turns_held], percent[held_share]),
            "size_here": (size, percent[ripple]),
        },
        alt=(
            f"Left: {solution.text(fusing_turns)} turns that fuse together leave {solution.text(fused_share)} of the "
            f"counting noise of a turn; melt and springs, which hold {solution.text(turns_held)} turns, would leave "
            f"{solution.text(held_share)} by themselves. Right: grains of {size:.2g} mm make a ripple of "
            f"{solution.text(ripple)}, finer ones less, with size to the power 1.5."
        ),
    )
    return plot


PICTURES = (
    Picture(
        "Turns and the line",
        needs=(ripple, pocket_noise, fusing_turns, turns_held, width_deviation, line_width, turn_line),
        draw=draw_line,
    ),
)
