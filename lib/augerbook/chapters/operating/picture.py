"""The head in section with the pressure along it and the torque of each zone, at the operating point."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from augerbook.chapters.conveying import cold_length, inlet_pressure
from augerbook.chapters.heat import softened_length
from augerbook.chapters.heat.section import SECTION_NEEDS, HeadSection
from augerbook.chapters.melt.picture import ceiling
from augerbook.chapters.operating import (
    INPUTS,
    block_torque,
    hard_torque,
    needed_torque,
    operating_speed,
    operating_thrust,
    peak_pressure,
    plug_pressure,
    pressed_exponent,
    push_reserve,
    soft_share,
    soft_torque,
    state_of,
)
from augerbook.chapters.operating.models import back_from_nozzle, flow_stress
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.draw.style import Anchor, text_width

_TITLE = "Pressure along the screw"
_WIDTH, _HEIGHT = 800.0, 596.0
#: Where the throat is drawn, how long the head may become, how thick, and its axis.
_LEFT, _LONGEST, _THICKEST, _AXIS = 92.0, 592.0, 76.0, 506.0
#: The graph below the section, and the bars of the torque below that.
_BASE, _TOP = 184.0, 384.0
#: How far torques can be trusted: they follow the shear limit, which nobody knows better.
_SURE = "right within a factor of 2"
_BARS, _ROW, _BAR_LEFT, _BAR_LONGEST, _BAR_HIGH = 100.0, 34.0, 132.0, 230.0, 22.0
_ZONES = (("hard plug", "plastic", hard_torque), ("soft plastic", "soft", soft_torque),
          ("heated block", "melt", block_torque))  # fmt: skip
_PLUG_WORDS, _LIMITED_WORDS, _FLOWING_WORDS = "plug presses", "soft plastic tears or slips", "flows as melt"
SLIPS = "no reserve: the plug slips"
NO_PLUG = "no plug is left: the plastic is soft all along the tube"
UNDEFINED = "no pressure can be computed: see the messages"


class Pressures(NamedTuple):
    """The pressure (Pa) over the place from the throat (m), in the parts that are drawn differently; rows (n, 2)."""

    plug: np.ndarray
    limited: np.ndarray
    flowing: np.ndarray


def pressures_of(solution: Solution) -> Pressures:
    """Return the pressure along the screw of a solution that has an operating point."""
    cold = solution[cold_length]
    hard = np.linspace(0.0, cold, 81)
    plug = np.column_stack([hard, solution[inlet_pressure] * np.exp(solution[pressed_exponent] * hard)])
    soft, speed = state_of(*(solution[q] for q in INPUTS)).soft, np.array([solution[operating_speed]])
    along = back_from_nozzle(soft, speed)
    place = cold + np.concatenate([[0.0], np.cumsum(soft.length[0])])
    edges = np.column_stack([place, along.pressure[0]])
    # Where melt at this rate would need more than is carried, friction or the shear limit decides.
    limited = along.stress[0] < flow_stress(soft, speed)[0]
    return Pressures(plug, _runs(edges, limited), _runs(edges, ~limited))


def _runs(edges: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    """Points (n, 2) of the slices chosen between edges, with a row of NaN where the pen is lifted."""
    rows: list[np.ndarray] = []
    for i in np.flatnonzero(chosen):
        if i and not chosen[i - 1] and rows:
            rows.append(np.full(2, np.nan))
        if not i or not chosen[i - 1]:
            rows.append(edges[i])
        rows.append(edges[i + 1])
    return np.array(rows).reshape(-1, 2)


def why_none(solution: Solution) -> str:
    """Say in a few words why there is no operating point, empty when there is one."""
    if not solution[cold_length] > 0:
        return NO_PLUG
    if not all(math.isfinite(solution[q]) for q in INPUTS):
        return UNDEFINED
    return "" if all(math.isfinite(solution[q]) for q in (operating_speed, needed_torque)) else SLIPS


def draw_pressure(solution: Solution) -> Scene:
    """Draw the section, the pressure from throat to tip below it, and the torque of each zone."""
    if not math.isfinite(solution[softened_length]):
        scene = Scene(width=_WIDTH, height=120, title=_TITLE,
                      alt="No pressure along the screw: it leaves no room for plastic in the bore.")  # fmt: skip
        return scene.label((400, 60), "The screw leaves no room for plastic in this bore.")
    none = why_none(solution)
    alt = f"No curve, {none}." if none else _numbers(solution)
    # Without a curve the picture ends below the words.
    below = _TOP - 56 if none else 0.0
    scene = Scene(
        width=_WIDTH, height=_HEIGHT - below, origin=(0.0, below), title=_TITLE,
        alt=f"Section of the head to scale, granules enter at the left, the heated block is at the right. {alt}",
    )  # fmt: skip
    section = HeadSection.of(solution, left=_LEFT, axis=_AXIS, longest=_LONGEST, thickest=_THICKEST)
    front = section.left + max(1e3 * solution[cold_length], 0.0) * section.scale
    _section(scene, section, front)
    if none:
        scene.label((_WIDTH / 2, _TOP - 24), none, style="title")
        return scene
    _graph(scene, solution, section, front)
    _torques(scene, solution)
    return scene


def _numbers(solution: Solution) -> str:
    words = {q: solution.text(q) for q in (
        plug_pressure, peak_pressure, nozzle_pressure, operating_speed, needed_torque, operating_thrust, push_reserve,
    )}  # fmt: skip
    parts = ", ".join(f"{name} {_torque_words(solution, q)}" for name, _, q in _ZONES)
    return (
        f"Below it the pressure: it rises exponentially along the hard plug to {words[plug_pressure]}, is at most "
        f"{words[peak_pressure]}, and {words[nozzle_pressure]} at the nozzle. The screw turns at "
        f"{words[operating_speed]} and takes {words[needed_torque]}, {_SURE}: {parts}. "
        f"Thrust {words[operating_thrust]}, reserve of the plug {words[push_reserve]}."
    )


def _torque_words(solution: Solution, torque: Quantity) -> str:
    return f"{solution.text(torque)}, {soft_share.text(solution[torque] / solution[needed_torque], digits=2)}"


def _section(scene: Scene, section: HeadSection, front: float) -> None:
    ends = (section.left, front, section.block, section.tip)
    stretches = [(start, end, style) for start, end, (_, style, _) in zip(ends[:-1], ends[1:], _ZONES, strict=True)]
    section.draw(scene, stretches, ((section.left, section.tip, "screw"),), cooler=False)
    scene.label((section.left - 36, section.axis + 16), "granules", style="small")
    scene.label((section.tip + 20, section.axis), "heated\nblock", anchor="start", style="strong")
    # A name wider than its zone ends where the zone ends, and neighbours then stand on two rows.
    zones = list(zip(ends[:2], ends[1:3], ("hard plug", "soft plastic"), strict=True))
    narrow = [end - start < text_width(name, "strong") for start, end, name in zones]
    for row, (start, end, name) in enumerate(zones):
        y = section.axis - section.outer - 30 - (18 * row if any(narrow) else 0)
        if end - start > 1:
            anchor: Anchor = "end" if narrow[row] else "middle"
            scene.label((end if narrow[row] else (start + end) / 2, y), name, anchor=anchor, style="strong")


def _graph(scene: Scene, solution: Solution, section: HeadSection, front: float) -> None:
    found = pressures_of(solution)
    highest, step = ceiling(float(nozzle_pressure.shown(solution[peak_pressure])))
    rise = (_TOP - _BASE) / highest

    def at(points: np.ndarray) -> np.ndarray:
        place, pressure = points[:, 0], nozzle_pressure.shown(points[:, 1])
        return np.column_stack([section.left + 1e3 * place * section.scale, _BASE + rise * pressure])

    for x in (front, section.block, section.tip):
        scene.line((x, section.axis - section.outer), (x, _BASE), "thin")
    lines: list[tuple[float, float]] = []
    for value in np.arange(0.0, highest * 1.0001, step):
        y = _BASE + rise * float(value)
        lines += [(section.left, y), (section.tip, y), (np.nan, np.nan)]
        scene.label((section.left - 8, y), f"{value:.3g} MPa", anchor="end", style="small")
    scene.path(lines[:-1], "faint")
    parts = ((found.plug, "main", _PLUG_WORDS), (found.limited, "second", _LIMITED_WORDS),
             (found.flowing, "third", _FLOWING_WORDS))  # fmt: skip
    shown = [part for part in parts if len(part[0])]
    for points, style, _ in shown:
        scene.path(at(points), style)
    x = section.left
    for _, style, words in shown:
        scene.line((x, _BASE - 24), (x + 42, _BASE - 24), style)
        scene.label((x + 50, _BASE - 24), words, anchor="start", style="small")
        x += 74 + text_width(words, "small")
    _dimensions(scene, solution, section, front, rise)


def _dimensions(scene: Scene, solution: Solution, section: HeadSection, front: float, rise: float) -> None:
    """Dimension the pressures at both ends of the soft plastic; along it they only rise or only fall to the peak."""
    pressed, out = solution[plug_pressure], solution[nozzle_pressure]
    # On the soft side there is room below the curve, whatever it does.
    for edge, away, quantity, name, peak in (
        (front, 16.0, plug_pressure, "plug end", pressed > out),
        (section.tip, 22.0, nozzle_pressure, "nozzle", out >= pressed),
    ):
        high = _BASE + rise * solution.shown(quantity)
        scene.line((edge, high), (edge + away + 6, high), "thin")
        words = "\n".join([name, *(["and peak"] if peak else []), solution.text(quantity)])
        scene.dimension((edge + away, _BASE), (edge + away, high), words, text_at="right")


def _torques(scene: Scene, solution: Solution) -> None:
    total = solution[needed_torque]
    for row, (name, style, torque) in enumerate(_ZONES):
        y = _BARS - _ROW * row
        long = max(solution[torque] / total, 0.0) * _BAR_LONGEST
        scene.label((_BAR_LEFT - 10, y), name, anchor="end")
        if long > 0.5:
            scene.rectangle((_BAR_LEFT, y - _BAR_HIGH / 2), long, _BAR_HIGH, style)
        scene.label((_BAR_LEFT + long + 10, y), _torque_words(solution, torque), anchor="start")
    scene.line((_BAR_LEFT, _BARS + _ROW / 2), (_BAR_LEFT, _BARS - 2.5 * _ROW), "outline")
    scene.label((_BAR_LEFT, _BARS + 30), f"Torque of each zone, {_SURE}", anchor="start", style="strong")
    column: Sequence[tuple[str, Quantity]] = (
        ("speed", operating_speed), ("torque", needed_torque), ("thrust", operating_thrust),
    )  # fmt: skip
    scene.label((_WIDTH - 216, _BARS + 30), "In all", anchor="start", style="strong")
    for row, (name, quantity) in enumerate(column):
        y = _BARS - _ROW * row
        scene.label((_WIDTH - 216, y), f"{name} {solution.text(quantity)}", anchor="start")


PICTURES = (
    Picture(
        _TITLE,
        needs=(
            *SECTION_NEEDS, operating_speed, plug_pressure, peak_pressure, pressed_exponent, needed_torque, soft_share,
            operating_thrust, push_reserve, softened_length,
        ),
        draw=draw_pressure,
    ),
)  # fmt: skip
