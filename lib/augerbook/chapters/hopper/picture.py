"""The end of the hopper, the inlet and the first flights, cut along the axis and across the opening, to scale."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.grains import grain_median, grain_spread, largest_grain
from augerbook.chapters.hopper import (
    flight_fill,
    inlet_opening,
    inlet_ratio,
    inlet_share,
    inlet_turns,
    loose_turns,
    outlet_needed,
    outlet_reserve,
)
from augerbook.chapters.hopper.heap import Space, apart, lay_granules, strung
from augerbook.chapters.screw import root_width
from augerbook.chapters.screw.picture import flight_profile
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.hopper import (
    SLOT,
    STIRRED,
    cup_diameter,
    hopper_half_angle,
    hopper_stirring,
    inlet_kind,
    inlet_length,
    outlet_diameter,
)
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch
from augerbook.head.tube import bore_diameter

Floats = NDArray[np.float64]

_SIZES = (
    bore_diameter,
    core_diameter,
    crest_width,
    grain_median,
    inlet_length,
    inlet_opening,
    largest_grain,
    major_diameter,
    outlet_diameter,
    pitch,
    root_width,
)


@dataclass(frozen=True)
class _Kind:
    """What a kind of inlet looks like: where granules can be above the flights, its walls, and where the outlet is."""

    space: Space
    walls: tuple[Floats, ...]
    outlet: tuple[Floats, Floats]
    wire: Floats
    top: float
    right: float


def draw_hopper(solution: Solution) -> Scene:
    """Draw the section along the axis with its granules, and beside it the section across the opening."""
    mm = {q: solution.shown(q) for q in _SIZES}
    slot = solution.choices[inlet_kind] == SLOT
    bore, thick = mm[bore_diameter] / 2, 0.16 * mm[bore_diameter]
    lean = min(max(solution[hopper_half_angle], 0.05), 1.2)
    cup = bore if slot else solution.shown(cup_diameter) / 2
    kind = _side_inlet(mm, bore + thick, lean) if slot else _cup_inlet(mm, cup, lean)
    bottom = -mm[inlet_length] - max(2.2 * mm[pitch], 0.7 * mm[bore_diameter], 0.9 * (cup - bore) + mm[bore_diameter])
    height = kind.top - bottom
    right = max(kind.right + 0.34 * height, 3 * (cup + thick) + (0.36 if slot else 0.52) * height)
    margin = max(0.46 * height, 0.27 * (right + cup + thick))
    left = -cup - thick - margin
    # Beside a narrow outlet the section across stands as high as the words on it: then it moves out of their way.
    words_from = kind.right if solution[outlet_reserve] < 1 else float(kind.outlet[1][0])
    right = max(right, left + (words_from - left + 2 * _shrink(height, cup + thick) * (cup + thick)) / 0.78)
    left = min(left, -cup - thick - 0.27 * (right + cup + thick))
    scene = Scene(
        width=max(right - left, 1.9 * height),
        height=height,
        origin=(left, bottom),
        title="From the hopper into the flights: " + ("slot in the side" if slot else "stepped bore"),
        alt=_words(solution, mm, slot),
    )
    _tube(scene, mm, slot, bore, cup, thick)
    sides = _sides_of_screw(mm, bottom, kind.top if slot else 0.0, kind.top)
    scene.polygon(np.vstack([sides[0], sides[1][::-1]]), "screw")
    arch = _arch(solution, mm, kind, sides)
    _granules(scene, solution, mm, kind.space, sides, bore, arch)
    for wall in kind.walls:
        scene.path(wall, "heavy")
    _words_on_arch_or_wire(scene, solution, kind, arch)
    _across(scene, solution, mm, slot, bore, cup, thick)
    _words_around(scene, solution, mm, kind, cup, thick)
    return scene


def _words(solution: Solution, mm: dict[Quantity, float], slot: bool) -> str:
    kind = (
        f"a slot {mm[inlet_opening]:.3g} mm wide and {mm[inlet_length]:.3g} mm long in the side of the tube"
        if slot
        else f"a stepped bore that leaves {mm[inlet_opening]:.3g} mm about the core over {mm[inlet_length]:.3g} mm"
    )
    needed = solution.text(outlet_needed, digits=2)
    enough = "wide enough" if solution[outlet_reserve] >= 1 else "so narrow that an arch can hold"
    return (
        f"Section to scale: granules of up to {mm[largest_grain]:.2g} mm come through an outlet of "
        f"{mm[outlet_diameter]:.3g} mm, {enough} for this hopper ({needed} needed), and "
        f"through {kind} to a screw of {mm[major_diameter]:.3g} mm in a bore of {mm[bore_diameter]:.3g} mm. "
        f"Each place in a flight lies open for {100 * solution[inlet_share]:.0f} % of a turn. "
        f"A flight leaves {solution.text(flight_fill, digits=2)} as full as a loose bed, which is mostly air."
    )


# -- bodies ------------------------------------------------------------------------------------------


def _side_inlet(mm: dict[Quantity, float], face: float, lean: float) -> _Kind:
    """A chute as wide as the outlet that leans on the tube and ends in a slot; the hopper opens above it."""
    length, out = mm[inlet_length], mm[outlet_diameter]
    along, across = np.array([math.sin(lean), math.cos(lean)]), np.array([-math.cos(lean), math.sin(lean)])
    foot = np.array([face, -length])
    neck = out / math.tan(lean) + 0.35 * out
    low, high = foot + neck * along, foot + (neck * along + out * across)
    top = max(float(high[1]), 0.0) + 0.4 * out
    end = foot + (top - foot[1]) / along[1] * along
    start = np.array([face, max(0.0, -length + out / math.sin(lean))])
    left_wall = np.array([start, high, [high[0], top]])
    # Through the slot granules reach as far as the screw.
    left = np.array([[-length, 0.0], [0.0, 0.0], [1e-6, face], [start[1] + 2e-6, face], *left_wall[1:, ::-1]])
    right = np.array([foot[::-1], end[::-1]])
    middle, up = (low + high) / 2, along
    wire = np.array([middle + 1.1 * out * up, middle + 0.25 * out * up, middle - 0.3 * out * across])
    space = Space(left, right, 1 / math.cos(lean))
    return _Kind(space, (np.array([foot, end]), left_wall), (high, low), wire, top, float(end[0]))


def _cup_inlet(mm: dict[Quantity, float], cup: float, lean: float) -> _Kind:
    """A cup about the screw, the outlet above it, and the cone of the hopper."""
    length, out = mm[inlet_length], mm[outlet_diameter] / 2
    neck = 0.3 * cup
    top = neck + 0.6 * max(out, cup)
    flare = out + (top - neck) * math.tan(lean)
    half = np.array([[cup, -length], [cup, 0.0], [out, 0.0], [out, neck], [flare, top]])
    mirror = np.array([-1.0, 1.0])
    edge = half[:, ::-1] + np.array([[0, 0], [0, 0], [1e-6, 0], [0, 0], [0, 0]])
    ends = (np.array([-out, neck / 2]), np.array([out, neck / 2]))
    core = mm[core_diameter] / 2
    wire = np.array([[core, top - 0.2 * cup], [0.75 * out, neck], [0.75 * out, -0.1 * length]])
    space = Space(edge * np.array([1.0, -1.0]), edge, 1 / math.cos(lean))
    return _Kind(space, (half[1:], half[1:] * mirror), ends, wire, top, flare)


def _tube(scene: Scene, mm: dict[Quantity, float], slot: bool, bore: float, cup: float, thick: float) -> None:
    bottom, length = scene.window[1], mm[inlet_length]
    top = bottom + scene.window[3]
    if slot:
        scene.rectangle((-bore - thick, bottom), thick, top - bottom, "wall")
        scene.rectangle((bore, bottom), thick, -length - bottom, "wall")
        scene.rectangle((bore, 0.0), thick, top, "wall")
        return
    step = max(thick, 0.6 * (cup - bore))
    for side in (1, -1):
        points = [
            (bore, bottom), (bore, -length), (cup, -length), (cup, 0.0), (cup + thick, 0.0),
            (cup + thick, -length - step), (bore + thick, -length - step), (bore + thick, bottom),
        ]  # fmt: skip
        scene.polygon(np.array(points) * np.array([side, 1.0]), "wall")


def _sides_of_screw(mm: dict[Quantity, float], bottom: float, flights_to: float, top: float) -> tuple[Floats, Floats]:
    """Right and left outline of the upright screw, from below: flights up to a height, above them the bare core."""
    radii = (mm[core_diameter] / 2, mm[major_diameter] / 2)
    rest = (mm[pitch], mm[crest_width], mm[root_width], bottom, flights_to)
    shaft = np.array([[radii[0], flights_to], [radii[0], top]]) if top > flights_to else np.empty((0, 2))
    right, left = (np.vstack([flight_profile(*radii, *rest, phase=phase)[:, ::-1], shaft]) for phase in (0.25, 0.75))
    return right, left * np.array([-1.0, 1.0])


# -- granules, arch and wire -------------------------------------------------------------------------


def _granules(
    scene: Scene,
    solution: Solution,
    mm: dict[Quantity, float],
    above: Space,
    sides: tuple[Floats, Floats],
    bore: float,
    arch: tuple[Floats, Floats],
) -> None:
    grains = (mm[grain_median], float(solution[grain_spread]), mm[largest_grain])
    spots, radii = lay_granules(above, *grains)
    free = _clear_of_screw(spots, radii, sides) & apart(spots, radii, *arch)
    spots, radii = spots[free], radii[free]
    # Granules in flights stay as they are while hopper and opening change.
    turns = 4 * math.ceil(-scene.window[1] / mm[pitch] / 4)
    screw = (mm[core_diameter] / 2, mm[major_diameter] / 2, mm[pitch], mm[crest_width], mm[root_width])
    more, sizes = _in_flights(bore, screw, turns, grains)
    kept = apart(more, sizes, spots, radii) & _has_met_the_opening(solution, mm, more)
    scene.circles(np.vstack([spots, more[kept]]), np.concatenate([radii, sizes[kept]]), "grain")


def _has_met_the_opening(solution: Solution, mm: dict[Quantity, float], spots: Floats) -> NDArray[np.bool_]:
    """Which places in the flights granules have fallen into by now.

    A place turns while it moves down. Counted in its own turns from the middle of the opening, it has swept an angle
    since it arrived, up to where the opening ends below. It is full if the open share reaches into that angle.
    """
    if solution[flight_fill] == 0:
        return np.zeros(len(spots), dtype=bool)
    around = solution[loose_turns]
    since_arrival = around * (-spots[:, 1] - mm[largest_grain] / 2) / mm[pitch]
    since_leaving = np.maximum(0.0, since_arrival - around * solution[inlet_turns])
    now = np.where(spots[:, 0] > 0, 0.0, 0.5)
    half = solution[inlet_share] / 2
    met: NDArray[np.bool_] = np.floor(now - since_leaving + half) >= np.ceil(now - since_arrival - half)
    return met & (since_arrival >= 0)


@lru_cache(maxsize=8)
def _in_flights(
    bore: float, screw: tuple[float, float, float, float, float], turns: int, grains: tuple[float, float, float]
) -> tuple[Floats, Floats]:
    """Centres and radii of granules between screw and wall, over some turns down from the top of the opening."""
    low = -turns * screw[2]
    right, left = (flight_profile(*screw, low, 0.0, phase=phase) for phase in (0.25, 0.75))
    wall, across = np.array([[low, bore], [0.0, bore]]), np.array([1.0, -1.0])
    halves = [
        lay_granules(Space(*edges), *grains, places=150) for edges in ((right, wall), (wall * across, left * across))
    ]
    return np.vstack([spots for spots, _ in halves]), np.concatenate([radii for _, radii in halves])


def _clear_of_screw(spots: Floats, radii: Floats, sides: tuple[Floats, Floats]) -> NDArray[np.bool_]:
    """Which circles beside the screw do not cut into it."""
    clear = np.ones(len(spots), dtype=bool)
    for height in (-0.8, 0.0, 0.8):
        level, reach = spots[:, 1] + height * radii, math.sqrt(1 - height**2) * radii
        right, left = (np.interp(level, side[:, 1], side[:, 0]) for side in sides)
        clear &= (spots[:, 0] - reach >= right) | (spots[:, 0] + reach <= left)
    return clear


def _arch(
    solution: Solution, mm: dict[Quantity, float], kind: _Kind, sides: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Centres and radii of the grains of an arch over an outlet that is too narrow; none where it is wide enough."""
    if not solution[outlet_reserve] < 1:
        return np.empty((0, 2)), np.empty(0)
    high, low = kind.outlet
    inwards = min(mm[largest_grain] / mm[outlet_diameter], 1.0) / 2 * (low - high)
    start, chord = high + inwards, low - high - 2 * inwards
    upwards = np.array([-(low - high)[1], (low - high)[0]])
    turn = np.linspace(0.0, math.pi, 400)[:, None]
    curve = start + (1 - np.cos(turn)) / 2 * chord + 0.35 * np.sin(turn) * upwards
    spots, step = strung(curve, mm[largest_grain], round)
    radii = np.full(len(spots), min(mm[largest_grain], step) / 2)
    free = _clear_of_screw(spots, radii, sides)
    return spots[free], radii[free]


