"""Pictures of choosing: two builds and their difference as bells to one scale, and what a share of draws is worth."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.choosing import (
    better_chance,
    chance_high,
    chance_low,
    difference_spread,
    own_better_chance,
    own_difference_spread,
)
from augerbook.core.network import Solution
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.choosing import draw_count, holding_share, lead, spread_at_hand, spread_new

Floats = NDArray[np.float64]

#: The windows are in picture units; everything along the axes is to one scale.
_WIDTH, _HEIGHT = 800.0, 420.0
_LEFT, _RIGHT = 40.0, 560.0
_UPPER, _LOWER, _TALL = 250.0, 58.0, 118.0
#: How far a bell is drawn, in standard deviations, and how narrow a bell is still drawn, over the widest.
_REACH, _NARROWEST = 3.2, 0.03
_COUNTS = (16, 64, 256, 1024, 4096)


def _bell(middle: float, spread: float, tallest: float, scale: float, floor: float) -> Floats:
    """Return the outline of a bell in the window; all bells of one scale have the same area."""
    along = np.linspace(-_REACH, _REACH, 97)
    high = _TALL * tallest / spread * np.exp(-(along**2) / 2)
    return np.column_stack([scale * (middle + spread * along), floor + high])


def draw_bells(solution: Solution) -> Scene:
    """Draw the aim of both builds above, and below it the bell of their difference, common draws and own ones."""
    percent = {q: float(q.shown(solution[q])) for q in (lead, spread_at_hand, spread_new)}
    shared, own = (float(q.shown(solution[q])) for q in (difference_spread, own_difference_spread))
    gain = percent[lead]
    drawn = max(shared, _NARROWEST * own)  # two that move alike in every draw: a needle
    reach = _REACH * own
    low, high = min(-reach, gain - reach), max(reach, gain + reach)
    scale = (_RIGHT - _LEFT) / (high - low)

    def at(value: float) -> float:
        return _LEFT + scale * (value - low)

    scene = Scene(
        width=_WIDTH,
        height=_HEIGHT,
        title="Two builds on the same grains",
        alt=(
            f"Above, two bells: the build at hand round 0 % with a spread of {percent[spread_at_hand]:.3g} %, the new "
            f"one round {gain:.3g} % with {percent[spread_new]:.3g} %. Below, to the same scale, the bell of their "
            f"difference on common draws, spread {shared:.3g} %: {solution.text(better_chance)} of it is a gain. On "
            f"draws of their own the difference spreads by {own:.3g} %, and {solution.text(own_better_chance)} seems "
            "a gain."
        ),
    )
    origin = np.array([at(0.0), 0.0])
    top = min(percent[spread_at_hand], percent[spread_new])
    for middle, spread, style in ((0.0, percent[spread_at_hand], "screw"), (gain, percent[spread_new], "ghost")):
        scene.polygon(_bell(middle, spread, top, scale, _UPPER) + origin, style)
    _axis(scene, at, low, high, _UPPER)
    bell = _bell(gain, drawn, drawn, scale, _LOWER) + origin
    better, worse = _split(bell, at(0.0))
    if len(worse) > 2:
        scene.polygon(worse, "hatch")
    if len(better) > 2:
        scene.polygon(better, "grain")
    scene.path(_bell(gain, own, drawn, scale, _LOWER) + origin, "hidden")
    scene.path(bell, "outline")
    _axis(scene, at, low, high, _LOWER)
    for floor in (_LOWER, _UPPER):
        scene.line((at(0.0), floor), (at(0.0), floor + _TALL), "centre")
    x = _RIGHT + 16
    told = (
        (_UPPER + 100, "filled: build at hand", "label"),
        (_UPPER + 78, f"spread {solution.text(spread_at_hand)}", "note"),
        (_UPPER + 48, "dashed: new build", "label"),
        (_UPPER + 26, f"lead {solution.text(lead)}, spread {solution.text(spread_new)}", "note"),
        (_LOWER + 112, "difference, common draws", "label"),
        (_LOWER + 90, f"better in {solution.text(better_chance)}", "force"),
        (_LOWER + 68, f"spread {solution.text(difference_spread)}", "note"),
        (_LOWER + 36, "dashed: draws of their own", "label"),
        (_LOWER + 14, f"seems better in {solution.text(own_better_chance)}", "note"),
    )
    for y, words, style in told:
        scene.label((x, y), words, anchor="start", style=style)
    scene.label((_LEFT, _UPPER + _TALL + 14), "the aim of each build, higher is better", anchor="start", style="note")
    scene.label((_LEFT, _LOWER + _TALL + 14), "new build less build at hand", anchor="start", style="note")
    return scene


def _split(outline: Floats, at: float) -> tuple[Floats, Floats]:
    """Return the parts of a bell's area on the right and on the left of a place, as closed outlines."""
    x, y = outline.T
    floor = min(y[0], y[-1])
    inside = np.clip(at, x[0], x[-1])
    top = float(np.interp(inside, x, y))
    right = np.vstack([[inside, floor], [inside, top], outline[x > inside], [x[-1], floor]])
    left = np.vstack([[x[0], floor], outline[x < inside], [inside, top], [inside, floor]])
    return (right if inside < x[-1] else right[:0]), (left if inside > x[0] else left[:0])


