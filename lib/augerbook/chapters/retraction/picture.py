"""What a head stores, as bars; the two ends of a line, to scale; the nozzle after more was taken back than stored."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from augerbook.chapters.heat import melt_flow
from augerbook.chapters.melt import local_exponent
from augerbook.chapters.plate import melt_springback, springback_volume
from augerbook.chapters.retraction import (
    air_share,
    backlash_volume,
    drawn_in,
    emptying_time,
    end_knob,
    knob_disc,
    release_volume,
    screw_takeback,
    soft_stored,
    sprung_volume,
    start_length,
    start_time,
    stop_length,
    stop_time,
    stored_volume,
    surplus_melt,
    tip_volume,
)
from augerbook.chapters.retraction.graphs import width_of
from augerbook.chapters.retraction.models import follow, power_table
from augerbook.chapters.ripple import line_section, line_speed
from augerbook.core.network import Solution
from augerbook.draw.bars import key_to_parts, parted_bar
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene, round_length
from augerbook.draw.style import VIEW_WIDTH
from augerbook.head.nozzle import cone_half_angle, land_length, melt_bore_diameter, nozzle_diameter
from augerbook.head.printing import (
    layer_height,
    line_width,
    retraction_volume,
    take_back_share,
    travel_time,
    wanted_flow,
)

#: What is stored, in the order of the bars: words and style.
_PARTS = (("melt", "melt"), ("softened plastic", "soft"), ("springs", "screw"), ("play, wall's hold", "plate"))


def parts_of(solution: Solution) -> list[float]:
    """Return what the screw must take back (mm³): what melt, softened plastic and springs store, play and wall."""
    springs = solution.shown(sprung_volume)
    released = max(solution.shown(springback_volume) - springs, 0.0)
    return [solution.shown(melt_springback), solution.shown(soft_stored), springs, released]


def _undefined(title: str) -> Scene:
    scene = Scene(width=VIEW_WIDTH, height=110, title=title, alt="Not defined: the plug slips, and nothing is stored.")
    return scene.label((400, 55), "Not defined: the plug slips and presses nothing. See the messages.")


def draw_stores(solutions: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw for each named build what the screw must take back, and below it what it takes back, in one scale."""
    title = "What is stored, and what is taken back"
    if not all(math.isfinite(solution[release_volume]) for _, solution in solutions):
        return _undefined(title)
    left, long, high, each = 120.0, 480.0, 26.0, 96.0
    height = 66 + each * len(solutions)
    most = max(max(s.shown(release_volume), s.shown(screw_takeback)) for _, s in solutions)
    told = []
    for name, solution in solutions:
        parts = ", ".join(
            f"{words} {volume:.2g} mm³" for (words, _), volume in zip(_PARTS, parts_of(solution), strict=True)
        )
        told.append(
            f"{name}: {solution.text(release_volume)} in all ({parts}); taken back by the screw "
            f"{solution.text(screw_takeback)} of {solution.text(retraction_volume)} that the machine is told, since "
            f"the backlash uses up {solution.text(backlash_volume)} and a turn back takes "
            f"{solution.text(take_back_share)} of what a turn at work brings"
        )
    scene = Scene(width=VIEW_WIDTH, height=height, title=title,
                  alt=f"Bars of volumes, all in one scale. {'. '.join(told)}.")  # fmt: skip
    for row, (name, solution) in enumerate(solutions):
        y = height - each * (row + 1) + 42
        scene.label((left - 12, y + high / 2), name, anchor="end", style="strong")
        bar = [(part, style) for part, (_, style) in zip(parts_of(solution), _PARTS, strict=True)]
        placed = parted_bar(scene, (left, y), long, high, bar, whole=most)
        scene.label((placed[-1][0] + placed[-1][1] + 8, y + high / 2), solution.text(release_volume), anchor="start",
                    style="strong")  # fmt: skip
        scene.label((left - 12, y - 20), "taken back", anchor="end", style="small")
        ((_, taken),) = parted_bar(
            scene, (left, y - 29), long, 18, [(solution.shown(screw_takeback), "solid_ink")], whole=most
        )
        words = f"{solution.text(screw_takeback)} of {solution.text(retraction_volume)}"
        scene.label((left + taken + 8, y - 20), words, anchor="start", style="small")
    key_to_parts(scene, (left - 90, 16), 152, _PARTS)
    return scene