def _words_on_arch_or_wire(scene: Scene, solution: Solution, kind: _Kind, arch: tuple[Floats, Floats]) -> None:
    _, low, width, height = scene.window
    if len(arch[0]):
        scene.circles(*arch, "jammed")
        named = max(arch[0], key=lambda spot: float(spot[0] + 0.5 * spot[1]))
        level = max(named[1] + 0.02 * height, kind.outlet[1][1] + 0.13 * height)
        scene.leader(named, (kind.right + 0.02 * width, level), "an arch can hold")
    elif solution.choices[hopper_stirring] == STIRRED:
        scene.path(kind.wire, "heavy")
        scene.leader(kind.wire[1], (kind.right + 0.03 * width, low + 0.92 * height), "stirring wire")


# -- section across the opening, words ---------------------------------------------------------------


def _shrink(height: float, outer: float) -> float:
    """By how much the section across is drawn smaller than to scale, in a picture of that height."""
    return min(1.0, 0.33 * height / outer)


def _across(
    scene: Scene, solution: Solution, mm: dict[Quantity, float], slot: bool, bore: float, cup: float, thick: float
) -> None:
    x, y, width, height = scene.window
    shrink = _shrink(height, cup + thick)
    outer, cup, bore = shrink * (cup + thick), shrink * cup, shrink * bore
    centre = np.array([x + width - outer - 0.06 * width, y + outer + 0.11 * width])
    half = math.asin(min(1.0, shrink * mm[inlet_opening] / (2 * bore))) if slot else 0.0
    turn = np.linspace(half, 2 * math.pi - half, 121)
    rim = np.column_stack([np.cos(turn), np.sin(turn)])
    if slot:
        scene.polygon(np.vstack([centre + outer * rim, (centre + bore * rim)[::-1]]), "wall")
    else:
        scene.ring(centre, cup, outer, "wall")
        scene.path(centre + bore * rim, "hidden")
    scene.circle(centre, shrink * mm[major_diameter] / 2, "screw")
    whole = np.linspace(0.0, 2 * math.pi, 61)
    scene.path(centre + shrink * mm[core_diameter] / 2 * np.column_stack([np.cos(whole), np.sin(whole)]), "thin")
    grain = shrink * mm[largest_grain] / 2
    if slot:
        edge = min(max(shrink * mm[inlet_opening] / 2 - grain, 0.0), bore)
        scene.circle(centre + np.array([math.sqrt(max(bore**2 - edge**2, 0.0)) + 0.4 * grain, edge]), grain, "grain")
        angle = math.asin(min(1.0, edge / bore))
        for sign in (1, -1):
            scene.line(centre, centre + 1.2 * outer * np.array([math.cos(angle), sign * math.sin(angle)]), "centre")
    else:
        scene.circle(centre + np.array([0.0, shrink * mm[core_diameter] / 2 + grain]), grain, "grain")
    open_for = "open all round" if not slot else f"open for {100 * solution[inlet_share]:.0f} % of a turn"
    title = "across the opening:" if shrink == 1 else "across the opening, drawn smaller:"
    scene.label(centre - np.array([0.0, outer + 0.05 * width]), f"{title}\n{open_for}", style="small")


