"""Figures: cups, a slice of the filling, both arches, the card test, an opening unrolled, how it empties."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from augerbook.chapters.grains import grain_median, grain_spread, largest_grain
from augerbook.chapters.hopper import (
    card_hole,
    cohesive_outlet,
    compressibility_index,
    flight_fill,
    inlet_share,
    inlet_turns,
    loose_turns,
    needed_still,
    percolation_size,
    void_share,
)
from augerbook.chapters.hopper.heap import Space, apart, lay_granules, strung
from augerbook.core.network import Solution
from augerbook.draw.scene import Scene
from augerbook.draw.style import VIEW_WIDTH
from augerbook.head.feedstock import cohesion_scale
from augerbook.head.hopper import hopper_half_angle, outlet_diameter

Floats = NDArray[np.float64]

#: Widths of the holes in the card of the test, in mm.
HOLES = (4.0, 6.0, 8.0, 10.0)


def grain_span(solution: Solution) -> float:
    """Return the widest outlet, in mm, that grains arch over: what the hopper would need if its dust did not stick."""
    (span,) = solution.sweep([needed_still], [cohesion_scale])(np.array([1e-6]))
    return float(1e3 * span[0])


def draw_cups(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw the same granules poured and tapped, for each named build; a line shows how high the plastic alone is."""
    wide, high, step = 90.0, 150.0, 380.0
    told = "; ".join(
        f"{name}: tapping takes {solution.text(compressibility_index)} of the volume, and of the poured volume "
        f"{100 * solution[void_share]:.0f} % is air"
        for name, solution in solutions
    )
    scene = Scene(
        width=800, height=266, title="The same granules, poured and tapped",
        alt=f"Cups filled to the brim and the same granules after tapping, heights to scale. {told}.",
    )  # fmt: skip
    for place, (name, solution) in enumerate(solutions):
        left, base = 42 + step * place, 48.0
        solid = high * (1 - solution[void_share])
        for shift, level in ((0.0, high), (wide + 36, high * (1 - solution[compressibility_index]))):
            x = left + shift
            scene.rectangle((x, base), wide, level, "grain")
            scene.path([(x, base + high + 14), (x, base), (x + wide, base), (x + wide, base + high + 14)], "heavy")
            scene.line((x, base + solid), (x + wide, base + solid), "hidden")
        fallen = base + high * (1 - solution[compressibility_index])
        x = left + 2 * wide + 36
        scene.dimension((x + 14, fallen), (x + 14, base + high), solution.text(compressibility_index), text_at="right")
        scene.label((x + 10, base + solid), "plastic alone", anchor="start", style="small")
        scene.label((left + wide / 2, 28), "poured", style="small")
        scene.label((left + 1.5 * wide + 36, 28), "tapped", style="small")
        scene.label((left + wide + 18, base + high + 34), name, style="strong")
    return scene


def draw_slice() -> Scene:
    """Draw a level slice of the filling with its weight, the pressures above and below, and the wall that holds it."""
    scene = Scene(
        width=800, height=330, title="A slice of the filling",
        alt=(
            "A hopper with upright walls, filled with granules. A level slice in it is pushed down by its weight and "
            "by the pressure from above, held up by the pressure from below and by friction on the wall all round."
        ),
    )  # fmt: skip
    left, right, low, high = 270.0, 530.0, 126.0, 186.0
    scene.rectangle((left, 20), right - left, 272, "void")
    scene.rectangle((left, 20), right - left, 250, "grain")
    scene.rectangle((left, low), right - left, high - low, "screw")
    for x in (left, right):
        scene.line((x, 16), (x, 300), "heavy")
    for x in (left + 50, right - 50):
        scene.arrow((x, high + 56), (x, high + 4), "force")
        scene.arrow((x, low - 56), (x, low - 4), "force")
    for x, way in ((left, 1), (right, -1)):
        scene.arrow((x + 8 * way, low + 6), (x + 8 * way, high + 10), "motion")
    scene.arrow(((left + right) / 2, (low + high) / 2), ((left + right) / 2, low - 30), "force")
    scene.label(((left + right) / 2, high + 34), "P")
    scene.label(((left + right) / 2, low - 56), "P + dP")
    scene.label(((left + right) / 2 + 14, low + 30), "weight", anchor="start")
    scene.label((right + 20, (low + high) / 2), "friction on the wall\nholds the slice up", anchor="start")
    scene.dimension((left - 22, high), (left - 22, 270), "depth z", text_at="left")
    scene.dimension((left - 22, low), (left - 22, high), "dz", text_at="left")
    return scene