def draw_store(solution: Solution) -> Scene:
    """Draw the bars of one build."""
    return draw_stores([("stored", solution)])


def _outline(place: np.ndarray, width: np.ndarray) -> np.ndarray:
    return np.vstack([np.column_stack([place, width / 2]), np.column_stack([place, -width / 2])[::-1]])


def draw_line_ends(solution: Solution) -> Scene:
    """Draw a line from above to scale: motor and head start and stop together; below it, with taking back."""
    title = "The two ends of a line, from above, to scale"
    n, whole = solution[local_exponent], solution[emptying_time]
    if not (math.isfinite(whole) and n > 0):
        return _undefined(title)
    begins, ends, speed = (solution.shown(q) for q in (start_length, stop_length, line_speed))
    wide, knob = solution.shown(line_width), solution.shown(knob_disc)
    between = 0.4 * (begins + ends)
    long = begins + between + 1.25 * ends
    width = 1.06 * long
    px = width / VIEW_WIDTH
    apart = max(wide, knob) + 96 * px
    scene = Scene(
        width=width, height=2 * apart + 16 * px, origin=(-0.03 * long, -1.5 * apart - 8 * px), title=title,
        alt=(
            f"Two printed lines from above, {wide:.3g} mm wide. Upper: motor and head start and stop together; the "
            f"line is too thin for {solution.text(start_length)} at its start, and after the motor's stop it runs on, "
            f"thinning, for {solution.text(stop_length)} until a tenth of the flow is left. Lower: as much as was "
            "taken back is pushed ahead at the start, which still lacks as much as the knob before it holds; "
            f"{solution.text(retraction_volume)} are taken back at the end, where a knob of "
            f"{solution.text(end_knob)}, {solution.text(knob_disc)} wide, is left."
        ),
    )  # fmt: skip
    run = begins + between
    time, table = np.linspace(0.0, run / speed, 161), power_table(n)
    start = follow(time, np.ones(len(time)), table, whole, start=0.0)
    after = np.linspace(0.0, 1.25 * ends / speed, 121)[1:]
    stop = follow(np.concatenate([[0.0], after]), np.zeros(121), table, whole)[1:]
    place = speed * np.concatenate([time, run / speed + after])
    section = solution.shown(line_section) * np.concatenate([start, stop])
    scene.polygon(_outline(place, width_of(solution, section)), "melt")
    up = wide / 2 + 14 * px
    scene.line((run, -up), (run, up), "hidden")
    scene.label((run, -up - 12 * px), "motor stops", style="small")
    scene.dimension((0, up), (begins, up), f"too thin for {begins:.3g} mm")
    scene.dimension((run, up), (run + ends, up), f"runs on for {ends:.3g} mm")
    # What came out as the last knob is missing in the store when the machine has pushed all else ahead again.
    missing = solution[end_knob] / solution[wanted_flow] * solution[melt_flow] / solution[stored_volume]
    again = follow(time, np.ones(len(time)), table, whole, start=max(1.0 - missing, 0.0))
    led = width_of(solution, solution.shown(line_section) * again)
    scene.polygon(_outline(speed * time, led) - np.array([0.0, apart]), "melt")
    scene.circle((run, -apart), wide / 2, "melt")
    scene.circle((run, -apart), knob / 2, "hot")
    words = f"knob {solution.text(end_knob)},\npressed flat {solution.text(knob_disc)} wide"
    scene.leader((run, -apart), (run + knob / 2 + 20 * px, max(knob, wide) / 2 + 22 * px - apart), words)
    scene.label((0.0, -apart - wide / 2 - 18 * px), f"with {solution.text(retraction_volume)} taken back, and pushed "
                "ahead again at the start", anchor="start", style="small")  # fmt: skip
    scene.scale_bar(round_length(long / 8), "bottom right")
    return scene


#: The nozzle's tip: where the land begins, how long and wide it may be drawn, and its axis.
_END, _LONGEST, _WIDEST, _AXIS, _HEIGHT = 500.0, 400.0, 170.0, 140.0, 320.0


def empty_length(solution: Solution, volume: float) -> float:
    """Return how far from the nozzle's end (mm) the melt stands when a volume (mm³) has gone back."""
    end, wide = solution.shown(nozzle_diameter) / 2, solution.shown(melt_bore_diameter) / 2
    land, slope = solution.shown(land_length), math.tan(solution[cone_half_angle])
    in_land = math.pi * end**2 * land
    if volume <= in_land:
        return volume / (math.pi * end**2)
    # A cone cut off at the land: its volume goes with the cube of its radius.
    radius = (end**3 + 3 * slope * (volume - in_land) / math.pi) ** (1 / 3)
    return land + (min(radius, wide) - end) / slope


