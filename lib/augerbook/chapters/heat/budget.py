"""Where the heat comes from and where it goes: streams as wide as their watts."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from augerbook.chapters.heat import (
    block_air_heat,
    carried_heat,
    cooled_heat,
    friction_heat,
    heater_power,
    pause_carried_heat,
    pause_cooled_heat,
    pause_heater_power,
    pause_shank_heat,
    shank_heat,
)
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.draw.style import Anchor

FLOW, PAUSE = "while it prints", "after a long pause"
_WIDTH, _HEIGHT = 800.0, 380.0
#: Where streams begin, join, part and end, and how wide all of them are together.
_FROM, _JOIN, _PART, _TO, _WIDEST = 210.0, 350.0, 410.0, 560.0, 190.0
_MIDDLE, _GAP = 176.0, 34.0
_LEAST = 0.005  # W, less is no stream


class Stream(NamedTuple):
    """One stream of heat: its words, its quantity, its style, and whether it comes in."""

    words: str
    quantity: Quantity
    style: str
    comes_in: bool


_PRINTING = (
    Stream("heater", heater_power, "hot", True),
    Stream("work of the screw", friction_heat, "screw", True),
    Stream("block and nozzle, to the air", block_air_heat, "void", False),
    Stream("tube, to air and cooler", cooled_heat, "wall", False),
    Stream("along with the plastic", carried_heat, "melt", False),
    Stream("bearing and gear, by the shank", shank_heat, "metal", False),
)
_RESTING = (
    Stream("heater", pause_heater_power, "hot", True),
    Stream("block and nozzle, to the air", block_air_heat, "void", False),
    Stream("tube, to air and cooler", pause_cooled_heat, "wall", False),
    Stream("granules at the throat", pause_carried_heat, "melt", False),
    Stream("bearing and gear, by the shank", pause_shank_heat, "metal", False),
)
_STREAMS = {FLOW: _PRINTING, PAUSE: _RESTING}


def streams_of(solution: Solution, state: str = FLOW) -> tuple[list[tuple[Stream, float]], list[tuple[Stream, float]]]:
    """Return what comes in and what goes out, with watts; a stream below zero has changed sides."""
    entering: list[tuple[Stream, float]] = []
    leaving: list[tuple[Stream, float]] = []
    for stream in _STREAMS[state]:
        watts = float(solution[stream.quantity])
        if abs(watts) < _LEAST:
            continue
        (entering if stream.comes_in == (watts > 0) else leaving).append((stream, abs(watts)))
    return entering, leaving


def draw_budget(solution: Solution, state: str = FLOW) -> Scene:
    """Draw the streams of heat, each as wide as its watts."""
    title = f"Where the heat goes, {state}"
    if not all(math.isfinite(solution[s.quantity]) for s in _STREAMS[state]):
        scene = Scene(width=_WIDTH, height=120, title=title, alt="No budget of heat: the temperatures are not known.")
        return scene.label((_WIDTH / 2, 60), "The temperatures are not known, so neither is the heat.")
    entering, leaving = streams_of(solution, state)
    total = sum(watts for _, watts in entering)
    words = (", ".join(f"{s.words} {s.quantity.text(w)}" for s, w in side) for side in (entering, leaving))
    scene = Scene(
        width=_WIDTH, height=_HEIGHT, title=title,
        alt="Streams of heat, each as wide as its watts. In come: {}. Out go: {}.".format(*words),
    )  # fmt: skip
    scale = _WIDEST / total if total > 0 else 0.0
    _side(scene, entering, scale, _FROM, _JOIN, "end")
    _side(scene, leaving, scale, _TO, _PART, "start")
    scene.rectangle((_JOIN, _MIDDLE - _WIDEST / 2), _PART - _JOIN, _WIDEST, "plate")
    scene.label(((_JOIN + _PART) / 2, _MIDDLE + _WIDEST / 2 + 16), "head", style="small")
    return scene


def _side(
    scene: Scene, streams: list[tuple[Stream, float]], scale: float, far: float, near: float, anchor: Anchor
) -> None:
    """Draw the streams of one side, from their own place at ``far`` to the head at ``near``, from top to bottom."""
    widths = [watts * scale for _, watts in streams]
    top = _MIDDLE + (sum(widths) + _GAP * (len(streams) - 1)) / 2
    joined = _MIDDLE + sum(widths) / 2
    bend = np.linspace(0.0, 1.0, 25)
    along, across = far + (near - far) * bend, bend * bend * (3 - 2 * bend)
    for (stream, watts), width in zip(streams, widths, strict=True):
        upper = top + (joined - top) * across
        scene.polygon(np.vstack([np.column_stack([along, upper]), np.column_stack([along, upper - width])[::-1]]),
                      stream.style)  # fmt: skip
        beside = far - 10 if anchor == "end" else far + 10
        scene.label((beside, top - width / 2 + 8), stream.words, anchor=anchor)
        scene.label((beside, top - width / 2 - 10), stream.quantity.text(watts), anchor=anchor)
        top, joined = top - width - _GAP, joined - width


BUDGET_PICTURE = Picture(
    "Where the heat goes",
    needs=tuple(dict.fromkeys(s.quantity for s in (*_PRINTING, *_RESTING))),
    draw=draw_budget,
    variants=(FLOW, PAUSE),
)
