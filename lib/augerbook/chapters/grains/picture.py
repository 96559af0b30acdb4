"""Grains in the channel to scale, drawn from the sizes of the build."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.grains import (
    caught_share,
    grain_median,
    half_opening,
    largest_passing_centred,
    largest_passing_leaning,
    passing_size_centred,
    passing_size_leaning,
    share_over_centred,
    share_over_leaning,
)
from augerbook.chapters.grains.graphs import ALL, NONE, percent, sizes_of
from augerbook.chapters.grains.sizes import Sizes
from augerbook.chapters.screw import core_gap, room_leaning, root_width, tip_gap
from augerbook.chapters.screw.picture import CENTRED, LEANING, screw_outline
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.draw.style import text_width
from augerbook.head.feedstock import FLAKE, flake_thickness, grain_shape, sieve_mesh
from augerbook.head.screw import core_diameter, crest_width, flank_half_angle, major_diameter, pitch
from augerbook.head.tube import bore_diameter

Array = NDArray[np.float64]
#: Place along the axis, height above the core, radius; in mm.
_Circle = tuple[float, float, float]

_SHOWN = (
    bore_diameter, core_diameter, core_gap, crest_width, major_diameter, pitch, room_leaning, root_width, sieve_mesh,
    tip_gap, largest_passing_centred, largest_passing_leaning, grain_median, half_opening,
)  # fmt: skip
#: Width of the window over its height, height over the bore, and thickness of the wall over the bore.
_ASPECT, _HEIGHT, _WALL = 1.75, 1.8, 0.1
#: Share of the open area to be filled, most grains on one side, places tried for each.
_FILL, _MOST, _TRIES = 0.5, 40, 12
_DICE = np.random.default_rng(2).random((2, _MOST, _TRIES, 2))
#: Grains narrower than this on the picture are left out, in picture units.
_SPECK = 4.0


@dataclass(frozen=True)
class _Side:
    """One side of the screw in its axial plane: heights from the core, flights at ``phase`` of a pitch; in mm."""

    room: float
    depth: float
    pitch: float
    crest: float
    opening: float
    angle: float
    phase: float

    def clearance(self, z: Array, y: Array) -> Array:
        """Return the distance of points from core and flights."""
        across = np.abs((z / self.pitch - self.phase + 0.5) % 1.0 - 0.5) * self.pitch - self.crest / 2
        above = y - self.depth
        cosine, sine = math.cos(self.angle), math.sin(self.angle)
        on_flank = across * cosine + above * sine
        past_tip = across * sine < above * cosine
        at_tip = np.where(across <= 0, above, np.hypot(across, above))
        return np.asarray(np.minimum(y, np.where(past_tip, at_tip, on_flank)))

    def resting_height(self, radius: float) -> float:
        """Return how high a ball lies in the middle between two flights: on the core, both flanks or both crests."""
        opening = self.opening
        sine, cosine = math.sin(self.angle), math.cos(self.angle)
        if radius * cosine > opening:
            return self.depth + math.sqrt(radius**2 - opening**2)
        return max(radius, self.depth + (radius - opening * cosine) / sine)


def _placed(side: _Side, width: float, diameters: Array, dice: Array, there: list[_Circle]) -> Array:
    """Place grains at random, the largest first, where they touch nothing, nor the circles that are there already.

    Returns a row (place along the axis, height above the core, radius) for each grain. Each has a few places to try;
    what is placed rules out places of those that follow. A grain without a place is left out.
    """
    count, tries = len(diameters), dice.shape[1]
    # All tries in one row, those of the largest grain first: the plain sums below run at each move of a slider.
    radii = np.repeat(diameters / 2, tries)
    z = dice[:count, :, 0].ravel() * width
    y = radii + dice[:count, :, 1].ravel() * np.maximum(side.room - 2 * radii, 0.0)
    free = (side.clearance(z, y) >= radii) & (2 * radii < side.room)

    def take(at: float, height: float, radius: float, start: int) -> None:
        across, up, reach = z[start:] - at, y[start:] - height, radii[start:] + radius
        free[start:] &= across * across + up * up >= reach * reach

    for circle in there:
        take(*circle, 0)
    found: list[_Circle] = []
    for start in range(0, count * tries, tries):
        k = start + int(free[start : start + tries].argmax())
        if free[k]:
            found.append((float(z[k]), float(y[k]), float(radii[k])))
            take(*found[-1], start + tries)
    return np.array(found).reshape(-1, 3)


def _sample(sizes: Sizes, area: float, speck: float) -> Array:
    """Return diameters (mm), largest first, as a cut through the bed shows them: areas stand for masses.

    Grains smaller than ``speck`` (mm) are left out, as if the picture were seen from farther away.
    """
    all_of_them = _FILL * area * 4 / math.pi * float(sizes.mean_power(-2)) * 1e-6
    hidden = float(sizes.share_below(speck * 1e-3, -2))
    count = int(np.clip(round(all_of_them * (1 - hidden)), 6, _MOST))
    shares = hidden + (1 - hidden) * (np.arange(count, 0, -1) - 0.5) / count
    return np.asarray(sizes.size_at(shares, -2)) * 1e3


def draw_grains(solution: Solution, variant: str = CENTRED) -> Scene:
    """Draw the axial section with grains of the build's sizes: caught, finer than the tip gap, and jammed."""
    mm = {q: solution.shown(q) for q in _SHOWN}
    leaning = variant == LEANING
    bore, major, core = mm[bore_diameter] / 2, mm[major_diameter] / 2, mm[core_diameter] / 2
    axis = -mm[tip_gap] if leaning else 0.0
    passing = mm[largest_passing_leaning if leaning else largest_passing_centred]
    size = solution.shown(passing_size_leaning if leaning else passing_size_centred)
    over = float(solution[share_over_leaning if leaning else share_over_centred])
    height = _HEIGHT * 2 * bore
    width = _ASPECT * height
    scene = Scene(
        width=width,
        height=height,
        origin=(0.0, -height / 2),
        title=f"Grains between screw and wall, screw {variant}",
        alt=_alt(solution, mm, variant, passing, size, over),
    )
    wall = _WALL * 2 * bore
    for edge in (bore, -bore - wall):
        scene.rectangle((0.0, edge), width, wall, "wall")
    profile = (core, major, mm[pitch], mm[crest_width], mm[root_width], 0.0, width)
    outline = screw_outline(*profile, origin=(0.0, axis))
    scene.polygon(outline, "screw")
    scene.line((0.0, axis), (width, axis), "centre")

    shape = (major - core, mm[pitch], mm[crest_width], mm[half_opening], float(solution[flank_half_angle]))
    open_side = _Side(bore - axis - core, *shape, phase=0.25)
    other_side = _Side(bore + axis - core, *shape, phase=0.75)
    middles: Array = mm[pitch] * (np.arange(math.ceil(width / mm[pitch] - 0.75), dtype=np.float64) + 0.75)
    sizes = sizes_of(solution)
    shown = _jammed(scene, open_side, middles, sizes, over, axis + core)
    if over < ALL:
        shown.append(_passing(scene, bore, axis + core, middles, passing))
    tips = outline[np.isclose(outline[:, 1], outline[:, 1].max())]
    tip_at = tips[np.argmin(np.abs(tips[:, 0] - 0.5 * width))]
    shown += _kept_clear(scene, tip_at, bore, axis + core)
    _loose(scene, (open_side, other_side), sizes, mm[tip_gap], passing, shown, (axis + core, axis - core))
    _words(scene, solution, mm, tip_at)
    return scene