def _arch_of_grains(middle: float, base: float, span: float, grain: float) -> tuple[Floats, Floats]:
    """Return centres (n, 2) and radii (n,) of grains in an arch over a hole; of one where the hole is smaller."""
    if span <= grain:
        return np.array([[middle, base + math.sqrt(grain**2 - span**2) / 2]]), np.array([grain / 2])
    reach = (span - grain) / 2
    turn = np.linspace(0.0, math.pi, 400)
    curve = np.column_stack([middle - reach * np.cos(turn), base + grain / 2 + 0.8 * reach * np.sin(turn)])
    spots, step = strung(curve, grain, math.ceil)
    return spots, np.full(len(spots), step / 2)


def _under_dust(middle: float, base: float, span: float) -> Floats:
    """Return the underside (n, 2) of an arch of dust, from right to left: it meets its rim at 45 degrees."""
    x = np.linspace(1.0, -1.0, 41)
    return np.column_stack([middle + span / 2 * x, base + span / 4 * (1 - x**2)])


def draw_arches(solution: Solution) -> Scene:
    """Draw the widest arch of grains beside the widest arch of dust, in the build's hopper and to one scale."""
    grain, lean = solution.shown(largest_grain), solution[hopper_half_angle]
    spans = grain_span(solution), solution.shown(cohesive_outlet)
    told = needed_still.text(spans[0] / 1000), solution.text(cohesive_outlet)
    own = solution.shown(outlet_diameter)
    widest = max(*spans, own)
    high = 0.9 * widest
    flare = high * math.tan(lean)
    room = widest + 2 * flare
    width = 2 * room + 1.9 * widest
    px = width / VIEW_WIDTH
    scene = Scene(
        width=width, height=high + 112 * px, origin=(-room / 2 - 0.6 * widest, -112 * px),
        title="What wedges and what sticks",
        alt=(
            f"Two hoppers to one scale. Left: grains of {grain:.3g} mm wedge each other in an arch, over an outlet of "
            f"up to {told[0]}. Right: dust sticks together over an outlet of up to {told[1]}. "
            f"The outlet of this hopper is {own:.3g} mm wide."
        ),
    )  # fmt: skip
    for middle, span, words in (
        (0.0, spans[0], f"grains can bridge\nup to {told[0]}"),
        (room + 0.7 * widest, spans[1], f"dust can bridge\nup to {told[1]}"),
    ):
        half = span / 2
        corners = [
            (middle - half - flare, high),
            (middle - half, 0.0),
            (middle + half, 0.0),
            (middle + half + flare, high),
        ]
        if middle:
            scene.polygon(
                np.vstack([corners[0], corners[1], _under_dust(middle, 0.0, span)[::-1], corners[2:]]), "plastic"
            )
        else:
            arch = _arch_of_grains(middle, 0.0, span, grain)
            # a low bed: where the dust spans metres, grains up to its height would be without number
            bed_high = min(high, 1.25 * span)
            reach = half + bed_high * math.tan(lean)
            edges = [np.array([[0.0, middle + s * half], [bed_high, middle + s * reach]]) for s in (-1.0, 1.0)]
            bed = (solution.shown(grain_median), float(solution[grain_spread]), grain)
            spots, radii = lay_granules(Space(edges[0], edges[1], 1 / math.cos(lean)), *bed, places=2)
            over = np.interp(spots[:, 0], arch[0][:, 0], arch[0][:, 1])
            free = apart(spots, radii, *arch) & ((spots[:, 1] > over) | (np.abs(spots[:, 0] - middle) > half))
            free &= spots[:, 1] + radii < bed_high
            scene.circles(spots[free], radii[free], "grain")
            scene.circles(*arch, "jammed")
        for side in (corners[:2], corners[2:]):
            scene.path(side, "heavy")
        scene.dimension((middle - half, -12 * px), (middle + half, -12 * px), "", text_at="q")
        scene.label((middle, -36 * px), words)
        scene.dimension((middle - own / 2, -74 * px), (middle + own / 2, -74 * px), "", text_at="q")
        scene.label((middle, -93 * px), f"outlet here {own:.3g} mm", style="strong")
    return scene


def draw_slab() -> Scene:
    """Draw the slab of dust that hangs over an outlet: its weight, and the stress that carries it at its rim."""
    wide, thick = 300.0, 62.0
    under = _under_dust(0.0, 0.0, wide)
    scene = Scene(
        width=800, height=250, origin=(-400, -70), title="A slab of dust over an outlet",
        alt=(
            "A curved slab of dust, B wide and h thick, spans an outlet. Its weight pulls it down. At both "
            "ends the stress along the arch pushes up at the angle alpha to the wall."
        ),
    )  # fmt: skip
    scene.polygon(np.vstack([under, under[::-1] + np.array([0.0, thick])]), "plastic")
    for side in (-1, 1):
        scene.line((side * wide / 2, -60), (side * wide / 2, 150), "heavy")
        rim = np.array([side * wide / 2, thick / 2])
        scene.arrow(rim + np.array([side * 62, -62]), rim + np.array([side * 4, -4]), "force")
    turn = np.linspace(-math.pi / 2, -math.pi / 4, 20)
    scene.path(np.array([wide / 2, thick / 2]) + 40 * np.column_stack([np.cos(turn), np.sin(turn)]), "thin")
    scene.label((wide / 2 + 19, thick / 2 - 52), "α")
    scene.label((wide / 2 + 80, -38), "σ")
    scene.arrow((0, wide / 4 + thick / 2), (0, -14), "force")
    scene.label((14, 12), "weight", anchor="start")
    scene.dimension((-wide / 2, -46), (wide / 2, -46), "B", offset=0)
    scene.dimension((-60, wide / 4 * 0.84), (-60, wide / 4 * 0.84 + thick), "h", text_at="left")
    return scene