def _axis(scene: Scene, at: Callable[[float], float], low: float, high: float, floor: float) -> None:
    scene.line((at(low), floor), (at(high), floor), "thin")
    step = _round_step((high - low) / 6)
    for value in np.arange(math.ceil(low / step) * step, high, step):
        scene.line((at(value), floor), (at(value), floor - 6), "thin")
        scene.label((at(value), floor - 17), f"{value + 0.0:g} %", style="note")


def _round_step(wanted: float) -> float:
    """Return 1, 2 or 5 times a power of ten, the first that is no less than wanted."""
    ten = 10.0 ** math.floor(math.log10(wanted))
    return next(step * ten for step in (1.0, 2.0, 5.0, 10.0) if step * ten >= wanted)


#: Rows of the second picture: where the scale of chances begins and ends, and how far the rows are apart.
_SCALE_LEFT, _SCALE_RIGHT, _ROW, _TOP = 190.0, 640.0, 40.0, 232.0


def draw_counts(solution: Solution) -> Scene:
    """Draw between which chances a share of the draws leaves doubt, for more and more draws."""
    own = float(solution[draw_count])
    counts = np.array(sorted({*(float(count) for count in _COUNTS), own}))
    lows, highs = solution.sweep([chance_low, chance_high], [draw_count])(counts)
    share = float(solution[holding_share])
    told = ", ".join(
        f"{count:.0f} draws {100 * low:.0f} to {100 * high:.0f} %"
        for count, low, high in zip(counts, lows, highs, strict=True)
    )
    scene = Scene(
        width=_WIDTH,
        height=_TOP + 40 + _ROW * (len(counts) - len(_COUNTS)),
        title="What a share of draws is worth",
        alt=f"Chances that fit a share of {solution.text(holding_share)}, as bars: {told}.",
    )

    def at(chance: float) -> float:
        return _SCALE_LEFT + (_SCALE_RIGHT - _SCALE_LEFT) * chance

    first = 58.0 + _ROW * (len(counts) - 1)
    for place, (count, low, high) in enumerate(zip(counts, lows, highs, strict=True)):
        y = first - _ROW * place
        here = count == own
        scene.label((_SCALE_LEFT - 14, y), f"{count:.0f} draws", anchor="end", style="strong" if here else "label")
        scene.rectangle((at(low), y - 9), at(high) - at(low), 18, "grain" if here else "screw")
        scene.line((at(share), y - 13), (at(share), y + 13), "heavy")
        words = f"{100 * low:.0f} to {100 * high:.0f} %"
        scene.label((_SCALE_RIGHT + 14, y), words, anchor="start", style="strong" if here else "label")
    floor = 58.0 - 22
    scene.line((at(0.0), floor), (at(1.0), floor), "thin")
    for tenth in range(0, 11, 2):
        scene.line((at(tenth / 10), floor), (at(tenth / 10), floor - 6), "thin")
        scene.label((at(tenth / 10), floor - 17), f"{10 * tenth} %", style="note")
    return scene


PICTURES = (
    Picture(
        "Two builds on the same grains",
        (better_chance, own_better_chance, difference_spread, own_difference_spread),
        draw_bells,
    ),
    Picture("What a share of draws is worth", (chance_low, chance_high), draw_counts),
)