def _gap_text(bore: float, tip_at: Array) -> str:
    """Return the words of the gap that is drawn over a tip; none where the tip touches the wall."""
    above = bore - float(tip_at[1])
    return f"{above:.2f} mm" if above > 1e-9 else ""


def _kept_clear(scene: Scene, tip_at: Array, bore: float, floor: float) -> list[_Circle]:
    """Return circles over the dimension of the gap and its text, so that no grain is drawn under them."""
    if not (words := _gap_text(bore, tip_at)):
        return []
    middle = (float(tip_at[1]) + bore) / 2 - floor
    on_text = np.arange(10.0, text_width(words, "dimension") + 16.0, 10.0) * scene.px
    on_line = np.linspace(float(tip_at[1]), bore, 9) - floor
    return [(float(tip_at[0] + along), middle, 11 * scene.px) for along in on_text] + [
        (float(tip_at[0]), float(y), 5 * scene.px) for y in on_line
    ]


def _jammed(scene: Scene, side: _Side, middles: Array, sizes: Sizes, over: float, floor: float) -> list[_Circle]:
    """Draw grains too large to pass where they would rest, cutting into the wall; one, or many if nothing passes."""
    if over < NONE:
        return []
    places = middles[1::2] if over >= ALL else middles[[(4 * len(middles)) // 5]]
    shares = 1 - over * (np.arange(len(places)) + 0.5) / len(places)
    diameters = np.asarray(sizes.size_at(shares)) * 1e3
    drawn = [(float(z), side.resting_height(d / 2), float(d / 2)) for z, d in zip(places, diameters, strict=True)]
    for z, y, radius in drawn:
        scene.circle((z, floor + y), radius, "jammed")
    width, height = scene.window[2:]
    if over >= ALL:
        scene.label((0.5 * width, -0.368 * height), "nothing passes: all of it is too large", style="strong")
    else:
        z, y, radius = drawn[0]
        words = f"jams: {2 * radius:.2f} mm ({percent(over)} is too large)"
        at = (min(z + 0.03 * width, 0.78 * width), 0.44 * height)
        scene.leader((z, floor + y + 0.5 * radius), at, words, style="strong")
    return drawn


def _passing(scene: Scene, bore: float, floor: float, middles: Array, passing: float) -> _Circle:
    z = float(middles[len(middles) // 5])
    scene.circle((z, bore - passing / 2), passing / 2, "ghost")
    at = (max(z + 0.03 * scene.window[2], 0.2 * scene.window[2]), 0.44 * scene.window[3])
    scene.leader((z, bore - passing / 2), at, f"largest ball that passes: {passing:.2f} mm", style="strong")
    return z, bore - passing / 2 - floor, passing / 2


def _loose(
    scene: Scene,
    sides: tuple[_Side, _Side],
    sizes: Sizes,
    tip: float,
    passing: float,
    shown: list[_Circle],
    floors: tuple[float, float],
) -> None:
    """Draw the grains that pass, those larger than the gap over the tip apart from the finer ones."""
    width = scene.window[2]
    for side, floor, sign, dice, there in zip(sides, floors, (1, -1), _DICE, (shown, []), strict=True):
        diameters = _sample(sizes, width * (side.room - 0.5 * side.depth), _SPECK * scene.px)
        circles = _placed(side, width, diameters[diameters < passing], dice, there)
        points = np.column_stack([circles[:, 0], floor + sign * circles[:, 1]])
        caught = 2 * circles[:, 2] > tip
        scene.circles(points[caught], circles[caught, 2], "grain")
        scene.circles(points[~caught], circles[~caught, 2], "void")


def _words(scene: Scene, solution: Solution, mm: dict[Quantity, float], tip_at: Array) -> None:
    width, height = scene.window[2:]
    caught = float(solution[caught_share])
    gap = f"the gap of {mm[tip_gap]:.2f} mm over the tip of a centred screw"
    rows = (
        ("grain", f"larger than {gap}: the flights push it ({percent(caught)} of the mass)"),
        ("void", f"smaller: it can slip back over the tip ({percent(1 - caught)} of the mass)"),
    )
    for row, (style, words) in enumerate(rows):
        y = -(0.42 + 0.05 * row) * height
        scene.circle((0.03 * width, y), 8 * scene.px, style)
        scene.label((0.048 * width, y), words, "start")
    bore = mm[bore_diameter] / 2
    if words := _gap_text(bore, tip_at):
        scene.dimension(tip_at, (tip_at[0], bore), words, text_at="right")


def _alt(solution: Solution, mm: dict[Quantity, float], variant: str, passing: float, size: float, over: float) -> str:
    caught = float(solution[caught_share])
    jam = (
        "nothing passes" if over >= ALL else "no grain is too large" if over < NONE
        else f"{percent(over)} of the mass is too large and jams"
    )  # fmt: skip
    flakes = ""
    if solution.choices[grain_shape] == FLAKE:
        flakes = f", and flakes of {solution.text(flake_thickness)} pass up to a width of {size:.3g} mm"
    return (
        f"Axial section to scale, screw {variant}: bore {mm[bore_diameter]:.3g} mm, core {mm[core_diameter]:.3g} mm, "
        f"grains that passed a mesh of {mm[sieve_mesh]:.3g} mm, half of their mass below {mm[grain_median]:.3g} mm. "
        f"The largest ball that passes measures {passing:.3g} mm"
        f"{flakes}; {jam}. "
        f"{percent(caught)} of the mass is larger than the gap over the tip of a centred screw, {mm[tip_gap]:.3g} mm, "
        f"and is caught."
    )


_NEEDS = (
    bore_diameter, core_diameter, major_diameter, pitch, crest_width, flank_half_angle, sieve_mesh, grain_median,
    caught_share, share_over_centred, share_over_leaning,
)  # fmt: skip
PICTURES = (Picture("Grains between screw and wall", needs=_NEEDS, draw=draw_grains, variants=(CENTRED, LEANING)),)