def draw_card(solution: Solution) -> Scene:
    """Draw the card test twice, with the dust and without: which holes stay bridged, and by what."""
    grain = solution.shown(largest_grain)
    spans = {"with its dust": solution.shown(card_hole), "dust sieved out": 0.0}
    wedged = grain_span(solution)
    gap, deep, fall = 4.0, 7.0, 10.0
    long = sum(HOLES) + gap * (len(HOLES) + 1)
    bridged = {words: [hole for hole in HOLES if hole <= max(dust, wedged)] for words, dust in spans.items()}
    told = "; ".join(
        f"{words}, {', '.join(f'{hole:.0f} mm' for hole in holes) or 'none'} bridged"
        for words, holes in bridged.items()
    )
    scene = Scene(
        width=2 * long + 4 * gap, height=deep + fall + 6.5, origin=(-gap, -fall - 2.5), title="The test with a card",
        alt=f"A card with holes of 4, 6, 8 and 10 mm and granules on top, to scale; {told}. Grains of {grain:.3g} mm "
        f"can bridge holes of up to {wedged:.2g} mm without any dust.",
    )  # fmt: skip
    for place, (words, dust) in enumerate(spans.items()):
        left, bed = place * (long + 2 * gap), "plastic" if dust else "grain"
        scene.label((left + long / 2, deep + 2.2), words, style="strong")
        x = left + gap
        under: list[Floats] = []
        for hole in HOLES:
            middle = x + hole / 2
            if hole <= dust or hole <= wedged:
                if hole > wedged:
                    under.append(_under_dust(middle, 0.0, hole)[::-1])
                else:
                    spots, _ = _arch_of_grains(middle, 0.0, hole, grain)
                    under.append(np.vstack([[middle - hole / 2, 0], spots, [middle + hole / 2, 0]]))
            else:  # a crater, and a heap below the hole
                top = [(middle - hole / 2 - 1.6, deep), (middle + hole / 2 + 1.6, deep)]
                under.append(np.array([(middle - hole / 2, 0), top[0], top[1], (middle + hole / 2, 0)]))
                heap = [(middle - hole / 2 - 1.8, -fall), (middle, -fall + 4.5), (middle + hole / 2 + 1.8, -fall)]
                scene.polygon(heap, bed)
                scene.arrow((middle, 3.5), (middle, -fall + 5.2), "flow")
            x += hole + gap
        floor = np.vstack([[left, 0], *under, [left + long, 0]])
        scene.polygon(np.vstack([floor, [left + long, deep], [left, deep]]), bed)
        x = left
        for hole in (*HOLES, 0.0):
            scene.rectangle((x, -0.7), gap, 0.7, "solid_ink")
            if hole:
                stays = hole <= max(dust, wedged)
                if stays and hole <= wedged:
                    scene.circles(*_arch_of_grains(x + gap + hole / 2, 0.0, hole, grain), "jammed")
                scene.label((x + gap + hole / 2, -2.4 if stays else -fall - 1.3), f"{hole:.0f} mm", style="small")
            x += gap + hole
        scene.line((left, -fall), (left + long, -fall), "outline")
    return scene