def _words_around(
    scene: Scene, solution: Solution, mm: dict[Quantity, float], kind: _Kind, cup: float, thick: float
) -> None:
    width = scene.window[2]
    length, out = mm[inlet_length], mm[outlet_diameter]
    edge = -cup - thick
    scene.dimension((edge, -length), (edge, 0.0), f"opening\n{length:.3g} mm", offset=0.03 * width, text_at="left")
    needed = solution.text(outlet_needed, digits=2)
    scene.dimension(*kind.outlet, f"outlet {out:.3g} mm\n{needed} needed", text_at="q")
    bore = mm[bore_diameter] / 2
    # three lines of text have room above the lower edge
    low = max(0.25 * -length + 0.75 * scene.window[1], scene.window[1] + 34 * scene.px)
    full = solution.text(flight_fill, digits=2)
    scene.leader(
        (-bore * 0.93, low), (-bore - thick - 0.05 * width, low), f"flights leave\n{full} as full\nas a loose bed"
    )


PICTURES = (
    Picture(
        "From the hopper into the flights",
        needs=(
            bore_diameter,
            core_diameter,
            major_diameter,
            pitch,
            crest_width,
            root_width,
            grain_median,
            grain_spread,
            largest_grain,
            hopper_half_angle,
            outlet_diameter,
            outlet_needed,
            inlet_length,
            inlet_opening,
            inlet_ratio,
            inlet_share,
            inlet_turns,
            loose_turns,
            flight_fill,
        ),
        draw=draw_hopper,
    ),
)