def draw_nozzle_tip(solution: Solution) -> Scene:
    """Draw cone and land in section, and how far the melt can have gone back after a travel move."""
    title = "How far the melt goes back in the nozzle"
    if not math.isfinite(solution[drawn_in]):
        return _undefined(title)
    end, wide = solution.shown(nozzle_diameter) / 2, solution.shown(melt_bore_diameter) / 2
    land, slope = solution.shown(land_length), math.tan(solution[cone_half_angle])
    long = land + (wide - end) / slope
    scale = min(_LONGEST / long, _WIDEST / (2 * wide))
    drawn, surplus = solution.shown(drawn_in), solution.shown(surplus_melt)
    back, farthest = empty_length(solution, drawn), empty_length(solution, min(surplus, solution.shown(tip_volume)))
    scene = Scene(
        width=VIEW_WIDTH, height=_HEIGHT, title=title,
        alt=(
            f"Section of cone and land to scale, {solution.text(nozzle_diameter)} wide at the end. "
            f"At least {solution.text(surplus_melt)} are taken back beyond what was stored. In "
            f"{solution.text(travel_time)} the atmosphere pushes the melt back by {solution.text(drawn_in)}, "
            f"{back:.2g} mm from the end: {solution.text(air_share)} of cone and land. Dashed: where it would stand if "
            "all of that surplus came out of the nozzle."
        ),
    )  # fmt: skip
    left, shoulder = _END - long * scale - 40, _END - long * scale
    into = _END - land * scale
    axis = np.array([0.0, _AXIS])
    inside = np.array([(left, wide * scale), (shoulder, wide * scale), (into, end * scale), (_END, end * scale)])
    outside = np.array([(_END, end * scale + 14), (into, end * scale + 34), (shoulder - 10, wide * scale + 34),
                        (left, wide * scale + 34)])  # fmt: skip
    for side in (1.0, -1.0):
        scene.polygon(np.vstack([inside, outside]) * [1.0, side] + axis, "metal")
    scene.polygon(np.vstack([inside, inside[::-1] * [1.0, -1.0]]) + axis, "void")

    def radius_at(distance: float) -> float:
        return scale * (end if distance <= land else min(end + (distance - land) * slope, wide))

    at, reach = _END - back * scale, radius_at(back)
    kept = np.vstack([inside[inside[:, 0] < at], [(at, reach)]])
    scene.polygon(np.vstack([kept, kept[::-1] * [1.0, -1.0]]) + axis, "melt")
    if surplus > drawn:
        at, reach = _END - farthest * scale, radius_at(farthest)
        scene.line((at, _AXIS - reach), (at, _AXIS + reach), "hidden")
        scene.leader((at, _AXIS - 0.6 * reach), (_END + 20, _AXIS - 100), "there if all of the\nsurplus were air")
    scene.line((left - 20, _AXIS), (_END + 40, _AXIS), "centre")
    low = _AXIS + wide * scale + 48
    scene.dimension((into, low), (_END, low), f"land {land:.3g} mm", text_at="p")
    scene.label((_END + 60, _AXIS + 60), f"goes back by {solution.text(drawn_in)}\n"
                f"in {solution.text(travel_time)}:\n{solution.text(air_share)} of cone and land",
                anchor="start", style="strong")  # fmt: skip
    return scene


PICTURES = (
    Picture(
        "What is stored, and what is taken back",
        needs=(release_volume, screw_takeback, melt_springback, soft_stored, sprung_volume, springback_volume,
               backlash_volume, retraction_volume, take_back_share),
        draw=draw_store,
    ),
    Picture(
        "The two ends of a line",
        needs=(start_length, stop_length, stop_time, start_time, line_speed, knob_disc, stored_volume, layer_height,
               retraction_volume, local_exponent),
        draw=draw_line_ends,
    ),
    Picture(
        "How far the melt goes back in the nozzle",
        needs=(drawn_in, surplus_melt, tip_volume, air_share, travel_time, nozzle_diameter, melt_bore_diameter,
               land_length, cone_half_angle),
        draw=draw_nozzle_tip,
    ),
)  # fmt: skip