def draw_opening_unrolled(solution: Solution) -> Scene:
    """Draw the wall of the bore unrolled: where a grain can fall in, and the ways of places in a flight past it.

    What leaves on the right comes back on the left.
    """
    share, turns, around = solution[inlet_share], solution[inlet_turns], solution[loose_turns]
    places = 11 if turns < 1.5 else 6
    above, below = 0.25, 0.6
    scale = 400.0 / (above + below + turns)
    scale, wide = min(scale, 100.0), 470.0
    top, left = scale * (turns + below), 170.0
    starts = (np.arange(places) + 0.5) / places
    low, high = (1 - share) / 2, (1 + share) / 2
    scene = Scene(
        width=800, height=scale * (above + below + turns) + 62, origin=(0, -44), title="The opening, unrolled",
        alt=(
            f"The bore's wall unrolled, the opening in its middle: {share:.3g} of a turn wide and {turns:.3g} pitches "
            f"high. Of {places} places that come down slantwise, {around:.3g} turns each pitch, those that cross it "
            f"leave full: {solution.text(flight_fill, digits=2)} of all places do."
        ),
    )  # fmt: skip
    scene.rectangle((left, 0), wide, scale * (above + below + turns), "screw")
    scene.rectangle((left + low * wide, scale * below), share * wide, scale * turns, "void")
    down = np.linspace(-above, turns + below, 1500)
    for start in starts:
        # The first opening that a place has not yet passed as it arrives: it meets it before it leaves, or none.
        meets = math.floor(start - high) + 1 + low < start + around * turns and solution[flight_fill] > 0
        angle = start + around * down
        x, y = left + wide * (angle % 1.0), top - scale * down
        jump = np.flatnonzero(np.diff(np.floor(angle))) + 1
        way = np.insert(np.column_stack([x, y]), jump, np.nan, axis=0)
        scene.path(way, "outline" if meets else "hidden")
        end = np.array([x[-1], y[-1]])
        scene.circle(end + np.array([0.0, -9.0]), 7.0, "grain" if meets else "void")
    scene.label((left + wide + 14, scale * (below + turns / 2)), "opening for the\nmiddle of a grain", anchor="start")
    scene.dimension((left - 14, scale * below), (left - 14, top), f"{turns:.2f} pitches", text_at="left")
    scene.label(
        (left + wide / 2, -32), f"{solution.text(flight_fill, digits=2)} of the places leave full", style="strong"
    )
    return scene


def draw_throat(solution: Solution) -> Scene:
    """Draw three touching grains and the largest ball that slips between them."""
    grain, small = solution.shown(largest_grain), solution.shown(percolation_size)
    scene = Scene(
        width=8.4 * grain, height=2.15 * grain, origin=(-2.6 * grain, -0.85 * grain),
        title="What slips between three grains",
        alt=f"Three touching grains of {grain:.3g} mm, to scale, and between them the largest that slips through: "
        f"{small:.2g} mm.",
    )  # fmt: skip
    angles = np.array([math.pi / 2, math.pi * 7 / 6, math.pi * 11 / 6])
    scene.circles(grain / math.sqrt(3) * np.column_stack([np.cos(angles), np.sin(angles)]), grain / 2, "grain")
    scene.circle((0, 0), small / 2, "jammed")
    scene.leader((0, 0), (1.25 * grain, 0.35 * grain), f"slips through: {small:.2g} mm")
    scene.dimension((-grain, -0.289 * grain), (0.0, -0.289 * grain), f"{grain:.3g} mm", offset=0.0)
    return scene


def draw_patterns() -> Scene:
    """Draw how a hopper empties: all of it moves, only the middle moves, or an empty pipe is left."""
    scene = Scene(
        width=1000, height=300, origin=(-100, -10), title="How a hopper empties",
        alt=(
            "Three hoppers. Steep and smooth: everything moves down at once. Flat: only a funnel in the middle moves. "
            "Sticky as well: an empty pipe stands in the granules, a rathole, and nothing comes any more."
        ),
    )  # fmt: skip
    captions = (
        "mass flow:\nall of it moves",
        "funnel flow:\nonly the middle moves",
        "rathole:\nnothing comes any more",
    )
    for place, words in enumerate(captions):
        x = 134.0 + 266 * place
        half, out, knee, top, base = 84.0, 16.0, 178.0 if place == 0 else 94.0, 254.0, 52.0
        right = np.array([(half, top), (half, knee), (out, base)])
        mirror = np.array([-1.0, 1.0])
        shift = np.array([x, 0.0])
        level = top - 14
        if place < 2:
            dip = 0.0 if place == 0 else 34.0
            surface = np.array([(half, level), (0.0, level - dip), (-half, level)])
            body = np.vstack([surface, right[1:] * mirror, right[:0:-1]])
            scene.polygon(body + shift, "screw" if place else "grain")
            if place:
                moving = np.array(
                    [(46.0, level - 15.4), (0, level - 34), (-46, level - 15.4), (-out, base), (out, base)]
                )
                scene.polygon(moving + shift, "grain")
        else:
            for side in (1.0, -1.0):
                body = np.array([(half, level), (half, knee), (out, base), (20.0, 138), (30.0, level - 26)])
                scene.polygon(body * np.array([side, 1.0]) + shift, "screw")
        for side in (1.0, -1.0):
            scene.path(right * np.array([side, 1.0]) + shift, "heavy")
        spots = (-46.0, 0.0, 46.0) if place == 0 else (0.0,) if place == 1 else ()
        for spot in spots:
            scene.arrow((x + spot, level - 52), (x + 0.75 * spot, level - 104), "flow")
        scene.label((x, 22), words)
    return scene
